"""The sound of a film is cut at pauses into stretches that fit the recogniser, each a unit of work."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.tracks import FOUND
from review.pipeline.chunk import WORDS, Chunk

STRETCH_S: Final = 22.0
"""Aimed length of a stretch, seconds. The recogniser hears 30 s at once."""

_ASIDE_S: Final = 4.0
"""How far a cut may lie from where it was aimed: no stretch grows longer than 30 s."""

_PAUSE_S: Final = 0.4

Numbers = npt.NDArray[np.float64]


def listening_chunks(tracks: xr.Dataset, model: str = "") -> tuple[Chunk, ...]:
    """Cut a film into stretches to listen to; none where there is no sound.

    Parameters
    ----------
    tracks
        With the stream ``sound`` looked at over the whole film.
    model
        Which voice model listens; with another one all is listened to anew.
    """
    if not (tracks["sound_state"].values == FOUND).any():
        return ()
    label = f"{WORDS}@{model}" if model else WORDS
    times = tracks["time"].values
    return tuple(
        Chunk(f"{label}:{first}-{stop}", first, stop, ((WORDS, tuple(range(first, stop, 30))),), stage=1)
        for first, stop in pauses(times, tracks["sound_speech"].values.astype(np.float64))
    )


def pauses(times: Numbers, level_db: Numbers) -> list[tuple[int, int]]:
    """Return first frame and stop of stretches of about `STRETCH_S`, cut where it is most quiet nearby.

    Parameters
    ----------
    times
        Presentation times, shape ``(time,)``, seconds, rising.
    level_db
        Level of speech above the background at each frame, NaN where there is none, shape ``(time,)``.
    """
    if len(times) < 2:
        return [(0, len(times))] if len(times) else []
    quiet = _smoothed(times, np.nan_to_num(level_db, nan=0.0))
    count = max(1, round(float(times[-1] - times[0]) / STRETCH_S))
    aims = np.linspace(times[0], times[-1], count + 1)[1:-1]
    cuts = [_quietest(times, quiet, float(aim)) for aim in aims]
    return [(first, stop) for first, stop in pairwise([0, *cuts, len(times)]) if stop > first]


def _smoothed(times: Numbers, level_db: Numbers) -> Numbers:
    """Return the greatest level within `_PAUSE_S` around each frame: a dip between two syllables is no pause."""
    frames = max(1, round(_PAUSE_S / float(np.median(np.diff(times)))))
    padded = np.pad(level_db, (frames // 2, frames - 1 - frames // 2), mode="edge")
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, frames).max(axis=1))


def _quietest(times: Numbers, level_db: Numbers, aim_s: float) -> int:
    """Return the frame near a moment before which it is most quiet; of several the one nearest to the moment."""
    near = np.flatnonzero(np.abs(times - aim_s) <= _ASIDE_S)
    if not len(near):
        return int(np.searchsorted(times, aim_s))
    order = np.lexsort((np.abs(times[near] - aim_s), np.round(level_db[near], 1)))
    return int(near[order[0]])
