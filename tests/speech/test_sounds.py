"""Words, spellings and sounds."""

from __future__ import annotations

import numpy as np
import pytest

from review.domain.transcript import Word
from review.speech.pronunciation import MOST_WAYS, by_rule, ways
from review.speech.sounds import PAUSE, aligned, changed, codes, ends
from review.speech.spelling import number_words, spoken_words, tokens


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2+", "two plus"),
        ("2+,", "two plus"),
        ("CN", "c n"),
        ("12-ounce", "twelve ounce"),
        ("20", "twenty"),
        ("45", "forty five"),
        ("7th", "seventh"),
        ("Romberg's", "romberg's"),
        ("4", "four"),
        ("%", "percent"),
        ("...", ""),
    ],
)
def test_written_words_as_they_are_said(text: str, said: str) -> None:
    """Numbers, signs and hyphens become words."""
    assert " ".join(spoken_words(text)) == said


def test_roman_numerals_are_numbers_after_a_nerve_only() -> None:
    """Everywhere else a single i is a word."""
    heard = tokens([Word(text, 0, 1, 1) for text in ("nerve", "VII.", "I", "see", "CN", "ii")])
    assert [token.text for token in heard] == ["nerve", "seven", "i", "see", "c", "n", "two"]


def test_a_word_that_is_said_as_several_shares_its_time() -> None:
    """A written 2+. from 1 s to 2 s is "two" and "plus" of half a second each, and ends a clause."""
    two, plus = tokens([Word("2+.", 1.0, 2.0, 0.9)])
    assert (two.onset_s, two.offset_s, plus.offset_s) == (1.0, 1.5, 2.0)
    assert (two.ends, plus.ends) == (False, True)


def test_numbers_up_to_ninety_nine_are_said_as_numbers() -> None:
    """Greater ones digit by digit."""
    assert [" ".join(number_words(number)) for number in (0, 19, 21, 100)] == [
        *("zero", "nineteen", "twenty one", "one zero zero")
    ]


def test_words_come_by_hand_by_dictionary_or_by_rule() -> None:
    """Trade words by hand, common ones by the dictionary, the rest by spelling; never more ways than are tried."""
    assert ways("uvula") == (("Y", "UW", "V", "Y", "AH", "L", "AH"),)
    assert ("T", "UW") in ways("two")
    assert ways("xqzt")[0] == by_rule("xqzt")
    assert all(1 <= len(ways(word)) <= MOST_WAYS for word in ("a", "the", "wh", "psth", "co-operate", "'"))


def test_alike_sounds_cost_little() -> None:
    """The same costs nothing, an alike one less than another, and nothing goes over a pause."""
    table = changed()
    p, b, s = codes(["P", "B", "S"])
    assert table[p, p] == 0 < table[p, b] < table[p, s] < table[p, PAUSE]
    assert np.array_equal(table, table.T)


def test_the_cost_of_ends_is_that_of_the_alignment() -> None:
    """Both ways of counting agree wherever a pattern ends, on random sounds."""
    rng = np.random.default_rng(5)
    heard, patterns = rng.integers(0, PAUSE + 1, 60), rng.integers(0, PAUSE, (8, 7))
    costs = ends(patterns, heard)
    for pattern, row in zip(patterns, costs, strict=True):
        for end in (20, 41, 59):
            _, of_sounds, places = aligned(pattern.tolist(), heard, end)
            assert sum(of_sounds) == pytest.approx(row[end], abs=1e-4)
            assert [place for place in places if place >= 0] == sorted(place for place in places if place >= 0)
