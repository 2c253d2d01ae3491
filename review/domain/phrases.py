"""Phrases that are listened for: what an author writes, and the runs of words that it stands for.

Plain words, and four signs:

- ``[is]`` may be left out;
- ``(smile | grin)`` is any one of these;
- ``{side}``, ``{grade}``, ``{number}`` stand for a side, a reflex grade from 0 to 4 or a number, whichever is said;
- ``{grade: 2}``, ``{number: 20}``, ``{side: left}`` stand for that one alone: another one heard is another value.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import product
from typing import Final

LEAST_LETTERS: Final = 8
"""Fewer letters than this are found everywhere in talk."""

LONE_LETTERS: Final = 11
"""A single word needs so many."""

MOST_RUNS: Final = 24
"""A phrase that stands for more runs of words than this was not meant so."""

SLOTS: Final = ("side", "grade", "number")

_PART = re.compile(r"\[[^\[\](){}]*\]|\([^\[\](){}]*\)|\{[^\[\](){}]*\}|[^\[\](){}]+")
_SIGNS = set("[](){}|")


@dataclass(frozen=True, slots=True)
class Slot:
    """A place in a phrase for a side, a grade or a number; `expected` is the only one that states the finding."""

    kind: str
    expected: str | None = None


Run = tuple[str | Slot, ...]
"""Words and slots, one after the other."""


def runs(phrase: str) -> tuple[Run, ...]:
    """Return the runs of words that a phrase stands for.

    Raises
    ------
    ValueError
        With a sentence that says what is wrong with the phrase.

    Examples
    --------
    >>> runs("romberg [is] negative")
    (('romberg', 'is', 'negative'), ('romberg', 'negative'))
    >>> runs("biceps {grade: 2} plus")
    (('biceps', Slot(kind='grade', expected='2'), 'plus'),)
    """
    parts = _PART.findall(phrase)
    if "".join(parts) != phrase:
        raise ValueError(f"a bracket of {phrase!r} has no partner, or stands inside of another; close each one")
    found = tuple(dict.fromkeys(_joined(chosen) for chosen in product(*map(_choices, parts))))
    if len(found) > MOST_RUNS:
        raise ValueError(
            f"{phrase!r} stands for {len(found)} phrases; expected up to {MOST_RUNS}. Write several phrases"
        )
    short = [run for run in found if too_short(run)]
    if short:
        words = " ".join(word if isinstance(word, str) else "..." for word in short[0])
        raise ValueError(
            f"{words!r} is too short to be told from other talk; expected two words with {LEAST_LETTERS} letters in "
            f"all, or one of {LONE_LETTERS}. Write more of what is said"
        )
    return found


def too_short(run: Run) -> bool:
    """Tell whether a run of words is so short that it would be found everywhere."""
    words = [re.sub(r"[^a-z]", "", word.lower()) for word in run if isinstance(word, str)]
    letters = sum(map(len, words))
    return letters < LEAST_LETTERS or (len(run) < 2 and letters < LONE_LETTERS)


def _choices(part: str) -> list[tuple[str | Slot, ...]]:
    if part[0] == "[":
        return [_words(part[1:-1]), ()]
    if part[0] == "(":
        return [_words(choice) for choice in part[1:-1].split("|")]
    if part[0] == "{":
        return [(_slot(part[1:-1]),)]
    return [_words(part)]


def _words(text: str) -> tuple[str | Slot, ...]:
    if "|" in text:
        raise ValueError(f"{text.strip()!r} holds a bar outside of round brackets; write (this | that)")
    return tuple(text.split())


def _slot(text: str) -> Slot:
    kind, _, expected = (part.strip() for part in text.partition(":"))
    if kind not in SLOTS:
        raise ValueError(f"{{{text}}} is no slot; expected " + ", ".join(f"{{{name}}}" for name in SLOTS))
    fits = {"side": r"left|right", "grade": r"[0-4]\+?", "number": r"\d{1,4}"}[kind]
    if expected and not re.fullmatch(fits, expected):
        raise ValueError(f"{{{text}}} expects {expected!r}; expected " + _KNOWN[kind])
    return Slot(kind, expected.rstrip("+") or None)


_KNOWN: Final = {"side": "left or right", "grade": "0, 1, 2, 3 or 4", "number": "a whole number up to 9999"}


def _joined(parts: tuple[tuple[str | Slot, ...], ...]) -> Run:
    return tuple(word for part in parts for word in part)
