"""What is written down beside a film: the truth of every frame."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .acts.act import Act, apart
from .acts.scene import FRAMES_PER_SECOND, Record
from .camera import Camera
from .casting import about
from .landmarks import Landmarks, head_angles_deg
from .moment import Moment
from .shooting import Shoot

SCHEMA_VERSION: Final = 1

HALF: Final = 0.5
"""Share of closure above which an eye counts as shut, and of a movement above which it counts as made."""

HELD_FROM_S: Final = 0.5
"""Length from which a closure of both eyes counts as held and no longer as a blink."""

_DIGITS: Final = {
    "gaze_yaw_deg": 2,
    "gaze_pitch_deg": 2,
    "closed_left": 3,
    "closed_right": 3,
    "head_yaw_deg": 2,
    "head_pitch_deg": 2,
    "head_roll_deg": 2,
    "stance_m": 4,
    "shoulder_width_m": 4,
}
"""Columns that every clip has, with the digits kept after the point."""

_AXES: Final = "x to the person's own left, y up, z the way the person faces; metres; pixels from the top left"


class TruthWriter:
    """Collects the truth of an act frame by frame.

    Parameters
    ----------
    act
        What is acted.
    camera
        As it is placed, before it shakes.
    shoot
        How a clip of the studio is filmed; None for a clip that is not of the studio.
    """

    def __init__(self, act: Act, camera: Camera, shoot: Shoot | None = None) -> None:
        self._act, self._camera, self._shoot = act, camera, shoot
        self._landmarks = Landmarks(act.person)
        self._digits = _DIGITS | act.digits
        self._columns: dict[str, list[float]] = {name: [] for name in self._digits}
        self._joints: dict[str, list[list[float]]] = {name: [] for name in act.points}
        self._cameras: list[Camera] = []
        self._others: dict[str, list[list[float]]] = {name: [] for name in act.people if name != act.role}

    def add(self, moment: Moment) -> None:
        """Take down one frame."""
        pose, figure = moment.poses[self._act.role], moment.figures[self._act.role]
        places = self._landmarks.places(figure) | {name: prop[:3, 3] for name, prop in moment.props.items()}
        values = {
            "gaze_yaw_deg": pose.gaze[0],
            "gaze_pitch_deg": pose.gaze[1],
            "closed_left": pose.units["eyeBlinkLeft"],
            "closed_right": pose.units["eyeBlinkRight"],
            "stance_m": apart(places, "ankle"),
            "shoulder_width_m": apart(places, "shoulder"),
            **pose.columns,
            **self._act.readings(figure, places),
        }
        angles = head_angles_deg(figure.head_axes)
        values |= dict(zip(("head_yaw_deg", "head_pitch_deg", "head_roll_deg"), angles, strict=True))
        for name, digits in self._digits.items():
            self._columns[name].append(round(float(values[name]), digits) + 0.0)
        self._cameras.append(moment.camera)
        for name, heads in self._others.items():
            head = self._act.people[name].head_centre(moment.figures[name])
            heads.append(moment.camera.project(head)[0].round(1).tolist())
        pixels = moment.camera.project(np.array([places[name] for name in self._joints]))
        for points, (x, y) in zip(self._joints.values(), pixels, strict=True):
            points.append([round(float(x), 1), round(float(y), 1)])

    def write(self, path: Path, clip: str, times_s: list[float]) -> None:
        """Write the file.

        Parameters
        ----------
        times_s
            Presentation times of the frames, read from the film.

        Raises
        ------
        ValueError
            If the film has another number of frames or shows them at other times than were acted.
        """
        check_clock(clip, self._act.frames, times_s, self._act.fps)
        events = [*closures(times_s, self._columns), *self._act.events()]
        events += movements(times_s, self._columns, self._act.movements)
        record: Record = {
            "schema_version": SCHEMA_VERSION,
            "clip": clip,
            "fps": self._act.fps,
            "size_px": list(self._camera.size_px),
            "person": {"height_m": round(self._act.person.height_m, 4)},
            "axes": _AXES,
            "camera": camera_record(self._camera),
            "plan": self._act.plan(),
            "segments": self._act.segments(),
            "events": sorted(events, key=lambda event: event["onset_s"]),
            "frames": {
                "time_s": [round(time, 4) for time in times_s],
                **self._columns,
                "joints_px": self._joints,
            },
        }
        record |= self._studio(record["frames"])
        path.write_text(json.dumps(record, separators=(",", ":")) + "\n", encoding="utf-8")

    def _studio(self, frames: Record) -> Record:
        """Return what a clip of the studio says beyond: who plays, how it is filmed, what measures must say."""
        if self._shoot is None:
            return {}
        if self._shoot.phone == "hand":
            frames["camera_place_m"] = [np.round(camera.place, 5).tolist() for camera in self._cameras]
            frames["camera_target_m"] = [np.round(camera.target, 5).tolist() for camera in self._cameras]
        if self._others:
            frames["others_head_px"] = self._others
        columns = {name: np.array(values) for name, values in frames.items() if name in {"time_s", *self._columns}}
        return self._pointing() | {
            "about": about(self._act.person.look) | self._shoot.about(),
            "height_mm": round(1000 * self._act.person.height_m, 1),
            "checks": self._act.checks(columns),
        }

    def _pointing(self) -> Record:
        """Return where somebody points at the examined person, as shares of the picture; nothing if nobody does."""
        time_s = self._act.pointed_s
        if time_s is None:
            return {}
        x, y = self._joints["nose"][round(time_s * self._act.fps)]
        width, height = self._camera.size_px
        return {"pointing": {"time_s": time_s, "x": round(x / width, 4), "y": round(y / height, 4)}}


def check_clock(clip: str, frames: int, times_s: list[float], fps: int = FRAMES_PER_SECOND) -> None:
    """Raise ``ValueError`` unless the film shows as many frames as were acted, each at its time."""
    acted = np.arange(frames) / fps
    if len(times_s) != len(acted) or np.abs(acted - times_s).max() > 1e-4:
        raise ValueError(f"{clip}: the film holds {len(times_s)} frames, {len(acted)} were acted, or times differ")


def closures(times_s: list[float], columns: dict[str, list[float]]) -> list[Record]:
    """Return the closures of each eye; a closure that the other eye does not share is a wink."""
    shut = {side: np.array(columns[f"closed_{side}"]) > HALF for side in ("left", "right")}
    both = shut["left"] & shut["right"]
    events = []
    for side, frames in shut.items():
        for start, end in runs(frames):
            span = span_of(times_s, start, end)
            kind = "held" if span["offset_s"] - span["onset_s"] >= HELD_FROM_S else "blink"
            closure = kind if both[start:end].any() else "wink"
            events.append({"kind": "eye_closure", "side": side, "closure": closure, **span})
    return events


def movements(times_s: list[float], columns: dict[str, list[float]], names: tuple[str, ...]) -> list[Record]:
    """Return when each movement of the face was more than half made."""
    return [
        {"kind": "facial_movement", "movement": name, **span_of(times_s, start, end)}
        for name in names
        for start, end in runs(np.array(columns[name]) > HALF)
    ]


def runs(mask: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the first frame and the frame after the last one of every run of true frames; shape ``(runs, 2)``."""
    return np.flatnonzero(np.diff(np.r_[False, mask, False].astype(int))).reshape(-1, 2)


def span_of(times_s: list[float], start: int, end: int) -> Record:
    """Return the span from the run's first frame to the first frame after it."""
    return {"onset_s": round(times_s[start], 4), "offset_s": round(times_s[min(end, len(times_s) - 1)], 4)}


def camera_record(camera: Camera) -> Record:
    """Return what is written down of the camera."""
    return {
        "focal_px": camera.focal_px,
        "place_m": list(camera.place),
        "target_m": list(camera.target),
        "axes_right_up_back": camera.axes.round(6).tolist(),
    }
