"""Odd films as phones, browsers and broken copies make them: each gives what its plain twin gives, or says why not."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from review.capture.intake import make_playback, probe
from review.capture.refusals import Refusal
from review.capture.video import frames
from review.domain.errors import FilmRefused
from tests.films import (
    click_at,
    cut_off,
    even_times,
    is_upright,
    make_film,
    make_film_of_streams,
    make_picture,
    make_sound_only,
    number_in,
    refused_by,
    spoil_packet,
)

Make = Callable[[Path], Path]

FRAMES = 60
EVEN = even_times(FRAMES)
UNEVEN = np.cumsum(np.random.default_rng(7).choice([0.017, 0.033, 0.05, 0.2], FRAMES)).tolist()
SOUND = click_at(0.5, 2.0)
FAST = {"movflags": "faststart"}
UNCUT = {"avoid_negative_ts": "disabled"}
FRAME_RATE = Fraction(1, 30)


@dataclass(frozen=True)
class Row:
    """What is expected of one odd film.

    `numbers` are the pictures that must come, None for some of the first ones only; `sound` whether there is any;
    `notes` are patterns, all of them and in order.
    """

    name: str
    make: Make
    playback: str
    numbers: range | tuple[int, ...] | None = range(FRAMES)
    times_s: tuple[float, ...] = tuple(EVEN)
    size: tuple[int, int] = (128, 96)
    rotation_deg: int = 0
    sound: bool = False
    notes: tuple[str, ...] = ()


def film(name: str, times_s: list[float] | None = None, **wishes: Any) -> Make:
    """Return what makes a film of sixty frames in a folder."""
    return lambda folder: make_film(folder / name, EVEN if times_s is None else times_s, **wishes)


def later(seconds: float) -> list[float]:
    """Return the even times, shifted."""
    return [seconds + each for each in EVEN]


def cut(name: str, share: float, **wishes: Any) -> Make:
    """Return what makes a film and cuts it off."""
    return lambda folder: cut_off(film(name, **wishes)(folder), share)


def filmed_at(said: str, played_hz: float = 30.0) -> Make:
    """Return what makes a film whose camera says how many frames a second it filmed."""
    tags = {"movflags": "faststart+use_metadata_tags"}
    return film("a.mp4", even_times(FRAMES, played_hz), container=tags, metadata={"com.android.capture.fps": said})


def spoilt(name: str, packet: int, **wishes: Any) -> Make:
    """Return what makes a film and overwrites one of its packets."""
    return lambda folder: spoil_packet(film(name, **{"gop": 10} | wishes)(folder), packet)


def renamed(name: str, words: tuple[bytes, ...], **wishes: Any) -> Make:
    """Return what makes a film and writes a word nobody knows into it wherever one of `words` stands."""

    def make(folder: Path) -> Path:
        path = film(name, **wishes)(folder)
        for word in words:
            path.write_bytes(path.read_bytes().replace(word, b"new1"))
        return path

    return make


def on_tenths(stamp_ms: int) -> int:
    """Round a stamp down to a tenth of a second, so that three frames share each."""
    return stamp_ms // 100 * 100


def streams(name: str, **wishes: Any) -> Make:
    """Return what makes a film of several streams of pictures."""
    return lambda folder: make_film_of_streams(folder / name, EVEN, **wishes)


ENDS_EARLY = r"The film ends early: \d+ of 60 frames\."
PICTURE_ENDS = r"The picture ends early: at \d\.\d of 2\.0 seconds\."
DAMAGED = r"The film is damaged: 1 of 60 frames cannot be shown\."
WITHOUT_35 = tuple(number for number in range(FRAMES) if number != 35)

ROWS = [
    Row("plain", film("a.mp4", container=FAST), "as is"),
    Row("index at the end", film("a.mp4"), "remux"),
    Row("with sound", film("a.mp4", container=FAST, sound=SOUND), "as is", sound=True),
    *(
        Row(f"turned {turn}", film("a.mp4", container=FAST, turn_deg=turn), "as is", rotation_deg=turn)
        for turn in (90, 180, 270)
    ),
    *(
        Row(f"flipped and {turn}", film("a.mp4", turn_deg=turn, flipped=True), "transcode", rotation_deg=-turn % 360)
        for turn in (0, 90, 180, 270)
    ),
    Row("pixels 2:1", film("a.mp4", container=FAST, aspect=Fraction(2)), "as is", size=(256, 96)),
    Row("pixels 2:3", film("a.mp4", container=FAST, aspect=Fraction(2, 3)), "as is", size=(128, 144)),
    Row("varying rate", film("a.mp4", UNEVEN, container=FAST), "remux", times_s=tuple(UNEVEN)),
    Row("varying rate, matroska", film("a.mkv", UNEVEN), "remux", times_s=tuple(UNEVEN)),
    Row("frames that lean on later ones", film("a.mp4", container=FAST, b_frames=2), "as is"),
    Row("fragmented", film("a.mp4", container={"movflags": "frag_keyframe+empty_moov"}), "as is"),
    Row("sound late", film("a.mp4", sound=SOUND, sound_from_s=0.5, container=FAST), "as is", sound=True),
    Row("picture late", film("a.mp4", later(0.5), sound=SOUND, container=FAST), "remux", sound=True),
    Row("picture late, matroska", film("a.mkv", later(0.5), sound=SOUND), "remux", sound=True),
    Row("begins before 0", film("a.ts", later(-0.2), sound=SOUND), "remux", sound=True),
    Row(
        "begins before 0 and cannot say so",
        film("a.mkv", later(-0.2), container=UNCUT),
        "transcode",
        notes=(r"6 frames at the start carry no time; a typical gap is assumed between them\.",),
    ),
    Row(
        "cut by an edit list",
        film("a.mp4", later(-0.2), container=UNCUT),
        "transcode",
        numbers=range(6, FRAMES),
        notes=(r"6 stored frames lie outside the cut that the film itself makes; they are not shown\.",),
    ),
    Row("begins at one hour", film("a.ts", later(3600), sound=SOUND, sound_from_s=3600), "remux", sound=True),
    Row(
        "three frames on each stamp",
        film("a.mkv", restamp=on_tenths),
        "transcode",
        notes=(r"40 frames repeat the time of the frame before; they are spread up to the next time\.",),
    ),
    Row("webm without duration", film("a.webm", codec="libvpx", container={"live": "1"}), "transcode"),
    Row("matroska without duration", film("a.mkv", container={"live": "1"}), "remux"),
    Row("cut off, mp4", cut("a.mp4", 0.6, container=FAST), "remux", numbers=None, notes=(ENDS_EARLY,)),
    Row("cut off, matroska", cut("a.mkv", 0.6), "remux", numbers=None, notes=(PICTURE_ENDS,)),
    Row("damaged, mp4", spoilt("a.mp4", 35), "transcode", numbers=WITHOUT_35, notes=(DAMAGED,)),
    Row(
        "damaged, matroska: the rest of its cluster is lost",
        spoilt("a.mkv", 8, gop=1),
        "remux",
        numbers=(*range(8), *range(25, 60)),
        notes=(r"The picture stands still for 0\.6 seconds from 0\.2 seconds on\.",),
    ),
    Row("damaged, matroska: the rest is lost", spoilt("a.mkv", 35), "remux", numbers=None, notes=(PICTURE_ENDS,)),
    Row("mpeg-ts", film("a.ts"), "remux"),
    Row("flash video", film("a.flv"), "remux"),
    Row("hevc", film("a.mp4", codec="libx265"), "transcode"),
    Row("hevc of 10 bit", film("a.mov", codec="libx265", pixels="yuv420p10le"), "transcode"),
    Row("vp9 in mp4", film("a.mp4", codec="libvpx-vp9"), "transcode"),
    Row("av1", film("a.mkv", codec="libsvtav1"), "transcode"),
    Row("av1 of 10 bit in mp4", film("a.mp4", codec="libsvtav1", pixels="yuv420p10le"), "transcode"),
    Row("motion jpeg", film("a.avi", codec="mjpeg", pixels="yuvj420p", tick=FRAME_RATE), "transcode"),
    Row("mpeg-4 part 2", film("a.avi", codec="mpeg4", tick=FRAME_RATE), "transcode"),
    Row("mpeg-1", film("a.mpg", codec="mpeg1video", tick=FRAME_RATE), "transcode"),
    Row("windows media", film("a.wmv", codec="wmv2", tick=FRAME_RATE), "transcode"),
    Row("prores", film("a.mov", codec="prores_ks", pixels="yuv422p10le"), "transcode"),
    Row(
        "gif",
        lambda folder: make_picture(folder / "a.gif", "gif", "rgb8", frames=FRAMES),
        "transcode",
        times_s=tuple(even_times(FRAMES, 10.0)),
    ),
    Row(
        "slow motion",
        filmed_at("240.000000"),
        "as is",
        notes=(
            r"The camera filmed 240 frames a second and the film plays 30: if it is slow motion, "
            r"say 8 when adding it\.",
        ),
    ),
    Row("filmed as fast as it plays", filmed_at("30.000000"), "as is"),
    Row("filmed at an impossible rate", filmed_at("fast"), "as is"),
    Row("240 frames a second", filmed_at("240", 240.0), "as is", times_s=tuple(even_times(FRAMES, 240.0))),
    Row("a smaller picture first", streams("a.mp4", small_first=True), "remux"),
    Row("sound of an unknown kind", renamed("a.mp4", (b"mp4a", b"esds"), sound=SOUND, container=FAST), "as is"),
    Row("a cover picture", streams("a.mp4", cover=True), "remux"),
]


@pytest.fixture(params=ROWS, ids=lambda row: row.name)
def row(request: pytest.FixtureRequest) -> Row:
    """Return each odd film in turn."""
    found: Row = request.param
    return found


def test_an_odd_film_gives_what_its_plain_twin_gives(row: Row, tmp_path: Path) -> None:
    """Size, verdict, times and pictures are those of the twin, and what is not is said in a note."""
    path = row.make(tmp_path)
    facts, times = probe(path)
    assert (facts.width_px, facts.height_px, facts.rotation_deg) == (*row.size, row.rotation_deg)
    assert (facts.playback, facts.has_sound) == (row.playback, row.sound)
    assert len(facts.notes) == len(row.notes)
    assert all(re.fullmatch(pattern, note) for pattern, note in zip(row.notes, facts.notes, strict=True))
    numbers = row.numbers if row.numbers is not None else range(facts.frames)
    assert 5 < facts.frames == len(times) == len(numbers) <= FRAMES
    np.testing.assert_allclose(times, _on_its_clock(row, numbers), atol=0.0011)
    assert _shown(path, times) == list(numbers)


def test_the_copy_of_an_odd_film_is_a_plain_one(row: Row, tmp_path: Path) -> None:
    """What a browser gets is played as it is, and shows the same pictures at the same times."""
    path = row.make(tmp_path)
    facts, times = probe(path)
    if facts.playback != "as is":
        copy = tmp_path / "copy.mp4"
        make_playback(path, facts, copy)
        copied, copied_times = probe(copy)
        assert copied.playback == "as is"
        assert copied.has_sound == row.sound
        np.testing.assert_allclose(copied_times, times, atol=1e-4)
        assert _shown(copy, copied_times) == _shown(path, times)


def _on_its_clock(row: Row, numbers: range | tuple[int, ...]) -> npt.NDArray[np.float64]:
    times = np.array(row.times_s)[list(numbers)]
    return np.asarray(times - times[0])


def _shown(path: Path, times: npt.NDArray[np.float64]) -> list[int]:
    pictures = [frame.picture for frame in frames(path, times, 0, len(times), 128)]
    assert all(is_upright(picture) for picture in pictures)
    return [number_in(picture) for picture in pictures]


@pytest.mark.parametrize(
    ("make", "reason"),
    [
        pytest.param(cut("a.mp4", 0.6), Refusal.NO_INDEX, id="index missing"),
        pytest.param(cut("a.mp4", 0.0), Refusal.EMPTY, id="nothing arrived"),
        pytest.param(make_sound_only, Refusal.NO_PICTURE, id="sound only"),
        pytest.param(film("a.h264"), Refusal.OTHER_KIND, id="raw stream without times"),
        pytest.param(cut("a.mkv", 0.02), Refusal.NO_FILM, id="matroska cut off in its head"),
    ],
)
def test_an_odd_film_that_cannot_be_used_is_refused(tmp_path: Path, make: Make, reason: Refusal) -> None:
    """What cannot be shown on a clock of its own is refused, with the sentence for it."""
    with pytest.raises(FilmRefused) as refusal:
        probe(make(tmp_path))
    assert refused_by(refusal.value) is reason
