"""Sets of numbers and letters in words that were heard, and whether both ears were given the same."""

from __future__ import annotations

import pytest

from review.domain.transcript import Word
from review.measures.ear_sets import LEAST_SURE, ear_sets, sets_in


def words(text: str, confidence: float = 0.9, step_s: float = 0.6) -> list[Word]:
    """Return words that follow each other; "|" is a long pause."""
    found, at_s = [], 1.0
    for part in text.split():
        if part == "|":
            at_s += 4.0
            continue
        found.append(Word(part, at_s, at_s + 0.4, confidence))
        at_s += step_s
    return found


@pytest.mark.parametrize(
    ("text", "sets"),
    [
        ("four K two.", ["4 K 2"]),
        ("4-K-2.", ["4 K 2"]),
        ("4K 2", ["4 K 2"]),
        ("four, k, two. | 4, K, 2", ["4 K 2", "4 K 2"]),
        ("seven b nine seven b nine", ["7 B 9", "7 B 9"]),
        ("repeat for me four K two", ["4 K 2"]),
        ("four kay two", ["4 K 2"]),
        ("three out of three on the right", []),
        ("four K", []),
        ("four K | two", []),
        ("for the M6, for the M6.", []),
        ("seven be nine", ["7 B 9"]),
        ("to be for", []),
        ("you see a light", []),
        ("four K two five", []),
    ],
)
def test_sets_are_three_characters_in_a_row(text: str, sets: list[str]) -> None:
    """However they are written down; other talk, halves of sets and small words hold none."""
    assert [one.text for one in sets_in(words(text))] == sets


@pytest.mark.parametrize(
    ("right", "left", "verdict"),
    [
        ("four k two", "seven b nine", "different"),
        ("four k two", "4 K 2", "same"),
        ("four k two | three m six", "seven b nine | three m six", "same"),
        ("four k two", "four j two", "unclear"),
        ("three m six", "three n six", "unclear"),
        ("four kay two", "four k two", "unclear"),
        ("three m six", "m six four", "unclear"),
        ("four k two", "cover your ear", "unclear"),
        ("now repeat", "so", "unclear"),
    ],
    ids=["new", "old", "second set old", "rhymes", "m and n", "guessed", "cut", "one ear", "none"],
)
def test_both_ears(right: str, left: str, verdict: str) -> None:
    """The same only when surely so, different only when no mishearing makes them alike, and alike either way round."""
    assert ear_sets(words(right), words(left)).verdict == verdict
    assert ear_sets(words(left), words(right)).verdict == verdict


def test_words_that_were_hardly_heard_never_make_two_sets_the_same() -> None:
    """What the recogniser was unsure of stays unsure."""
    unsure = words("four k two", LEAST_SURE - 0.1)
    assert ear_sets(unsure, words("four k two")).verdict == "unclear"
    assert ear_sets(unsure, words("seven b nine")).verdict == "different"


def test_each_set_is_told_once_in_order() -> None:
    """Whisper and answer are the same set."""
    found = ear_sets(words("four k two | four k two | seven b nine"), words("three m six"))
    assert (found.right, found.left) == (("4 K 2", "7 B 9"), ("3 M 6",))
