"""The voice benchmark counts what was heard against what was said."""

import wave
from pathlib import Path

import numpy as np
import pytest

from review.domain.model import Interval
from review.domain.phrases import Run, Slot
from review.domain.spoken import Heard, Hit
from review.speech.recogniser import RATE_HZ
from tests.benchmarks.voice import Count, Said, Talk, _number, _of_step, _verbatim, score

ROMBERG: Run = ("romberg", "is", "negative")
ACUITY: Run = ("twenty", "over", Slot("number"))


def _talk(*said: Said, besides: tuple[Said, ...] = ()) -> Talk:
    return Talk("made", Path("made.wav"), said, besides, {"romberg": [ROMBERG]})


def _hit(heard: Heard = "said", at_s: float = 1.0, value: str = "") -> Hit:
    return Hit("romberg", heard, Interval(at_s, at_s + 1), 0.9, "romberg is negative", None, value)


def test_heard_where_it_was_said() -> None:
    """One of two is found, one of three is right; a finding in words of one's own does not lower the recall."""
    talk = _talk(Said("romberg", 1, 2), Said("romberg", 20, 21), Said("romberg", 40, 41, listed=False))
    count = Count()
    score(talk, [_hit(), _hit(at_s=60), _hit(at_s=80)], count)
    figures = count.figures()
    assert (figures["recall"], figures["precision"], figures["own_words"]) == (0.5, 0.333, "0 of 1")


@pytest.mark.parametrize(("heard", "wrong"), [("other", 1), ("unclear", 0)])
def test_another_value_is_critical_and_unsure_is_not(heard: Heard, wrong: int) -> None:
    """A denial heard otherwise is told; what is shown as unsure is only not found."""
    count = Count()
    score(_talk(Said("romberg", 1, 2)), [_hit(heard)], count)
    assert (count.found, len(count.critical)) == (0, wrong)


def test_a_phrase_said_in_an_instruction_was_said() -> None:
    """Words that are listened for and are said as they are count as said, with the value in their slots."""
    words = [
        {"word": word, "onset_s": float(at), "offset_s": at + 0.5}
        for at, word in enumerate(["so", "twenty", "over", "forty", "now"])
    ]
    assert list(_verbatim(words, {"acuity": [ACUITY]})) == [Said("acuity", 1.0, 3.5)]


def test_a_result_that_the_sheet_lists_is_as_expected() -> None:
    """A sheet may listen for "romberg is positive" as well: then that is what is expected to be heard."""
    finding = {"status": "other", "text": "so Romberg is negative", "value": None, "onset_s": 1.0, "offset_s": 2.0}
    assert _of_step({"step": "romberg", "finding": finding}, {"romberg": [ROMBERG]}).expected
    assert not _of_step({"step": "romberg", "finding": finding}, {"romberg": [("steady",)]}).expected


@pytest.mark.parametrize(("value", "number"), [("2+", "2"), ("4/5", "4"), ("20/40", "40"), ("absent", "")])
def test_the_number_that_tells(value: str, number: str) -> None:
    """Of an acuity it is the line that was read, of a strength the grade."""
    assert _number(value) == number


def test_an_attempt_made_in_a_room_is_not_altered(tmp_path: Path) -> None:
    """It counts in its own room as it is; the clean one stands in only for rooms that it was not made in."""
    path = tmp_path / "made.wav"
    with wave.open(str(path), "wb") as sound:
        sound.setparams((1, 2, RATE_HZ, 0, "NONE", ""))
        sound.writeframes((np.sin(np.arange(RATE_HZ) / 9) * 9000).astype("<i2").tobytes())
    clean, noisy = (Talk(room, path, (), (), {}, attempt="one", room=room) for room in ("clean", "db10"))
    both = (clean, noisy)
    heard = {(one.room, room): one.in_room(room, both) for one in both for room in ("clean", "db20", "db10")}
    assert heard["clean", "db10"] is None
    assert heard["db10", "clean"] is None
    own = heard["db10", "db10"]
    assert own is not None
    assert np.array_equal(own, clean.in_room("clean", both))
    assert not np.array_equal(own, heard["clean", "db20"])
