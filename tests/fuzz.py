"""Mutated films: headers and bodies of small films of many kinds are spoilt at random and read as intake reads them."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt

from review.capture.apart import Apart, Limits
from review.capture.probe import FilmFacts
from review.capture.refusals import Refusal
from review.domain.errors import FilmRefused
from tests.films import click_at, even_times, make_film, make_picture, refused_by

LIMITS = Limits(memory_bytes=2 << 30, look_s=20, look_s_per_megabyte=0, make_s=30, make_s_per_second=0, patience=5)
"""Far more than the small films take, so that what reaches a limit hangs or swells."""

SAME = {"fflags": "+bitexact"}
"""No dates and no random names in the containers: the films are the same bytes in every run."""

RATE = Fraction(1, 30)

_HEAD_BYTES = 1500
_EXTREMES = (b"\0\0\0\0", b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\x80\0\0\0", b"\0\0\0\1", b"\0\0\xff\xff")


@dataclass(frozen=True)
class Outcome:
    """What came of one mutated film.

    `answer` is "taken", "taken in part" (facts, but refused when it was decoded) or the reason of a refusal; None for
    a sentence that is not on the list. `faults` are what must not be, in words.
    """

    number: int
    film: str
    answer: str | None
    words: str
    faults: tuple[str, ...]


def seeds(folder: Path) -> list[Path]:
    """Write the small films that are mutated, of as many containers and codecs as phones and browsers make."""
    small = partial(make_film, times_s=even_times(16), size=(64, 48))
    sound = click_at(0.2, 0.5)
    return [
        small(folder / "h264.mp4", sound=sound, container={"movflags": "faststart"} | SAME),
        small(folder / "turned.mov", turn_deg=90, b_frames=2, gop=4, container=SAME),
        small(folder / "fragments.mp4", container={"movflags": "frag_keyframe+empty_moov"} | SAME),
        small(folder / "h264.mkv", gop=4, sound=sound, container=SAME),
        small(folder / "vp8.webm", codec="libvpx", sound=sound, container={"live": "1"} | SAME),
        small(folder / "vp9.webm", codec="libvpx-vp9", container=SAME),
        small(folder / "hevc.mp4", codec="libx265", pixels="yuv420p10le", container=SAME),
        small(folder / "av1.mp4", codec="libsvtav1", container=SAME),
        small(folder / "h264.ts", sound=sound, container=SAME),
        small(folder / "mjpeg.avi", codec="mjpeg", pixels="yuvj420p", tick=RATE, container=SAME),
        small(folder / "mpeg4.avi", codec="mpeg4", tick=RATE, container=SAME),
        small(folder / "h264.flv", container=SAME),
        small(folder / "wmv2.wmv", codec="wmv2", tick=RATE, container=SAME),
        small(folder / "mpeg1.mpg", codec="mpeg1video", tick=RATE, container=SAME),
        small(folder / "vp8.ogg", codec="libvpx", tick=RATE, container=SAME),
        make_picture(folder / "wave.gif", "gif", "rgb8", frames=8),
    ]


def mutated(film: bytes, other: bytes, draw: np.random.Generator) -> bytes:
    """Return a film with one to four places spoilt, half of the time within its head or its tail."""
    data = bytearray(film)
    for _ in range(int(draw.integers(1, 5))):
        if len(data) < 64:
            break
        low, high = 0, len(data)
        region = draw.integers(4)
        if region == 0:
            high = min(high, _HEAD_BYTES)
        elif region == 1:
            low = max(low, high - _HEAD_BYTES)
        _spoil(data, int(draw.integers(low, high)), other, draw)
    return bytes(data)


def _spoil(data: bytearray, at: int, other: bytes, draw: np.random.Generator) -> None:
    length = int(draw.choice([1, 2, 4, 16, 64, 512]))
    kind = draw.integers(7)
    if kind == 0:
        data[at] ^= 1 << int(draw.integers(8))
    elif kind == 1:
        data[at : at + length] = draw.bytes(len(data[at : at + length]))
    elif kind == 2:
        data[at : at + 4] = _EXTREMES[draw.integers(len(_EXTREMES))][: len(data[at : at + 4])]
    elif kind == 3:
        del data[at : at + length]
    elif kind == 4:
        data[at:at] = data[at : at + length]
    elif kind == 5:
        start = int(draw.integers(len(other)))
        data[at : at + length] = other[start : start + length]
    else:
        del data[max(64, at) :]


def run(films: Sequence[Path], folder: Path, count: int, seed: int = 20_261, processes: int = 2) -> Iterator[Outcome]:
    """Mutate films and take each in as far as capture does it, in processes that are kept between films.

    Parameters
    ----------
    films
        The films to mutate, in turn.
    folder
        Where the mutated films are written; they are removed again.
    count, seed
        How many, and what the mutations are drawn from: film number 17 is the same in every run of one seed.
    processes
        How many are read at a time.

    Yields
    ------
    outcome
        One for each, in order.
    """
    data = [film.read_bytes() for film in films]
    mine = threading.local()
    readers: list[Apart] = []

    def one(number: int) -> Outcome:
        if not hasattr(mine, "reader"):
            mine.reader = Apart(LIMITS)
            readers.append(mine.reader)
        draw = np.random.default_rng([seed, number])
        which = number % len(films)
        own = folder / f"{number:06d}"
        own.mkdir()
        film = own / f"film{films[which].suffix}"
        film.write_bytes(mutated(data[which], data[int(draw.integers(len(data)))], draw))
        answer, words, faults = _taken(mine.reader, film)
        film.unlink()
        left = sorted(path.name for path in own.iterdir())
        if not left:
            own.rmdir()
        return Outcome(number, films[which].name, answer, words, (*faults, *(f"{name} was left" for name in left)))

    try:
        with ThreadPoolExecutor(processes) as pool:
            yield from pool.map(one, range(count))
    finally:
        for reader in readers:
            reader.end()


def _taken(reader: Apart, film: Path) -> tuple[str | None, str, list[str]]:
    copy = film.with_name("playback.mp4")
    answer = "taken in part"
    try:
        facts, times = reader.probe(film)
    except FilmRefused as refusal:
        return _named(refusal)
    faults = _amiss(facts, times)
    try:
        if facts.playback != "as is":
            reader.make_playback(film, facts, copy)
            copied, copied_times = reader.probe(copy)
            faults += _amiss(copied, copied_times)
        reader.stills(film, [0.0, facts.duration_s / 2], 48)
        answer = "taken"
    except FilmRefused as refusal:
        return (answer if refused_by(refusal) else None), str(refusal), [*faults, *_named(refusal)[2]]
    finally:
        copy.unlink(missing_ok=True)
    return answer, "", faults


def _named(refusal: FilmRefused) -> tuple[str | None, str, list[str]]:
    reason = refused_by(refusal)
    bad = {Refusal.NOT_FORESEEN: "not foreseen", None: "a sentence that is not on the list"}
    return (reason.name if reason else None), str(refusal), [bad[reason]] if reason in bad else []


def _amiss(facts: FilmFacts, times: npt.NDArray[np.float64]) -> list[str]:
    """Return in words what is impossible in the facts of a film."""
    checks = {
        "frames and times differ": facts.frames == len(times) > 0,
        "times do not begin at 0": times[0] == 0,
        "times do not rise": bool(np.all(np.diff(times) > 0)),
        "no duration": bool(np.isfinite(facts.duration_s)) and facts.duration_s > times[-1],
        "no size": min(facts.width_px, facts.height_px) >= 16,
    }
    return [words for words, good in checks.items() if not good]
