"""What a phone's sensor and lens do to a picture."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]

_READ_NOISE: Final = 2.2
_SHOT_NOISE: Final = 1.6
_COLOUR_SHARE: Final = 0.55
_POOL: Final = 1 << 22
"""Random numbers drawn once; every picture takes its noise from a stretch of them, up to 2560 x 1440 pixels."""


class Sensor:
    """Takes pictures through a slightly soft lens and with noise, the same for the same seed.

    Parameters
    ----------
    seed
        Of the random numbers.
    gain
        How much stronger the noise is than in good light; 0 for none.
    """

    def __init__(self, seed: int, gain: float = 1.0) -> None:
        self._random = np.random.default_rng(seed)
        self._pool = self._random.standard_normal(_POOL, dtype=np.float32)
        self._gain = gain
        self._spread = gain * _noise_by_level()

    def taken(self, picture: Picture) -> Picture:
        """Return the picture, shape ``(height, width, 3)``, softened by the lens and with noise."""
        soft = _soft(picture)
        if not self._gain:
            return soft
        spread = self._spread[soft[..., 1]]
        grain = self._grain(spread.shape)
        coarse = tuple(-(-size // 2) for size in spread.shape)
        tinge = [self._grain(coarse).repeat(2, 0).repeat(2, 1)[: spread.shape[0], : spread.shape[1]] for _ in "rb"]
        noisy = np.empty(soft.shape, np.float32)
        noisy[..., 0] = grain + _COLOUR_SHARE * tinge[0]
        noisy[..., 1] = grain - 0.25 * _COLOUR_SHARE * (tinge[0] + tinge[1])
        noisy[..., 2] = grain + _COLOUR_SHARE * tinge[1]
        noisy *= spread[..., None]
        noisy += soft
        return np.clip(np.rint(noisy), 0, 255).astype(np.uint8)

    def _grain(self, shape: tuple[int, ...]) -> NDArray[np.float32]:
        size = int(np.prod(shape))
        start = int(self._random.integers(0, _POOL - size))
        return self._pool[start : start + size].reshape(shape)


def _noise_by_level() -> NDArray[np.float32]:
    """Return the noise's standard deviation for each of 256 levels; the steep tone curve lifts it in the dark."""
    light = (np.arange(256) / 255) ** 2.2
    slope = np.clip(1 / (2.2 * np.maximum(light, 0.02) ** (1 - 1 / 2.2)), 0, 4)
    return ((_READ_NOISE * 0.25 + _SHOT_NOISE * np.sqrt(light)) * slope).astype(np.float32)


def _soft(picture: Picture) -> Picture:
    """Blur with 1-6-1 both ways."""
    wide = np.pad(picture, ((1, 1), (1, 1), (0, 0)), mode="edge").astype(np.uint16)
    across = wide[:, :-2] + 6 * wide[:, 1:-1] + wide[:, 2:]
    return ((across[:-2] + 6 * across[1:-1] + across[2:] + 32) >> 6).astype(np.uint8)
