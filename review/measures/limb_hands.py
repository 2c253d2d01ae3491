"""The hand that goes with an arm: points of the hand model, which follow a quick hand better than the body's."""

from __future__ import annotations

from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.model import Side
from review.domain.tracks import found
from review.measures.hand_paths import HANDS, Path, hand_length, linked

Series = npt.NDArray[np.float64]

WRIST_POINT: Final = (0,)
KNUCKLES: Final = (5, 9, 13, 17)
"""Points of the hand model: where the hand begins, and the bases of the four fingers."""

LEAST_SHARE: Final = 0.8
"""A hand that was found in less than this share of the frames looked at does not carry a limb's angle."""

_NEAR_FOREARMS = 0.3
_ANOTHER_FOREARMS = 0.25


def hand_at_wrist(tracks: xr.Dataset, side: Side) -> Series:
    """Return the points of the hand that lies at the wrist of the body's model, whosever it was taken for.

    From the side the hand model cannot tell left from right, and the two wrists of the body may lie at one place; so
    all hands of a frame are joined into paths, and those count whose beginning lies within 0.3 forearms of this wrist
    (median along the path), the nearest path first. Where two hands were ever seen that near in one frame, the model
    may have taken one for the other at any time: then there is none. Two whose points lie less than 0.25 forearms
    apart in the mean count as one that was seen twice.

    Parameters
    ----------
    tracks
        Landmark dataset; needs pose and hands.
    side
        The examined person's own side.

    Returns
    -------
    ndarray
        Shape ``(time, 21, 2)``, px; NaN where there is no such hand, throughout where two lie over one another.

    References
    ----------
    Common practice, no source.
    """
    hands = np.concatenate([tracks[name].values.astype(np.float64) for name in HANDS], axis=1)
    wrist, elbow = (tracks["pose_xy"].sel(pose_point=f"{side}_{part}").values for part in ("wrist", "elbow"))
    held = np.full((len(hands), *hands.shape[2:]), np.nan)
    forearms = np.linalg.norm(wrist - elbow, axis=1)[found(tracks, "pose")]
    forearm = float(np.nanmedian(forearms)) if np.isfinite(forearms).any() else np.nan
    starts = np.where(np.isfinite(hands).all(axis=(2, 3))[..., None], hands[:, :, 0], np.nan)
    if _two_at_once(hands, np.linalg.norm(starts - wrist[:, None], axis=2) / forearm, forearm):
        return held
    away = [(_apart(path, wrist), path) for path in linked(tracks["time"].values, starts, hand_length(tracks, HANDS))]
    near = sorted((pair for pair in away if pair[0] <= _NEAR_FOREARMS * forearm), key=lambda pair: pair[0])
    for _, path in reversed(near):
        slots = np.nanargmin(np.linalg.norm(starts[path.frames] - path.xy[:, None], axis=2), axis=1)
        held[path.frames] = hands[path.frames, slots]
    return held


def _two_at_once(hands: Series, away: Series, forearm: float) -> bool:
    """Whether two hands were seen near one wrist in one frame; `away` is how far each is, in forearms."""
    for one, other in combinations(range(hands.shape[1]), 2):
        both = (away[:, [one, other]] <= _NEAR_FOREARMS).all(axis=1)
        apart = np.linalg.norm(hands[both, one] - hands[both, other], axis=2).mean(axis=1)
        if (apart > _ANOTHER_FOREARMS * forearm).any():
            return True
    return False


def _apart(path: Path, wrist: Series) -> float:
    away = np.linalg.norm(path.xy - wrist[path.frames], axis=1)
    return float(np.nanmedian(away)) if np.isfinite(away).any() else np.inf
