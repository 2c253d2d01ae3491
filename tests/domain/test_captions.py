"""Captions: cut at sentences and pauses, in lines and seconds that can be read; nothing that was heard is lost."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.domain.captions import (
    LINE_CHARACTERS,
    LINES,
    LONGEST_S,
    Caption,
    Correction,
    as_heard_again,
    captions_of,
    cut_words,
    lines_of,
)
from review.domain.model import Interval
from review.domain.transcript import Word
from tests.store.made import WHEN

END_S = 600.0


def heard(text: str, onset_s: float = 1.0, word_s: float = 0.3) -> tuple[Word, ...]:
    """Return words that follow each other without a pause; "/" stands for two seconds of silence."""
    words, at = [], onset_s
    for part in text.split():
        if part == "/":
            at += 2.0
            continue
        words.append(Word(part, round(at, 3), round(at + word_s, 3), 0.9))
        at += word_s
    return tuple(words)


def correction(onset_s: float, offset_s: float, text: str, name: str = "one") -> Correction:
    """Return a correction."""
    return Correction(name, "b1", Interval(onset_s, offset_s), text, "p1", WHEN)


def shown(text: str, *corrections: Correction, end_s: float = END_S) -> list[tuple[float, float, str]]:
    """Return the captions of what was heard."""
    found = captions_of(heard(text), corrections, end_s)
    return [(one.interval.onset_s, one.interval.offset_s, one.text) for one in found]


@pytest.mark.parametrize(
    ("text", "cut"),
    [
        ("Stand here. / Close your eyes.", ["Stand here.", "Close your eyes."]),
        ("Stand here. Close your eyes.", ["Stand here. Close your eyes."]),
        ("and now / left", ["and now", "left"]),
        ("No sway was seen while standing at all, and both arms stayed where they were before.",
         ["No sway was seen while standing at all,", "and both arms stayed where they were before."]),
        ("", []),
    ],
    ids=["pause", "two short sentences", "pause within a sentence", "long: at the comma", "nothing"],
)  # fmt: skip
def test_where_captions_are_cut(text: str, cut: list[str]) -> None:
    """At pauses; between sentences unless both are short; in long ones where it halts near the middle."""
    assert [one for *_, one in shown(text)] == cut


def test_a_caption_stays_long_enough_to_be_read() -> None:
    """At least a second, and a second for every 21 characters, where nothing else is said and the film goes on."""
    assert shown("Left.") == [(1.0, 2.0, "Left.")]
    quick = heard("unbelievably extraordinary coordination", word_s=0.1)
    (one,) = captions_of(quick, (), END_S)
    assert one.interval.offset_s == pytest.approx(1.0 + 39 / 21, abs=0.001)
    assert shown("Left.", end_s=1.4) == [(1.0, 1.4, "Left.")]
    assert shown("Yes. / Left.")[0][1] == 2.0


WORDS = st.lists(
    st.tuples(st.sampled_from(["so", "eyes", "left.", "brachioradialis,", "plus", "x" * 60]), st.floats(0, 3)),
    max_size=60,
)


@given(WORDS)
def test_every_word_is_in_one_caption_that_can_be_shown(parts: list[tuple[str, float]]) -> None:
    """All words stand in captions in their order; none overlap; lines and seconds are kept but for lone long words."""
    at, words = 0.0, []
    for text, pause in parts:
        words.append(Word(text, at + pause, at + pause + 0.4, 0.9))
        at += pause + 0.4
    runs = cut_words(tuple(words))
    assert [word for run in runs for word in run] == words
    found = captions_of(tuple(words), (), END_S)
    assert all(first.interval.offset_s <= then.interval.onset_s for first, then in pairwise(found))
    for one in found:
        lines = lines_of(one.text)
        assert " ".join(lines) == one.text
        if len(one.words) > 1:
            assert len(lines) <= LINES
            assert max(map(len, lines)) <= LINE_CHARACTERS
            assert one.interval.offset_s - one.interval.onset_s <= LONGEST_S + 0.001


def test_a_correction_stands_in_the_place_of_what_was_heard() -> None:
    """Words whose middle lies in its seconds are left out, the others stay; an empty one is told but says nothing."""
    text = "Rum bird negative. / Next step."
    assert shown(text, correction(1.0, 1.9, "Romberg negative.")) == [
        (1.0, 1.9, "Romberg negative."),
        (3.9, 4.9, "Next step."),
    ]
    left_out = captions_of(heard(text), [correction(1.0, 1.9, "")], END_S)
    assert [(one.text, len(one.words)) for one in left_out] == [("", 3), ("Next step.", 2)]
    part = shown(text, correction(1.0, 1.5, "Romberg"))
    assert [one for *_, one in part] == ["Romberg", "negative.", "Next step."]


def test_a_correction_outlives_listening_anew() -> None:
    """Other words at other times are left out by the same rule; all words beside it stay."""
    again = heard("Rome / burg negative indeed. Next", onset_s=1.1)
    kept = correction(1.0, 4.1, "Romberg negative.")
    found = captions_of(again, [kept], END_S)
    assert [one.text for one in found] == ["Romberg negative.", "indeed. Next"]
    assert [word.text for word in found[0].words] == ["Rome", "burg", "negative"]


def test_what_was_heard_stands_again() -> None:
    """The revision that takes a correction back is the next one, by whoever did that."""
    again = as_heard_again(correction(1.0, 2.0, "x"), "p2", WHEN)
    assert (again.revision, again.removed, again.person_id, again.text) == (2, True, "p2", "x")
    assert captions_of((), (), END_S) == ()
    assert Caption(Interval(0, 1), "x").correction is None


@pytest.mark.parametrize("text", ["x" * 43, "one two " * 20, "a " + "x" * 50])
def test_text_that_no_two_lines_hold_is_not_lost(text: str) -> None:
    """More lines, or a longer one, rather than words left out."""
    assert " ".join(lines_of(text)) == text.strip()
