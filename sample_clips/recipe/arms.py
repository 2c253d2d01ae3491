"""Arms that reach a place, and hands that point."""

from __future__ import annotations

from typing import Final

import numpy as np

from .rig import Rig, Rotations
from .rotations import Array, rotation, unit

_CURL_DEG: Final = {3: (72.0, 88.0, 55.0), 4: (76.0, 90.0, 55.0), 5: (80.0, 90.0, 55.0)}
"""How far the joints of the three last fingers are bent in a hand that points."""

_THUMB_DEG: Final = (18.0, 25.0, 35.0)
_INDEX_DEG: Final = (68.0, 85.0, 50.0)


def hand_axes(rig: Rig, letter: str) -> Array:
    """Return the axes of the hand in the rest pose as columns: along the index finger, out of the palm, across."""
    along = unit(rig.head[f"finger2-3.{letter}"] - rig.head[f"finger2-1.{letter}"])
    across = rig.head[f"finger2-1.{letter}"] - rig.head[f"finger5-1.{letter}"]
    across = unit(across - along * (across @ along))
    palm = np.cross(along, across) if letter == "L" else np.cross(across, along)
    return np.stack([along, palm, across], axis=1)


def point_finger(rig: Rig, rotations: Rotations, letter: str, bent: float = 1.0) -> None:
    """Bend thumb and last three fingers of one hand, so that the index finger points; `rotations` is changed.

    Parameters
    ----------
    bent
        0 a flat hand, 1 a pointing one.
    """
    axes = hand_axes(rig, letter)
    hinge = np.cross(axes[:, 0], axes[:, 1])
    for finger, angles in _CURL_DEG.items():
        for joint, angle in enumerate(angles, 1):
            rotations[f"finger{finger}-{joint}.{letter}"] = rotation(hinge, bent * angle)
    for joint, angle in enumerate(_THUMB_DEG, 1):
        rotations[f"finger1-{joint}.{letter}"] = rotation(hinge, bent * angle)


def grip(rig: Rig, rotations: Rotations, letter: str) -> None:
    """Bend all fingers of one hand about something that they hold; `rotations` is changed."""
    point_finger(rig, rotations, letter)
    axes = hand_axes(rig, letter)
    hinge = np.cross(axes[:, 0], axes[:, 1])
    for joint, angle in enumerate(_INDEX_DEG, 1):
        rotations[f"finger2-{joint}.{letter}"] = rotation(hinge, angle)


def fingertip(rig: Rig, letter: str) -> Array:
    """Return the tip of the index finger in the rest pose."""
    return rig.tail[f"finger2-3.{letter}"]


def reach(
    rig: Rig, rotations: Rotations, offset: Array, letter: str, tip: Array, along: Array, palm: Array, elbow: Array
) -> None:
    """Set shoulder, elbow and wrist of one arm so that the tip of the index finger comes to a place.

    Parameters
    ----------
    rotations
        Changed in place.
    tip
        Wanted place of the fingertip; one out of reach is approached with a straight arm.
    along, palm
        To where the finger points, and to where the palm faces.
    elbow
        Direction to which the elbow bends.
    """
    rest = hand_axes(rig, letter)
    goal_along = unit(along)
    goal_palm = unit(palm - goal_along * (palm @ goal_along))
    goal_across = np.cross(goal_palm, goal_along) if letter == "L" else np.cross(goal_along, goal_palm)
    turn = np.stack([goal_along, goal_palm, goal_across], axis=1) @ rest.T
    wrist = tip - turn @ (fingertip(rig, letter) - rig.head[f"wrist.{letter}"])
    upper, fore = _directions(rig, rotations, offset, letter, wrist, elbow)
    rig.point_arm(rotations, offset, letter, upper, fore)
    above = rig.pose(rotations, offset)[f"lowerarm01.{letter}"][:3, :3]
    twist = _twist_about(fore, above.T @ turn, above)
    rotations[f"lowerarm02.{letter}"] = rotation(above.T @ unit(fore), twist / 2)
    below = rig.pose(rotations, offset)[f"lowerarm02.{letter}"][:3, :3]
    rotations[f"wrist.{letter}"] = below.T @ turn


def _directions(
    rig: Rig, rotations: Rotations, offset: Array, letter: str, wrist: Array, elbow: Array
) -> tuple[Array, Array]:
    """Return the directions of upper arm and forearm that bring the wrist to its place."""
    bones = [f"upperarm01.{letter}", f"lowerarm01.{letter}", f"wrist.{letter}"]
    shoulder, middle, end = (rig.head[bone] for bone in bones)
    upper, lower = float(np.linalg.norm(middle - shoulder)), float(np.linalg.norm(end - middle))
    start = rig.joint(rig.pose(rotations, offset), bones[0])
    wanted = wrist - start
    far = min(float(np.linalg.norm(wanted)), (upper + lower) * 0.9995)
    straight = unit(wanted)
    cosine = np.clip((upper**2 + far**2 - lower**2) / (2 * upper * far), -1, 1)
    aside = unit(elbow - straight * (elbow @ straight))
    at = start + upper * (straight * cosine + aside * np.sqrt(1 - cosine**2))
    return at - start, start + straight * far - at


def _twist_about(axis: Array, local: Array, above: Array) -> float:
    """Return the part of a rotation, local to `above`, that turns about the room's direction `axis`; degrees."""
    own = above.T @ unit(axis)
    vector = np.array([local[2, 1] - local[1, 2], local[0, 2] - local[2, 0], local[1, 0] - local[0, 1]])
    sine, cosine = float(vector @ own) / 2, (float(np.trace(local)) - 1) / 2
    return float(np.degrees(np.arctan2(sine, cosine)))
