"""Look at a run of frames with the landmark models and return what was seen as tracks."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from review.capture.ahead import read_ahead
from review.capture.cutout import back_to_picture, cut_out
from review.capture.detectors import Detectors, Face, native_image
from review.capture.head import Body, Box, Points, head_box, is_small, seen_from_behind, stands_alone, stands_with_face
from review.capture.models import find_models
from review.capture.picture import Grey, background_shift, grey_of, light_of, person_mask
from review.capture.quiet import quiet_native
from review.capture.upright import Picture, upright
from review.capture.video import RawFrame, fitted, raw_frames
from review.domain.tracks import FACE_POINTS, FOUND, NOT_FOUND, STREAMS, empty_tracks

LONG_SIDE_PX: Final = 960
"""Longer side of the picture handed to the models that look at whole pictures."""

AS_IT_IS_PX: Final = 1280
"""Films up to this long a side are handed over unscaled, which costs less than scaling them."""

WARM_UP_S: Final = 0.5
"""Length of film before a chunk that is run through the models and thrown away, seconds."""

_WITNESS_S: Final = 0.5
_PENDING: Final = 3
_CHEEKS = (234, 454)


@dataclass(frozen=True, slots=True)
class Look:
    """One unit of work: a run of frames and what to look for in which of them.

    Attributes
    ----------
    film
        The film.
    first, stop
        The chunk's frames are `first` to ``stop - 1``.
    wanted
        Stream and the indices of the frames to look at, within the chunk.
    mirrored
        Whether the film shows the room mirrored.
    models_folder
        Where the models are, if not in the installed package.
    """

    film: Path
    first: int
    stop: int
    wanted: tuple[tuple[str, tuple[int, ...]], ...]
    mirrored: bool = False
    models_folder: Path | None = None


@dataclass(frozen=True, slots=True)
class _Job:
    raw: RawFrame
    picture: Picture
    image: Any
    streams: frozenset[str]


@dataclass(frozen=True, slots=True)
class _SeenFace:
    """A face in the shown picture: points in px, and whether it was found on the whole picture."""

    face: Face
    xy: Points
    whole: bool

    @property
    def centre(self) -> Points:
        return np.asarray(self.xy.mean(axis=0))


def look(
    order: Look,
    times: NDArray[np.float64],
    width_px: int,
    height_px: int,
    beat: Callable[[int], None] | None = None,
) -> xr.Dataset:
    """Look at one chunk and return its tracks over frames ``first`` to ``stop - 1``.

    Half a second of film before the chunk is run through the models first, so that a border between chunks does not
    show. A frame that was wanted and cannot be decoded counts as looked at and not found. For a mirrored film the
    coordinates are those of the flipped picture, in which left is left.

    Parameters
    ----------
    order
        What to look at.
    times
        Presentation times of all frames of the film, shape ``(time,)``, seconds.
    width_px, height_px
        Size of the picture as displayed.
    beat
        Called with the number of the chunk's frames that are done.

    Raises
    ------
    FilmRefused
        If the film cannot be opened.
    ModelRefused
        If a model is missing or cannot start.
    """
    tracks = empty_tracks(times[order.first : order.stop], width_px, height_px)
    plan = planned(order, times)
    if not plan:
        return tracks
    arrays = {str(name): variable.values for name, variable in tracks.data_vars.items()}
    with ExitStack() as stack:
        stack.enter_context(quiet_native())
        models = find_models(order.models_folder)
        line = stack.enter_context(read_ahead(_jobs(order, times, plan), 6))
        detectors = stack.enter_context(Detectors(models))
        detectors.open(*_models_for({stream for streams in plan.values() for stream in streams}))
        watch = _Watch(order, arrays, (width_px, height_px), detectors)
        side = stack.enter_context(ThreadPoolExecutor(1))
        _run(watch, line, side, beat or (lambda done: None))
    return tracks


def _models_for(streams: set[str]) -> list[str]:
    """Return the models that are sure to be used, to be opened while the first frames are decoded."""
    needs = {"pose": ["pose"], "face": ["pose", "face_cut"], "hand": ["hand"], "picture": []}
    return sorted({name for stream in streams for name in needs[stream]})


def planned(order: Look, times: NDArray[np.float64]) -> dict[int, frozenset[str]]:
    """Return which streams each frame is looked at for, the warm-up before the chunk included.

    The warm-up keeps the pace of the frames wanted; it holds one frame at least if that lies within two seconds.
    """
    plan: dict[int, set[str]] = {}
    for stream, indices in order.wanted:
        if stream not in STREAMS:
            raise ValueError(f"unknown stream {stream!r}, expected one of {', '.join(STREAMS)}")
        wanted = sorted(index for index in indices if order.first <= index < order.stop)
        for index in [*_before(wanted, times), *wanted]:
            plan.setdefault(index, set()).add(stream)
    return {index: frozenset(plan[index]) for index in sorted(plan)}


def _before(wanted: list[int], times: NDArray[np.float64]) -> list[int]:
    if not wanted:
        return []
    step = max(1, int(np.median(np.diff(wanted)))) if len(wanted) > 1 else 1
    start = times[wanted[0]]
    earlier = list(range(wanted[0] - step, -1, -step))
    kept = [index for index in earlier if start - times[index] <= WARM_UP_S]
    return kept or [index for index in earlier[:1] if start - times[index] <= 4 * WARM_UP_S]


def _jobs(order: Look, times: NDArray[np.float64], plan: dict[int, frozenset[str]]) -> Iterator[_Job]:
    for raw in raw_frames(order.film, times, min(plan), max(plan) + 1):
        if raw.index in plan:
            shown = raw.shape.shown
            width, height = shown if max(shown) <= AS_IT_IS_PX else fitted(shown, LONG_SIDE_PX)
            picture = upright(raw.frame, raw.shape, width, height, order.mirrored)
            yield _Job(raw, picture, native_image(picture), plan[raw.index])


def _run(watch: _Watch, line: Iterator[_Job], side: ThreadPoolExecutor, beat: Callable[[int], None]) -> None:
    """Follow the body on this thread while the face and the rest of the frame before are looked at on `side`."""
    pending: deque[Future[None]] = deque()
    for job in line:
        if "pose" not in job.streams:
            _settle(pending, 0)
        body = watch.body(job)
        pending.append(side.submit(watch.rest, job, body))
        _settle(pending, _PENDING)
        beat(max(0, job.raw.index - watch.order.first))
    _settle(pending, 0)
    beat(watch.order.stop - watch.order.first)


def _settle(pending: deque[Future[None]], left: int) -> None:
    while len(pending) > left:
        pending.popleft().result()


@dataclass(slots=True)
class _Watch:
    """What is known while a chunk is looked at, and where it is written."""

    order: Look
    arrays: dict[str, NDArray[Any]]
    size: tuple[int, int]
    detectors: Detectors
    face_is_large: bool = False
    believed_s: float = -np.inf
    grey: Grey | None = None

    def __post_init__(self) -> None:
        for stream, indices in self.order.wanted:
            places = [index - self.order.first for index in indices if self.order.first <= index < self.order.stop]
            self.arrays[f"{stream}_state"][places] = NOT_FOUND

    def body(self, job: _Job) -> Body | None:
        """Follow the body, where it is wanted or may be needed to find a small face."""
        if "pose" in job.streams or ("face" in job.streams and not self.face_is_large):
            return self.detectors.pose(job.image, job.raw.time_s, self.size)
        return None

    def rest(self, job: _Job, body: Body | None) -> None:
        """Look for all else in a frame whose body is known, and write down what was wanted."""
        unsure = "pose" in job.streams and body is not None and not stands_alone(body)
        seen = self._seen_face(job, body) if "face" in job.streams or unsure else None
        if "face" in job.streams:
            self.face_is_large = seen is not None and seen.whole
            self._write_face(job, seen)
        if "pose" in job.streams and body is not None and self._believed(job, body, seen):
            self._write(job, "pose", pose_xy=body.xy, pose_visibility=body.visibility, pose_world=body.world)
        if "hand" in job.streams:
            self._hands(job)
        if "picture" in job.streams:
            self._picture(job, body)

    def _seen_face(self, job: _Job, body: Body | None) -> _SeenFace | None:
        if body is None:
            return self._on_whole(job)
        sure = stands_alone(body)
        if sure and seen_from_behind(body):
            return None
        box = head_box(body)
        if is_small(box, self.size):
            cut = self._on_cut(job, box)
            return cut if cut is not None or sure else self._on_whole(job)
        whole = self._on_whole(job)
        if whole is not None and (not sure or box.holds(whole.centre)):
            return whole
        return self._on_cut(job, box)

    def _on_whole(self, job: _Job) -> _SeenFace | None:
        face = self.detectors.face(job.image, job.raw.time_s)
        return None if face is None else _SeenFace(face, face.xy * self.size, whole=True)

    def _on_cut(self, job: _Job, box: Box) -> _SeenFace | None:
        cut, taken = cut_out(job.raw.frame, job.raw.shape, box, self.order.mirrored)
        face = self.detectors.face_cut(cut)
        return None if face is None else _SeenFace(face, back_to_picture(face.xy, taken), whole=False)

    def _believed(self, job: _Job, body: Body, seen: _SeenFace | None) -> bool:
        if stands_alone(body) or stands_with_face(body, None if seen is None else seen.centre):
            self.believed_s = job.raw.time_s
        return job.raw.time_s - self.believed_s <= _WITNESS_S

    def _write_face(self, job: _Job, seen: _SeenFace | None) -> None:
        if seen is None:
            return
        left, right = seen.xy[list(_CHEEKS)]
        self._write(
            job,
            "face",
            face_xy=seen.xy[list(FACE_POINTS)],
            face_width=np.hypot(*(left - right)),
            blendshape=seen.face.shapes,
            head_angle=seen.face.angles,
        )

    def _hands(self, job: _Job) -> None:
        hands = self.detectors.hands(job.image, job.raw.time_s)
        if hands:
            absent = np.full((21, 2), np.nan)
            both = [hands.get(side, absent) * self.size for side in ("left", "right")]
            self._write(job, "hand", hand_xy=np.stack(both))

    def _picture(self, job: _Job, body: Body | None) -> None:
        grey = grey_of(job.picture)
        light = light_of(grey)
        scale = self.size[0] / grey.shape[1]
        shift = np.full(2, np.nan)
        if self.grey is not None:
            shift = background_shift(self.grey, grey, person_mask(body, grey.shape, scale)) * scale
        self.grey = grey
        self._write(
            job,
            "picture",
            brightness=light.brightness,
            contrast=light.contrast,
            sharpness=light.sharpness,
            background_shift=shift,
        )

    def _write(self, job: _Job, stream: str, **values: NDArray[np.float64] | float) -> None:
        place = job.raw.index - self.order.first
        if place < 0:
            return
        self.arrays[f"{stream}_state"][place] = FOUND
        for name, value in values.items():
            self.arrays[name][place] = value
