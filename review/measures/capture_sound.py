"""How well the sound of the film carries what is said: level, clipping, hum.

Levels are those of the file: how loud somebody spoke cannot be told from them.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import xarray as xr

from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Event, Reason
from review.domain.tracks import why_absent
from review.measures.capture_quality import fastest, stretches, typical

QUIET_DB: Final = -40.0
CLIPPED_SHARE: Final = 0.005
HUM_SHARE: Final = 0.5
_REFERENCE = "common practice, no source"


def _of_sound(tracks: xr.Dataset, name: str, units: str) -> xr.DataArray:
    reasons = why_absent(tracks, "sound", Reason.NO_SOUND)
    return with_reasons(tracks[name].astype(np.float64), reasons, units)


def sound_level(tracks: xr.Dataset) -> xr.DataArray:
    """Level of the film's sound, dB re a full-scale sine, over 0.05 s at every frame.

    Shape ``(time,)``; NaN where there is no sound (`Reason.NO_SOUND`). Any rate serves.

    References
    ----------
    AES17: a full-scale sine has 0 dB (from memory).
    """
    return _of_sound(tracks, "sound_level", "dB")


def sound_clipped(tracks: xr.Dataset) -> xr.DataArray:
    """Share of the samples at the end of the scale, over 0.05 s at every frame, 0 to 1.

    Shape ``(time,)``; NaN where there is no sound. Any rate serves.

    References
    ----------
    Common practice, no source.
    """
    return _of_sound(tracks, "sound_clipped", "1")


def sound_hum(tracks: xr.Dataset) -> xr.DataArray:
    """Share of the sound's power at 50 or 60 Hz and their harmonics, in the whole second every frame lies in, 0 to 1.

    Shape ``(time,)``; NaN where there is no sound. Any rate serves.

    References
    ----------
    Common practice, no source.
    """
    return _of_sound(tracks, "sound_hum", "1")


def clipping(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches in which the sound is clipped."""
    return stretches(trace, "sound_clipped", lambda values: values > CLIPPED_SHARE)


MEASURES = (
    Measure(
        name="capture_sound_level",
        title="Sound level, at its loudest",
        trace=sound_level,
        summarise=fastest,
        unit="dB",
        unit_words="dB re full scale",
        curve="Sound level",
        needs=(Need("sound", 10.0),),
        reference="AES17",
    ),
    Measure(
        name="capture_sound_clipping",
        title="Clipped sound",
        trace=sound_clipped,
        summarise=fastest,
        events=clipping,
        unit="1",
        unit_words="% of samples in the worst twentieth",
        needs=(Need("sound", 10.0),),
        reference=_REFERENCE,
    ),
    Measure(
        name="capture_sound_hum",
        title="Hum in the sound",
        trace=sound_hum,
        summarise=typical,
        unit="1",
        unit_words="% of the sound's power",
        needs=(Need("sound", 1.0),),
        level=True,
        reference=_REFERENCE,
    ),
)
