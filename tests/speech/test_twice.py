"""Findings of the second listening: taken where they are likely and nothing is guessed, and never as sure."""

from __future__ import annotations

import pytest

from review.domain.phrases import runs
from review.domain.spoken import Hit
from review.domain.transcript import Word
from review.speech.phrases import spot
from review.speech.twice import spot_twice

FINDINGS = {
    "triceps": ("triceps {grade} plus",),
    "eyes": ("no nystagmus",),
    "romberg": ("romberg [is] negative",),
    "shrug": ("shrug is strong and equal",),
    "nostril": ("nostrils are open",),
    "fields": ("full to confrontation",),
}
RUNS = {step: [run for phrase in phrases for run in runs(phrase)] for step, phrases in FINDINGS.items()}


def _said(text: str, confidence: float, from_s: float = 1.0) -> tuple[Word, ...]:
    """Lay the words of a line over two seconds, so that both listenings tell of the same time."""
    words = text.split()
    return tuple(
        Word(word, from_s + 2.0 * at / len(words), from_s + 2.0 * (at + 1) / len(words), confidence)
        for at, word in enumerate(words)
    )


def _twice(first: str, second: str, likely: float = 0.6, doubted: float = 0.4) -> list[Hit]:
    once = _said(first, doubted)
    assert not [hit for hit in spot(once, RUNS) if hit.heard != "unclear"], "the first listening found nothing clear"
    return [hit for hit in spot_twice(once, _said(second, likely), RUNS) if hit.heard != "unclear"]


@pytest.mark.parametrize(
    ("first", "second", "step", "value"),
    [
        ("all right you're set to plus.", "all right triceps two plus.", "triceps", "2"),
        ("no missed time", "no nystagmus", "eyes", ""),
        ("filter con for a nation", "full to confrontation", "fields", ""),
    ],
)
def test_what_was_written_down_as_other_words_is_found(first: str, second: str, step: str, value: str) -> None:
    """It is told in the words of the first listening, with its value, and not as sure."""
    (hit,) = _twice(first, second, likely=0.8)
    assert (hit.step_id, hit.heard, hit.value, hit.sure) == (step, "said", value, False)
    assert set(hit.words.split()) <= set(first.strip(".").split())


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("all right you're set and plus.", "all right triceps two plus."),
        ("all right you're set three plus", "all right triceps two plus"),
        ("missed a time", "no nystagmus"),
        ("the nose trails are not supposed to open", "the nostrils are open"),
        ("who burnt is a positive", "romberg is negative"),
        ("rug is song and unequal", "shrug is strong and equal"),
    ],
    ids=["a grade", "another grade", "a denial", "a denial that went", "an opposite", "an opposite by its beginning"],
)
def test_nothing_that_must_be_exact_is_taken_from_the_hints(first: str, second: str) -> None:
    """Grades, denials and opposites must have been heard by who had read nothing."""
    assert _twice(first, second) == []


def test_an_opposite_that_is_likely_by_itself_may_be_new() -> None:
    """Where nothing was heard against it and the recogniser is sure of it without the hints."""
    assert [hit.step_id for hit in _twice("drug is strong and decoil", "shrug is strong and equal", 0.8)] == ["shrug"]
    assert _twice("drug is strong and decoil", "shrug is strong and equal", 0.6) == []


def test_a_denial_is_never_new_however_likely() -> None:
    """Also not right before the finding, where it would turn it round."""
    assert _twice("missed a time", "no nystagmus", 0.99) == []
    assert _twice("filled two con for nation", "not full to confrontation", 0.99) == []


def test_what_is_unlikely_without_the_hints_was_made_up_of_them() -> None:
    """Words to which the recogniser gives next to nothing do not count, however well they fit a phrase."""
    assert _twice("all right you're set to plus.", "all right triceps two plus.", likely=0.05) == []


def test_words_that_were_likelier_at_first_stay() -> None:
    """Of two readings that are about as likely as the limit, the one that was heard first must have been doubted."""
    first, second = "all right you're set to plus.", "all right triceps two plus."
    assert len(_twice(first, second, likely=0.15, doubted=0.2)) == 1
    assert _twice(first, second, likely=0.15, doubted=0.9) == []


def test_what_was_clear_at_first_is_kept() -> None:
    """Another finding of the second listening in its place does not count; without one all is as it was."""
    once = _said("triceps two plus", 0.9)
    found = spot(once, RUNS)
    assert [hit.step_id for hit in found] == ["triceps"]
    assert spot_twice(once, _said("romberg is negative", 0.99), RUNS) == found
    assert spot_twice(once, (), RUNS) == found


@pytest.mark.parametrize(
    ("second", "heard"),
    [("now follow the direction", ["unclear"]), ("full to confrontation", ["said"]), ("", ["said"])],
    ids=["not", "as well", "no second listening"],
)
def test_a_weak_finding_must_be_heard_by_who_expects_it(second: str, heard: list[str]) -> None:
    """What sounds a little like a phrase is unclear where the second listening heard something else in its place."""
    once = _said("fool to consternation", 0.4)
    assert [(hit.heard, hit.confidence < 0.7) for hit in spot(once, RUNS)] == [("said", True)]
    assert [hit.heard for hit in spot_twice(once, _said(second, 0.9), RUNS)] == heard


def test_unclear_gives_way_to_what_the_second_listening_tells() -> None:
    """A step is not told twice in the same seconds."""
    once = _said("shrug is strong and decoil", 0.3)
    assert [hit.heard for hit in spot(once, RUNS)] == ["unclear"]
    found = spot_twice(once, _said("shrug is strong and equal", 0.8), RUNS)
    assert [(hit.step_id, hit.heard) for hit in found] == [("shrug", "said")]


def test_the_side_is_that_of_the_first_listening() -> None:
    """A side that only the hints brought is none."""
    (hit,) = _twice("all rise you're set to plus on the left", "triceps two plus on the right", 0.8)
    assert hit.side == "left"
