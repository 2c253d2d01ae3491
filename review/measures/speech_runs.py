"""Where the sound of a film holds speech, and whether it was voiced or whispered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.measure import with_reasons
from review.domain.model import Reason
from review.domain.tracks import why_absent
from review.measures.capture_sound import CLIPPED_SHARE
from review.measures.face_view import shares
from review.signals.runs import true_runs

Series = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

ACTIVE_DB: Final = 6.0
"""A sound this far above the background counts as speech if it lasts."""

FAINT_DB: Final = 4.0
"""Speech between this and `ACTIVE_DB` may have been missed."""

PERIODIC: Final = 0.75
"""Voicing from which a moment counts as voiced."""

VOICED_SHARE: Final = 0.25
"""From this share of voiced moments on, speech counts as spoken aloud."""

USUAL_VOICE: Final = ("usual_voice_db", "usual_voice_low_db", "usual_voice_high_db")
"""Level of the voices of the whole film above its background, and the levels between which most of them lie."""

SHORTEST_S: Final = 0.2
LONGEST_SHARE_S: Final = 0.1

_CLIPPED_SHARE: Final = 0.1
_DROWNED_DB: Final = 4.0
_PAUSE_S = 0.4
_REACH_S = 0.4
_SURE_SHARE, _POSSIBLE_SHARE = 0.12, 0.4


@dataclass(frozen=True, slots=True)
class Speech:
    """What was said, frame by frame, each of shape ``(time,)``.

    Attributes
    ----------
    stretch
        Whether it lies in a stretch of speech, short pauses included.
    active
        Whether there is speech, its short pauses left out.
    whispered
        Whether the stretch is whispered there.
    doubtful
        Whether that could as well be the other way round.
    """

    stretch: Flags
    active: Flags
    whispered: Flags
    doubtful: Flags


def speech_level(tracks: xr.Dataset) -> xr.DataArray:
    """Level of the sound from 200 to 6000 Hz above the film's own background, dB, over 0.05 s at every frame.

    Any rate serves, 10 frames a second at least.

    Returns
    -------
    DataArray
        Over ``time``, unit "dB", with the coordinates ``reason`` and ``voicing`` (0 to 1). NaN where there is no sound
        (`Reason.NO_SOUND`) or it is clipped (`Reason.SOUND_CLIPPED`). Its attributes tell `USUAL_VOICE`, NaN where
        that was not told with the tracks.

    References
    ----------
    Common practice, no source.
    """
    reasons = why_absent(tracks, "sound", Reason.NO_SOUND)
    clipped = (tracks["sound_clipped"].values > CLIPPED_SHARE) & (reasons == Reason.NONE)
    reasons[clipped] = Reason.SOUND_CLIPPED
    trace = with_reasons(tracks["sound_speech"].astype(np.float64), reasons, "dB")
    voices = {name: float(tracks.attrs.get(name, np.nan)) for name in USUAL_VOICE}
    return trace.assign_coords(voicing=("time", tracks["sound_voicing"].values.astype(np.float64))).assign_attrs(voices)


def speech(trace: xr.DataArray, active_db: float = ACTIVE_DB) -> Speech:
    """Tell speech, and whispers among it, in a curve of `speech_level`.

    Speech are stretches of 0.2 s or more above `active_db`, pauses of up to 0.4 s bridged. A moment of it is whispered
    where fewer than `VOICED_SHARE` of the speech within 0.4 s, of the same stretch, has a voicing above `PERIODIC`; it
    is doubtful where that share lies between 0.12 and 0.4.
    """
    times, level = trace["time"].values, trace.values
    above = np.nan_to_num(level, nan=-np.inf) > active_db
    periodic = trace["voicing"].values > PERIODIC
    weight = shares(times, LONGEST_SHARE_S)
    stretch, active = (np.zeros(len(times), bool) for _ in range(2))
    share = np.full(len(times), np.nan)
    for run in true_runs(times, above, 0.0, _PAUSE_S, 1.0):
        part = run.samples
        loud = weight[part] * above[part]
        if loud.sum() < SHORTEST_S:
            continue
        stretch[part] = True
        active[part] = above[part]
        share[part] = _near(times[part], loud * periodic[part]) / np.maximum(_near(times[part], loud), 1e-9)
    whispered = stretch & (share < VOICED_SHARE)
    return Speech(stretch, active, whispered, stretch & (share >= _SURE_SHARE) & (share < _POSSIBLE_SHARE))


def _near(times: Series, seconds: Series) -> Series:
    """Return the sum of `seconds` within reach of each time."""
    summed = np.concatenate(([0.0], np.cumsum(seconds)))
    first = np.searchsorted(times, times - _REACH_S - 1e-9)
    stop = np.searchsorted(times, times + _REACH_S + 1e-9)
    return np.asarray(summed[stop] - summed[first])


def mean_power(trace: xr.DataArray, flags: Flags) -> float:
    """Return the mean power of the flagged moments over the background's, which is taken off; NaN without any."""
    level = trace.values[flags & np.isfinite(trace.values)]
    return float(np.mean(10 ** (level / 10) - 1)) if len(level) else float("nan")


def why_unheard(trace: xr.DataArray, said: Speech) -> Reason | None:
    """Return why nothing can be said of the speech, None if something can."""
    reasons = trace["reason"].values
    if not np.isin(reasons, (Reason.NONE, Reason.SOUND_CLIPPED)).any():
        return Reason.NOT_LOOKED if (reasons == Reason.NOT_LOOKED).all() else Reason.NO_SOUND
    clipped = int((reasons == Reason.SOUND_CLIPPED).sum())
    if clipped > _CLIPPED_SHARE * (clipped + int(said.active.sum())):
        return Reason.SOUND_CLIPPED
    if said.active.any():
        return None
    level = trace.values[reasons == Reason.NONE]
    return Reason.SOUND_NOISY if np.percentile(level, 90) > _DROWNED_DB else Reason.NOT_HEARD
