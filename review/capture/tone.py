"""From a frame of high dynamic range to the one an ordinary screen shows, by the formulas of the ITU.

The signal is decoded to the light of a display of 1000 cd/m2 (BT.2100), white being 203 cd/m2 as BT.2408 has it. Its
colours go from BT.2020 to BT.709, and what is brighter than a screen shows is rolled off by the curve of BT.2408,
Annex 5, with 203 cd/m2 as the screen's peak: below 85 cd/m2 nothing changes, white lands at 90 % of the signal and
1000 cd/m2 at 100 %. The curve is applied to the brightest of red, green and blue, and all three are scaled alike, so
that hues stay.

Pictures are stored as luma at full size and colour at half of it. Colour is computed exactly at its own size; luma is
what a grey of its level becomes, corrected by what colour changes there.

References
----------
Recommendation ITU-R BT.2100-2 (2018), Tables 4 and 5. Report ITU-R BT.2408-8 (2024), 2.1, 2.2 and Annex 5 (the EETF;
in Report BT.2390 before). Recommendation ITU-R BT.2020-2, Tables 3 and 4; BT.2087-0 (colours); BT.1886 (screen).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final, TypeAlias

import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorPrimaries, ColorRange, Colorspace, ColorTrc
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float32]

WHITE_NITS: Final = 203.0
PEAK_NITS: Final = 1000.0

_HDR: Final = (ColorTrc.SMPTE2084, ColorTrc.ARIB_STD_B67)
_LEVELS: Final = 1024
_STEPS: Final = 4096
_MOST: Final = 10_000.0 / WHITE_NITS
_SCREEN_GAMMA: Final = 2.4
_LUMA_2020: Final = (0.2627, 0.6780, 0.0593)
_LUMA_709: Final = (0.2126, 0.7152, 0.0722)
_TO_709: Final = np.array(
    [[1.6605, -0.5876, -0.0728], [-0.1246, 1.1329, -0.0083], [-0.0182, -0.1006, 1.1187]], np.float32
)
_NCL_2020: Final = np.array([[1, 0, 1.4746], [1, -0.16455, -0.57135], [1, 1.8814, 0]], np.float32)
_NCL_709: Final = np.array([[1, 0, 1.5748], [1, -0.18732, -0.46812], [1, 1.8556, 0]], np.float32)
_SIXTEENTHS: Final = 16


@dataclass(frozen=True, slots=True)
class Signal:
    """How the numbers of a frame mean light: transfer, primaries, matrix and range, as the film names them."""

    transfer: int
    wide_colours: bool
    wide_matrix: bool
    full_range: bool


def is_hdr(frame: VideoFrame) -> bool:
    """Tell whether a frame is of high dynamic range: its transfer is PQ or HLG."""
    return frame.color_trc in _HDR


def pq_nits(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the light (cd/m2) of a PQ signal of 0 to 1 (BT.2100, Table 4).

    Examples
    --------
    >>> [round(float(nits)) for nits in pq_nits(np.array([0.0, 0.38, 0.58, 1.0]))]
    [0, 26, 202, 10000]
    """
    raised = np.maximum(signal, 0.0) ** (32 / 2523)
    light = np.maximum(raised - 3424 / 4096, 0.0) / (2413 / 128 - 2392 / 128 * raised)
    return np.asarray(10_000.0 * light ** (16_384 / 2610))


def pq_signal(nits: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the PQ signal (0 to 1) of a light in cd/m2; the inverse of `pq_nits`."""
    raised = (np.maximum(nits, 0.0) / 10_000.0) ** (2610 / 16_384)
    return np.asarray(((3424 / 4096 + 2413 / 128 * raised) / (1 + 2392 / 128 * raised)) ** (2523 / 32))


def hlg_scene(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the light of the scene, 0 to 1, of an HLG signal of 0 to 1 (BT.2100, Table 5)."""
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    signal = np.maximum(signal, 0.0)
    return np.asarray(np.where(signal <= 0.5, signal**2 / 3, (np.exp((signal - c) / a) + b) / 12))


def rolled_off(nits: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what a screen whose peak is white shows of a light made for 1000 cd/m2 (BT.2408, Annex 5), in cd/m2."""
    whole = pq_signal(np.array(PEAK_NITS))
    most = pq_signal(np.array(WHITE_NITS)) / whole
    knee = 1.5 * most - 0.5
    level = np.minimum(pq_signal(nits) / whole, 1.0)
    share = np.maximum(level - knee, 0.0) / (1 - knee)
    bent = (
        (2 * share**3 - 3 * share**2 + 1) * knee
        + (share**3 - 2 * share**2 + share) * (1 - knee)
        + (3 * share**2 - 2 * share**3) * most
    )
    return pq_nits(np.where(level < knee, level, bent) * whole)


def signal_of(frame: VideoFrame) -> Signal:
    """Read from a frame how its numbers mean light; what it does not say is taken as HDR films have it."""
    return Signal(
        int(frame.color_trc),
        frame.color_primaries != ColorPrimaries.BT709,
        frame.colorspace != Colorspace.ITU709,
        frame.color_range == ColorRange.JPEG,
    )


def toned(frame: VideoFrame, width: int, height: int) -> VideoFrame:
    """Scale an HDR frame and return what an ordinary screen shows of it: ``yuv420p``, BT.709, limited range."""
    import cv2

    small = frame.reformat(width=width, height=height, format="yuv420p10le", interpolation="AREA", threads=1)
    luma, blue, red = planes_of(small, np.uint16)
    signal = signal_of(frame)
    coarse = cv2.resize(luma, blue.shape[::-1], interpolation=cv2.INTER_AREA)
    shown = _shown(np.dstack([coarse, blue, red]), signal)
    greys = _greys(signal)
    change = np.round(_SIXTEENTHS * shown[..., 0]).astype(np.int16) - greys[coarse]
    change = cv2.resize(change, luma.shape[::-1], interpolation=cv2.INTER_LINEAR)
    made = ordinary(width, height)
    planes = planes_of(made, np.uint8)
    planes[0][:] = cv2.addWeighted(greys[luma], 1 / _SIXTEENTHS, change, 1 / _SIXTEENTHS, 0, dtype=cv2.CV_8U)
    for place in (1, 2):
        planes[place][:] = cv2.convertScaleAbs(shown[..., place])
    return made


def ordinary(width: int, height: int) -> VideoFrame:
    """Return a new frame, ``yuv420p``, that says of itself what `toned` makes: BT.709, limited range."""
    frame = VideoFrame(width, height, "yuv420p")
    frame.colorspace, frame.color_range = Colorspace.ITU709, ColorRange.MPEG
    return frame


def planes_of(frame: VideoFrame, kind: type[np.generic]) -> list[NDArray[Any]]:
    """Return the planes of a planar frame as arrays that share its memory; shape ``(height, width)`` each."""
    rows = ((plane, np.frombuffer(memoryview(plane), kind).reshape(plane.height, -1)) for plane in frame.planes)
    return [stored[:, : plane.width] for plane, stored in rows]


def _shown(stored: NDArray[np.uint16], signal: Signal) -> Floats:
    """Return the 8 bit BT.709 luma, blue and red difference of 10 bit ones; shape ``(..., 3)``, not rounded."""
    import cv2

    luma_from, luma_steps, colour_steps = (0, 1023, 1023) if signal.full_range else (64, 876, 896)
    per_step = np.array([1 / luma_steps, 1 / colour_steps, 1 / colour_steps], np.float32)
    from_zero = np.array([luma_from, 512, 512], np.float32)
    decode = (_NCL_2020 if signal.wide_matrix else _NCL_709) * per_step * (_STEPS - 1)
    places = cv2.transform(stored.astype(np.float32), np.column_stack([decode, -decode @ from_zero]))
    light = _light(signal.transfer)[np.clip(places, 0, _STEPS - 1).astype(np.uint16)]
    if signal.transfer == ColorTrc.ARIB_STD_B67:
        brightness = cv2.transform(light, np.array([_LUMA_2020], np.float32))
        light = light * cv2.pow(brightness, 0.2)[..., None] * np.float32(PEAK_NITS / WHITE_NITS)
    if signal.wide_colours:
        light = np.maximum(cv2.transform(light, _TO_709), 0)
    largest = cv2.max(cv2.max(light[..., 0], light[..., 1]), light[..., 2])
    gain = _gains()[np.minimum(cv2.sqrt(largest) * _GAIN_STEP, _STEPS - 1).astype(np.uint16)]
    coded = cv2.pow(np.minimum(light * gain[..., None], 1.0), 1 / _SCREEN_GAMMA)
    return np.asarray(cv2.transform(coded, _encoding()), np.float32)


_GAIN_STEP: Final = np.float32((_STEPS - 1) / np.sqrt(_MOST))


@lru_cache
def _light(transfer: int) -> Floats:
    """Return the light of each of `_STEPS` levels of a signal: of PQ in parts of white, of HLG the scene's."""
    levels = np.linspace(0, 1, _STEPS)
    light = pq_nits(levels) / WHITE_NITS if transfer == ColorTrc.SMPTE2084 else hlg_scene(levels)
    return light.astype(np.float32)


@lru_cache
def _gains() -> Floats:
    """Return the factor of the roll-off for lights in parts of white, evenly spaced in their square root."""
    light = (np.arange(_STEPS) / _GAIN_STEP) ** 2
    light[0] = light[1]
    return (rolled_off(light * WHITE_NITS) / (light * WHITE_NITS)).astype(np.float32)


@lru_cache
def _encoding() -> Floats:
    """Return the matrix, with offsets, from a BT.709 signal of 0 to 1 to 8 bit luma and colour of limited range."""
    luma = np.array(_LUMA_709)
    blue = (np.array([0, 0, 1]) - luma) / 1.8556
    red = (np.array([1, 0, 0]) - luma) / 1.5748
    return np.column_stack([np.array([219 * luma, 224 * blue, 224 * red]), [16, 128, 128]]).astype(np.float32)


@lru_cache
def _greys(signal: Signal) -> NDArray[np.int16]:
    """Return the 8 bit luma of each 10 bit grey, in sixteenths."""
    greys = np.full((1, _LEVELS, 3), 512, np.uint16)
    greys[0, :, 0] = np.arange(_LEVELS)
    return np.round(_SIXTEENTHS * _shown(greys, signal)[0, :, 0]).astype(np.int16)
