"""Films of high dynamic range look as they should on an ordinary screen, by figures of the ITU's reports."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
import numpy.typing as npt
import pytest
from av.video.frame import VideoFrame
from hypothesis import given
from hypothesis import strategies as st

from review.capture.cutout import cut_out
from review.capture.head import Box
from review.capture.intake import make_playback, probe
from review.capture.stills import still
from review.capture.tone import hlg_scene, planes_of, pq_nits, pq_signal, rolled_off
from review.capture.upright import rgb_of
from review.capture.video import frames, raw_frames

Floats = npt.NDArray[np.float64]

PQ, HLG = 16, 18
TO_2020 = np.array([[0.6274, 0.3293, 0.0433], [0.0691, 0.9195, 0.0114], [0.0164, 0.0880, 0.8956]])
SIZE = 96
TIMES = np.arange(4) / 30


def hlg_signal(scene: Floats) -> Floats:
    """Return the HLG signal of a scene's light (BT.2100, Table 5, the OETF)."""
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    return np.where(scene <= 1 / 12, np.sqrt(3 * scene), a * np.log(np.maximum(12 * scene - b, 1e-9)) + c)


def coded(nits: Floats, transfer: int) -> Floats:
    """Return the signal that makes a display of 1000 cd/m2 show light of BT.2020 primaries; shape ``(..., 3)``."""
    if transfer == PQ:
        return pq_signal(nits)
    brightness = np.maximum(nits @ [0.2627, 0.6780, 0.0593], 1e-9)[..., None] / 1000
    return hlg_signal(nits / 1000 * brightness ** (1 / 1.2 - 1))


def hdr_film(path: Path, patches: Sequence[Floats], transfer: int, turn_deg: int = 0, **given: Any) -> Path:
    """Write a film of upright columns of one colour each, given as signals of red, green and blue, 0 to 1."""
    codec, pixels = given.get("codec", "libx265"), given.get("pixels", "yuv420p10le")
    columns = np.repeat(np.array(patches), SIZE // len(patches), axis=0)
    picture = np.rot90(np.broadcast_to(columns, (SIZE, SIZE, 3)), turn_deg // 90)
    luma = picture @ [0.2627, 0.6780, 0.0593]
    blue, red = (picture[..., 2] - luma) / 1.8814, (picture[..., 0] - luma) / 1.4746
    scale = 1 if pixels == "yuv420p" else 4
    stored = [luma * 219 + 16, blue[::2, ::2] * 224 + 128, red[::2, ::2] * 224 + 128]
    quiet = {"x265-params": "log-level=none"} if codec == "libx265" else {}
    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec, rate=30, options={"crf": "5", **quiet})
        stream.width, stream.height, stream.pix_fmt = SIZE, SIZE, pixels
        context = stream.codec_context
        context.color_trc, context.color_primaries, context.colorspace, context.color_range = transfer, 9, 9, 1
        if turn_deg:
            stream.set_display_rotation(-turn_deg)
        for number in range(len(TIMES)):
            frame = VideoFrame(SIZE, SIZE, pixels)
            for plane, values in zip(planes_of(frame, np.uint8 if scale == 1 else np.uint16), stored, strict=True):
                plane[:] = np.round(values * scale)
            frame.colorspace, frame.color_range = 9, 1
            frame.pts, frame.time_base = number, Fraction(1, 30)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


def shown(path: Path, count: int) -> Floats:
    """Return the colours of a film's columns, in the middle of each, as a browser decodes them; 0 to 255."""
    facts, times = probe(path)
    picture = next(frames(path, times, 1, 2, 1920)).picture.astype(float)
    width = facts.width_px // count
    middles = [width // 2 + width * place for place in range(count)]
    return np.array([picture[30:60, middle - 3 : middle + 3].mean(axis=(0, 1)) for middle in middles])


def copied(film: Path) -> Path:
    """Return the film's copy for the browser."""
    target = film.with_name("copy.mp4")
    make_playback(film, probe(film)[0], target)
    return target


def test_reference_levels_are_those_of_the_report() -> None:
    """BT.2408, Table 1: white is 203 cd/m2 at 58 % PQ and 75 % HLG, a grey card of 18 % is 26 cd/m2 at 38 %."""
    assert pq_nits(np.array([0.58, 0.38])) == pytest.approx([203, 26], rel=0.01)
    assert 1000 * hlg_scene(np.array([0.75, 0.38])) ** 1.2 == pytest.approx([203, 26], rel=0.01)
    assert 1000 * hlg_scene(np.array([0.0, 1.0])) ** 1.2 == pytest.approx([0, 1000], abs=1e-3)


@given(st.floats(0, 10_000))
def test_pq_comes_back(nits: float) -> None:
    """Coding and decoding a light gives that light again."""
    assert pq_nits(pq_signal(np.array(nits))) == pytest.approx(nits, rel=1e-6, abs=1e-6)


@given(st.floats(0, 10_000), st.floats(0, 10_000))
def test_roll_off_keeps_order_and_dark_tones(one: float, other: float) -> None:
    """Brighter stays brighter, nothing exceeds the screen's peak, and up to 85 cd/m2 nothing changes."""
    low, high = sorted([one, other])
    dark, bright = rolled_off(np.array([low, high]))
    assert dark <= bright + 1e-9
    assert bright <= 203 + 1e-6
    if low <= 85:
        assert dark == pytest.approx(low, rel=1e-4, abs=1e-6)


@pytest.mark.parametrize(("transfer", "white"), [(PQ, 0.5807), (HLG, 0.75)], ids=["PQ", "HLG"])
def test_grey_card_and_white_land_where_the_formula_says(tmp_path: Path, transfer: int, white: float) -> None:
    """In the copy black is 0, the grey card 42.5 % and white 90.3 % of the signal, and what 1000 cd/m2 are is 100 %."""
    peak = pq_signal(np.array(1000.0)) if transfer == PQ else 1.0
    film = hdr_film(tmp_path / "greys.mov", [np.full(3, level) for level in (0, 0.38, white, peak)], transfer)
    expected = 255 * np.array([0, 0.425, 0.903, 1.0])
    assert shown(copied(film), 4) == pytest.approx(np.repeat(expected[:, None], 3, axis=1), abs=2.5)


SKIN, BRICK, LEAF, SKY = (
    np.array(colour, float) for colour in ((200, 150, 120), (150, 60, 45), (70, 120, 60), (90, 130, 190))
)


@pytest.mark.parametrize("transfer", [PQ, HLG], ids=["PQ", "HLG"])
@pytest.mark.parametrize("turn_deg", [0, 90, 270])
def test_colours_are_not_shifted(tmp_path: Path, transfer: int, turn_deg: int) -> None:
    """Colours of an ordinary screen, shown no brighter than 85 cd/m2, come back, in the copy and for the models."""
    colours = np.array([SKIN, BRICK, LEAF, SKY])
    nits = 85 * (colours / 255) ** 2.4
    film = hdr_film(tmp_path / "colours.mov", list(coded(nits @ TO_2020.T, transfer)), transfer, turn_deg)
    expected = colours * (85 / 203) ** (1 / 2.4)
    assert shown(copied(film), 4) == pytest.approx(expected, abs=4)
    assert shown(film, 4) == pytest.approx(expected, abs=4)


def test_eight_bit_hdr_is_toned_too_and_said(tmp_path: Path) -> None:
    """A film that a browser could decode but not show rightly gets a copy; the copy says that it is BT.709."""
    film = hdr_film(tmp_path / "greys.mp4", [np.full(3, 0.75)] * 2, HLG, codec="libx264", pixels="yuv420p")
    facts, _ = probe(film)
    assert facts.playback == "transcode"
    assert facts.notes == ("The film is HDR: its copy for the browser is toned down.",)
    copy = copied(film)
    assert probe(copy)[0].notes == ()
    assert shown(copy, 2) == pytest.approx(np.full((2, 3), 0.903 * 255), abs=3)
    with av.open(str(copy)) as container:
        frame = next(container.decode(video=0))
        assert (frame.color_trc, frame.color_primaries, frame.colorspace, frame.color_range) == (1, 1, 1, 1)


def test_odd_sizes_stills_and_cuts_are_toned(tmp_path: Path) -> None:
    """A still of an HDR film, a picture of it with odd sides and a cut of it have the same white as its copy."""
    film = hdr_film(tmp_path / "white.mov", [np.full(3, 0.75)] * 2, HLG)
    _, times = probe(film)
    small = next(frames(film, times, 0, 1, 51)).picture
    assert small.shape == (51, 51, 3)
    assert small.mean() == pytest.approx(0.903 * 255, abs=3)
    picture = cv2.imdecode(np.frombuffer(still(film, 0.0, 33), np.uint8), cv2.IMREAD_COLOR)
    assert picture.mean() == pytest.approx(0.903 * 255, abs=3)
    raw = next(raw_frames(film, times, 0, 1))
    cut, _ = cut_out(raw.frame, raw.shape, Box(30, 20, 40, 40))
    assert [cut.mean(), rgb_of(raw.frame).mean()] == pytest.approx([0.903 * 255] * 2, abs=3)
