"""Look at everybody in the picture, where several people are in it: the sightings of a run of frames.

Who of them is examined is found out afterwards, from the sightings of the whole film.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from review.capture.ahead import read_ahead
from review.capture.background import Grey
from review.capture.clothes import clothes_colours
from review.capture.cutout import back_to_picture, cut_out
from review.capture.detectors import Detectors
from review.capture.head import Body, body_unit, head_box, seen_from_behind, seen_in_profile, stands_alone
from review.capture.landmarker import AHEAD, Look, jobs, planned
from review.capture.models import find_models
from review.capture.picture import picture_values
from review.capture.quiet import quiet_native
from review.capture.watch import HEAD_STAYS_S, Job
from review.domain.sightings import ASKED, MAYBE, MOST_HANDS, MOST_PEOPLE, SURE, empty_sightings
from review.domain.tracks import FACE_POINTS, FOUND, NOT_FOUND, empty_tracks

_CHEEKS: Final = (234, 454)
_LATELY_S: Final = 0.6
"""Where somebody was seen so long ago is not the background: one behind another is often missed."""

_SAME: Final = 0.25
"""Two answers whose points lie closer than so many shoulder widths, on the average, are one person."""


def look_at_all(
    order: Look,
    times: NDArray[np.float64],
    width_px: int,
    height_px: int,
    beat: Callable[[int], None] | None = None,
) -> tuple[xr.Dataset, xr.Dataset]:
    """Look at one chunk for everybody in it.

    Parameters and errors are those of `review.capture.landmarker.look`.

    Returns
    -------
    tracks
        Over frames ``first`` to ``stop - 1``, with the streams ``picture`` and ``people`` only.
    sightings
        Over the frames that were looked at for a body, a face or hands, see `review.domain.sightings`.
    """
    tracks = empty_tracks(times[order.first : order.stop], width_px, height_px)
    plan = {index: streams for index, streams in planned(order, times).items()}
    shown = sorted(index for index in plan if index >= order.first and plan[index] & set(ASKED))
    sightings = empty_sightings(times[shown])
    if not plan:
        return tracks, sightings
    crowd = Crowd(_values(sightings), {index: row for row, index in enumerate(shown)}, (width_px, height_px))
    pictures = _Pictures(_values(tracks), order, (width_px, height_px))
    tell = beat or (lambda done: None)
    with ExitStack() as stack:
        stack.enter_context(quiet_native())
        line: Iterator[Job] = stack.enter_context(read_ahead(jobs(order, times, plan), AHEAD))
        detectors = stack.enter_context(Detectors(find_models(order.models_folder)))
        followed_s, bodies = -np.inf, list[Body]()
        for job in line:
            asked = bool(job.streams & set(ASKED))
            lately = job.raw.time_s - followed_s <= HEAD_STAYS_S
            if "pose" in job.streams or (asked and not (bodies and lately)):
                followed_s, bodies = job.raw.time_s, detectors.poses(job.image, job.raw.time_s, crowd.size)
            if asked:
                crowd.see(job, bodies, detectors, order.mirrored)
            pictures.see(job, bodies if asked or lately else ())
            tell(max(0, job.raw.index - order.first))
    counts = (sightings["body"].values == SURE).sum(axis=1)
    rows = [index - order.first for index in shown]
    tracks["people_state"].values[rows] = FOUND
    tracks["people_count"].values[rows] = counts
    return tracks, sightings


def _values(data: xr.Dataset) -> dict[str, NDArray[Any]]:
    return {str(name): variable.values for name, variable in data.data_vars.items()}


@dataclass(slots=True)
class Crowd:
    """Where the sightings of a chunk are written.

    Attributes
    ----------
    arrays
        Values of the sightings by name.
    rows
        Frame index -> row of the sightings; frames that are not in it are the warm-up.
    size
        Width and height as displayed.
    """

    arrays: dict[str, NDArray[Any]]
    rows: dict[int, int]
    size: tuple[int, int]

    def see(self, job: Job, bodies: Sequence[Body], detectors: Detectors, mirrored: bool) -> None:
        """Write down everybody in one frame, with faces and hands where they are wanted."""
        row = self.rows.get(job.raw.index)
        hands = detectors.hands(job.image, job.raw.time_s, self.size) if "hand" in job.streams else []
        if row is None:
            return
        self.arrays["asked"][row] = [stream in job.streams for stream in ASKED]
        person = 0
        for body in apart(bodies)[:MOST_PEOPLE]:
            person += self._body(job, row, person, body, detectors, mirrored)
        for number, hand in enumerate(hands[:MOST_HANDS]):
            self.arrays["hand"][row, number] = 1 if hand.left else 2
            self.arrays["hand_xy"][row, number] = hand.xy

    def _body(self, job: Job, row: int, person: int, body: Body, detectors: Detectors, mirrored: bool) -> bool:
        """Write a body down, as sure if it can be believed by itself or by the face on it; tell whether it was."""
        alone = stands_alone(body)
        turned = alone and (seen_from_behind(body) or seen_in_profile(body))
        face = None
        if not turned and ("face" in job.streams or not alone):
            cut, taken = cut_out(job.raw.frame, job.raw.shape, head_box(body), mirrored)
            face = detectors.face_cut(cut)
        sure = alone or face is not None
        if not sure and not body.sees([11, 12, 23, 24]):
            return False
        self._write(row, person, body=SURE if sure else MAYBE, pose_xy=body.xy)
        self._write(row, person, pose_visibility=body.visibility, pose_world=body.world)
        scale = self.size[0] / job.picture.shape[1]
        self._write(row, person, colour=clothes_colours(job.picture, body, scale))
        if face is not None:
            xy = back_to_picture(face.xy, taken)
            width = float(np.hypot(*(xy[_CHEEKS[0]] - xy[_CHEEKS[1]])))
            self._write(row, person, head=1, face_xy=xy[list(FACE_POINTS)], face_width=width)
            self._write(row, person, blendshape=face.shapes, head_angle=face.angles)
        return True

    def _write(self, row: int, person: int, **values: NDArray[Any] | float) -> None:
        for name, value in values.items():
            self.arrays[name][row, person] = value


def apart(bodies: Sequence[Body]) -> list[Body]:
    """Return the bodies, the best seen first, without those that are another answer for the same person."""
    kept: list[Body] = []
    for body in sorted(bodies, key=lambda one: -float(one.visibility.mean())):
        unit = max(float(body_unit(body.xy, body.visibility)), 1.0)
        if all(float(np.hypot(*(body.xy - other.xy).T).mean()) > _SAME * unit for other in kept):
            kept.append(body)
    return kept


@dataclass(slots=True)
class _Pictures:
    """Where light and shift of a chunk's pictures are written."""

    arrays: dict[str, NDArray[Any]]
    order: Look
    size: tuple[int, int]
    grey: Grey | None = None
    lately: deque[tuple[float, Sequence[Body]]] = field(default_factory=deque)

    def __post_init__(self) -> None:
        for stream, indices in self.order.wanted:
            if stream == "picture":
                self.arrays["picture_state"][[index - self.order.first for index in indices]] = NOT_FOUND

    def see(self, job: Job, bodies: Sequence[Body]) -> None:
        self.lately.append((job.raw.time_s, bodies))
        while job.raw.time_s - self.lately[0][0] > _LATELY_S:
            self.lately.popleft()
        if "picture" not in job.streams:
            return
        about = [body for _, those in self.lately for body in those]
        self.grey, values = picture_values(job.picture, self.grey, about, self.size)
        place = job.raw.index - self.order.first
        if place >= 0:
            self.arrays["picture_state"][place] = FOUND
            for name, value in values.items():
                self.arrays[name][place] = value
