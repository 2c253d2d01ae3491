"""A pass over a whole film that finds every head in it, so that heads can be masked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from review.capture.ahead import read_ahead
from review.capture.clothes import clothes_colours
from review.capture.crowd import apart
from review.capture.head import Body, stands_alone
from review.capture.head_finders import MOST_HEADS, HeadFinders
from review.capture.head_tracks import Following, HeadTracks, believed
from review.capture.models import find_models
from review.capture.picture import grey_of
from review.capture.quiet import quiet_native
from review.capture.upright import Picture, upright
from review.capture.video import fitted, raw_frames
from review.domain.sightings import COLOURS, MAYBE, MOST_PEOPLE, SIGHTED, SURE
from review.domain.tracks import POSE_POINTS

LOOKS_HZ: Final = 15.0
"""Most looks a second; between two of them a head is masked where it was and where it will be."""

LONG_SIDE_PX: Final = 1920
"""Longer side of the picture that is looked at."""

_AHEAD: Final = 2
_SLACK: Final = 0.98


def find_heads(
    path: Path,
    times: NDArray[np.float64],
    size: tuple[int, int],
    mirrored: bool = False,
    models_folder: Path | None = None,
    progress: Callable[[float], None] | None = None,
) -> HeadTracks:
    """Look through a film for every head.

    Parameters
    ----------
    path
        The film.
    times
        Presentation times of all its frames, shape ``(time,)``, seconds.
    size
        Width and height as displayed.
    mirrored
        Whether the film shows the room mirrored; places are then those of the flipped picture.
    models_folder
        Where the models are, if not in the installed package.
    progress
        Called with the share that is done, 0 to 1.

    Raises
    ------
    FilmRefused
        If the film cannot be opened.
    ModelRefused
        If a model is missing or cannot start.
    """
    tell = progress or (lambda share: None)
    looked = fitted(size, LONG_SIDE_PX)
    following, looks = Following(looked), list[_Look]()
    with ExitStack() as stack:
        stack.enter_context(quiet_native())
        line = stack.enter_context(read_ahead(_pictures(path, times, looked, mirrored), _AHEAD))
        finders = stack.enter_context(HeadFinders(find_models(models_folder)))
        for time_s, picture in line:
            grey = grey_of(picture)
            bodies = finders.bodies(picture, time_s)
            kept = apart(bodies)
            found = finders.heads(picture, kept, following.expect(grey))
            following.see(len(looks), time_s, grey, found)
            colours = [clothes_colours(picture, body, 1.0) for body in kept[:MOST_PEOPLE]]
            looks.append(_Look(time_s, kept[:MOST_PEOPLE], colours, len(bodies) >= MOST_HEADS))
            tell(min(1.0, time_s / max(float(times[-1]), 1e-3)))
    return _tracks(following, looks, size, size[0] / looked[0])


@dataclass(frozen=True, slots=True)
class _Look:
    """What is kept of one look beside the heads."""

    time_s: float
    bodies: list[Body]
    colours: list[NDArray[np.float32]]
    crowded: bool


def _pictures(
    path: Path, times: NDArray[np.float64], size: tuple[int, int], mirrored: bool
) -> Iterator[tuple[float, Picture]]:
    """Give the pictures to look at, no two of them closer than `LOOKS_HZ` allows."""
    last_s = -np.inf
    for raw in raw_frames(path, times, 0, len(times)):
        if (raw.time_s - last_s) * LOOKS_HZ >= _SLACK:
            last_s = raw.time_s
            yield raw.time_s, upright(raw.frame, raw.shape, *size, mirrored)


def _tracks(following: Following, looks: list[_Look], size: tuple[int, int], scale: float) -> HeadTracks:
    rows = np.array(following.rows, dtype=np.float64).reshape(-1, 7)
    time_s = np.array([look.time_s for look in looks])
    rows = rows[believed(rows, time_s, following.doubted, max(size) / scale)]
    return HeadTracks(
        time_s=time_s,
        size=size,
        head=rows[:, 0].astype(int),
        look=rows[:, 1].astype(int),
        circle=rows[:, 2:5] * scale,
        seen=rows[:, 5] == 1,
        body=rows[:, 6].astype(int),
        crowded=np.array([look.crowded for look in looks], dtype=np.bool_),
        bodies=_bodies(time_s, looks, scale),
    )


def _bodies(time_s: NDArray[np.float64], looks: list[_Look], scale: float) -> xr.Dataset:
    shape = (len(looks), MOST_PEOPLE)
    body = np.zeros(shape, np.int8)
    xy = np.full((*shape, len(POSE_POINTS), 2), np.nan, np.float32)
    visibility = np.full((*shape, len(POSE_POINTS)), np.nan, np.float32)
    colour = np.full((*shape, COLOURS), np.nan, np.float32)
    for row, look in enumerate(looks):
        for place, (one, colours) in enumerate(zip(look.bodies, look.colours, strict=True)):
            body[row, place] = SURE if stands_alone(one) else MAYBE
            xy[row, place], visibility[row, place], colour[row, place] = one.xy * scale, one.visibility, colours
    data = {"body": body, "pose_xy": xy, "pose_visibility": visibility, "colour": colour}
    named = {name: (SIGHTED[name][0], values) for name, values in data.items()}
    return xr.Dataset(named, coords={"time": ("time", time_s)})
