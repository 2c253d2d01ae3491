"""What is written down beside a film of two people: where each is, and who covers whom."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final

import numpy as np

from .acts.scene import FRAMES_PER_SECOND, Record, Scene
from .figure import Figure
from .landmarks import Landmarks
from .moment import Moment
from .overlap import Seen
from .truth import camera_record, check_clock, runs, span_of

SCHEMA: Final = "pair"
SCHEMA_VERSION: Final = 1

LICENCE: Final = "drawn by a program for this project, from data under CC0 1.0; nobody was filmed"

COVERED_FROM: Final = 0.5
"""Share hidden above which a person counts as covered."""

_AXES: Final = "x to the right of the picture, y up, z towards the camera; metres; pixels from the top left"


class PairTruthWriter:
    """Collects the truth of a scene frame by frame."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._landmarks = {name: Landmarks(person) for name, person in scene.people.items()}
        columns = ("facing_deg", "head_px", "box_px", "pixels", "hidden")
        self._columns: dict[str, Record] = {
            name: {**{column: [] for column in columns}, "joints_px": {point: [] for point in scene.points}}
            for name in scene.people
        }

    def add(self, moment: Moment) -> None:
        """Take down one frame."""
        for name, figure in moment.figures.items():
            self._add(name, figure, moment.seen[name])

    def _add(self, name: str, figure: Figure, seen: Seen) -> None:
        columns, camera = self._columns[name], self._scene.camera
        forward = figure.bones["root"][:3, 2]
        columns["facing_deg"].append(round(float(np.degrees(np.arctan2(forward[0], forward[2]))), 1))
        head = camera.project(self._scene.people[name].head_centre(figure))[0]
        columns["head_px"].append(head.round(1).tolist())
        columns["box_px"].append(seen.box_px)
        columns["pixels"].append(seen.pixels)
        columns["hidden"].append(None if seen.hidden is None else round(seen.hidden, 3))
        places = self._landmarks[name].places(figure)
        pixels = camera.project(np.array([places[point] for point in self._scene.points]))
        for points, pixel in zip(columns["joints_px"].values(), pixels, strict=True):
            points.append(pixel.round(1).tolist())

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
        scene = self._scene
        check_clock(clip, scene.frames, times_s)
        record: Record = {
            "schema": SCHEMA,
            "schema_version": SCHEMA_VERSION,
            "clip": clip,
            "licence": LICENCE,
            "fps": FRAMES_PER_SECOND,
            "size_px": list(scene.camera.size_px),
            "axes": _AXES,
            "camera": camera_record(scene.camera),
            "people": {name: {"height_m": round(person.height_m, 4)} for name, person in scene.people.items()},
            "segments": scene.segments(),
            "events": self._events(times_s),
            "frames": {"time_s": [round(time, 4) for time in times_s], "people": self._columns},
        }
        path.write_text(json.dumps(record, separators=(",", ":")) + "\n", encoding="utf-8")

    def _events(self, times_s: list[float]) -> list[Record]:
        events = []
        for name, columns in self._columns.items():
            hidden = np.array([share or 0.0 for share in columns["hidden"]])
            masks = {"covered": hidden > COVERED_FROM, "out_of_picture": np.array(columns["pixels"]) == 0}
            for kind, mask in masks.items():
                events += [{"kind": kind, "person": name, **span_of(times_s, *run)} for run in runs(mask)]
        return sorted(events, key=lambda event: event["onset_s"])
