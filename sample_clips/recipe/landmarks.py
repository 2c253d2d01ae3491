"""Named points of the person whose places are written down as truth."""

from __future__ import annotations

from typing import Final

import numpy as np

from .figure import Figure
from .person import Person
from .rotations import Array

BODY_POINTS: Final = {
    "shoulder": "upperarm01",
    "elbow": "lowerarm01",
    "wrist": "wrist",
    "hip": "upperleg01",
    "knee": "lowerleg01",
    "ankle": "foot",
    "foot_index": "toe1-1",
}
"""Point -> bone whose joint it is; each exists on both sides."""

_SIDES: Final = {"left": ("L", "Left", 1), "right": ("R", "Right", -1)}


class Landmarks:
    """Finds the points; those on the skin are looked up once on the rest pose."""

    def __init__(self, person: Person) -> None:
        self._person = person
        self._on_skin = {"nose": _nose(person)}
        for side, (_, unit_side, sign) in _SIDES.items():
            upper, lower = _lid_pair(person, side, f"eyeBlink{unit_side}")
            self._on_skin[f"{side}_upper_lid"], self._on_skin[f"{side}_lower_lid"] = upper, lower
            x = person.pattern.vertices[person.lash_roots, 0] * sign
            own = x > 0
            roots = person.lash_roots[own]
            self._on_skin[f"{side}_eye_inner"] = int(roots[np.argmin(x[own])])
            self._on_skin[f"{side}_eye_outer"] = int(roots[np.argmax(x[own])])

    def places(self, figure: Figure) -> dict[str, Array]:
        """Return where every point is, in metres."""
        rig = self._person.body.rig
        found = {name: figure.skin[vertex] for name, vertex in self._on_skin.items()}
        for side, (letter, _, _) in _SIDES.items():
            for name, bone in BODY_POINTS.items():
                found[f"{side}_{name}"] = rig.joint(figure.bones, f"{bone}.{letter}")
            eye = figure.eyes[side]
            found[f"{side}_eye"] = eye[:3, 3]
            found[f"{side}_iris"] = eye[:3, 3] + eye[:3, 2] * figure.eye_radius_m
        return found


def joint_angle_deg(above: Array, joint: Array, below: Array) -> float:
    """Return the angle at `joint` between two points; 180 when straight."""
    upper, lower = above - joint, below - joint
    cosine = upper @ lower / (np.linalg.norm(upper) * np.linalg.norm(lower))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def head_angles_deg(head: Array) -> tuple[float, float, float]:
    """Return yaw (+ to the own left), pitch (+ up) and roll (+ tilted to the own left) of the head's axes."""
    forward = head[:, 2]
    yaw = np.degrees(np.arctan2(forward[0], forward[2]))
    pitch = np.degrees(np.arcsin(np.clip(forward[1], -1, 1)))
    roll = np.degrees(np.arctan2(-head[1, 0], head[1, 1]))
    return float(yaw), float(pitch), float(roll)


def _nose(person: Person) -> int:
    body = person.pattern
    points = body.vertices[body.skin_ids]
    _, eye_y, _ = body.eye_centres["left"]
    middle = (abs(points[:, 0]) < 0.01) & (points[:, 1] > 1.5) & (points[:, 1] < eye_y)
    return int(body.skin_ids[np.argmax(points[:, 2] * middle)])


def _lid_pair(person: Person, side: str, unit: str) -> tuple[int, int]:
    """Return the two vertices, above and below the eye, that come closest when the lid is shut."""
    body = person.pattern
    centre, shift = body.eye_centres[side], body.units[unit]
    points = body.vertices[body.skin_ids]
    near = body.skin_ids[(abs(points[:, 0] - centre[0]) < 0.0035) & (points[:, 2] > centre[2] + 0.008)]
    down = -shift[near, 1]
    upper = near[down > 0.75 * down.max()]
    lower = near[(abs(down) < 0.3 * down.max()) & (body.vertices[near, 1] < centre[1])]
    shut = body.vertices + shift
    gaps = np.linalg.norm(shut[upper][:, None] - shut[lower][None], axis=2)
    i, j = np.unravel_index(np.argmin(gaps), gaps.shape)
    return int(upper[i]), int(lower[j])
