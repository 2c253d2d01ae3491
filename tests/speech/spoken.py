"""A voice that says four findings, for tests."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import av
import numpy as np
import numpy.typing as npt
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler

from tests.films import SOUND_HZ, even_times, make_film

SPOKEN: Final = Path(__file__).parent.parent / "data" / "spoken.ogg"
"""Says: Pupils are equal and round. The romberg is negative. Biceps two plus on the right. There is no nystagmus."""


def spoken(rate_hz: int = SOUND_HZ) -> npt.NDArray[np.float64]:
    """Return the voice, -1 to 1, shape ``(sample,)``."""
    resampler = AudioResampler(format="fltp", layout="mono", rate=rate_hz)
    with av.open(str(SPOKEN)) as container:
        frames = [frame for frame in container.decode(audio=0) if isinstance(frame, AudioFrame)]
    parts = [out.to_ndarray()[0] for frame in [*frames, None] for out in resampler.resample(frame) if out is not None]
    return np.concatenate(parts).astype(np.float64)


def spoken_film(path: Path, at_s: float, seconds: float, rate_hz: float = 1.0, late_s: float = 0.0) -> Path:
    """Make a film of nobody with the voice from a moment on; its sound begins `late_s` after the picture."""
    sound = np.random.default_rng(3).normal(0, 0.0005, round((seconds - late_s) * SOUND_HZ))
    voice = spoken()
    start = round((at_s - late_s) * SOUND_HZ)
    sound[start : start + len(voice)] += voice[: len(sound) - start]
    return make_film(path, even_times(round(seconds * rate_hz), rate_hz), sound=sound, sound_from_s=late_s)
