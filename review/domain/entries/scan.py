"""The text of an entry, taken apart piece by piece; every fault is noted and reading goes on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Final, TypeVar

from review.domain.model import Side

NUMBER: Final = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)"
"""Pattern of a number after `Scan` has put the text in order."""

MOST_CHARACTERS: Final = 200
"""Length above which a text is not taken for an entry."""

_SIGNS: Final = str.maketrans({"\u2212": "-", "\u2013": "-", "\u2010": "-", "\u2011": "-", "\u00a0": " "})
_TAKEN: Final = " ; "
_BETWEEN: Final = " ;,.:\n\t"

Meaning = TypeVar("Meaning")


class Scan:
    """What is left of a text, and what was found wrong with it.

    Letters are made small, the signs for minus one sign, and a comma between digits a point. A piece that is taken is
    gone from `rest`.

    Parameters
    ----------
    text
        As entered.
    side
        The side of the step that the entry belongs to; None for a step without sides.
    """

    def __init__(self, text: str, side: Side | None) -> None:
        plain = re.sub(r"(?<=\d),(?=\d)", ".", text.translate(_SIGNS).lower())
        self.rest = " ".join(plain.split())
        self.side = side
        self.faults: list[str] = []
        if not self.rest:
            self.faults.append("The entry is empty.")
        elif len(self.rest) > MOST_CHARACTERS:
            self.faults.append(f"The entry has {len(self.rest)} characters; expected at most {MOST_CHARACTERS}.")
            self.rest = ""

    def fault(self, text: str) -> None:
        """Note a fault, once."""
        if text not in self.faults:
            self.faults.append(text)

    def take(self, pattern: str) -> list[re.Match[str]]:
        """Take every piece that fits the pattern, in order."""
        found = list(re.finditer(pattern, self.rest))
        self.rest = re.sub(pattern, _TAKEN, self.rest)
        return found

    def one(self, pattern: str, noun: str) -> re.Match[str] | None:
        """Take the one piece that fits; note a fault if several do."""
        found = self.take(pattern)
        if len(found) > 1:
            listed = " and ".join(match.group().strip() for match in found)
            self.fault(f"{listed} came; expected one {noun}.")
        return found[0] if found else None

    def word(self, words: Mapping[str, Meaning], noun: str) -> Meaning | None:
        """Take the words that have a meaning, longer ones first; note a fault if they mean different things."""
        phrases = sorted(words, key=len, reverse=True)
        pattern = "|".join(re.escape(phrase).replace(r"\ ", r"\s*") for phrase in phrases)
        found = [match.group() for match in self.take(rf"(?<![\w]){_group(pattern)}(?![\w])")]
        meanings = {words[_same(phrase, phrases)]: phrase for phrase in found}
        if len(meanings) > 1:
            self.fault(f"{' and '.join(meanings.values())} came; expected one {noun}.")
        return next(iter(meanings), None)

    def place(self, noun: str, words: Mapping[str, str]) -> str | None:
        """Take the word for the side, if there is one, and return the side the entry is about.

        A word that contradicts the step's own side is a fault, and so is none at all on a step without sides.
        """
        said = self.word(words, noun)
        if self.side is not None and said not in (None, self.side):
            self.fault(f"{said} came on the step's {self.side} side; enter it there, or leave the word out.")
        if self.side is None and said is None:
            self.fault(f"Which {noun} it was is missing; expected {_or(dict.fromkeys(words.values()))}.")
        return self.side or said

    def end(self) -> None:
        """Note what nobody took."""
        left = [piece.strip(_BETWEEN) for piece in self.rest.split(";")]
        for piece in filter(None, left):
            self.fault(f"{piece!r} was not understood.")


def _group(pattern: str) -> str:
    return f"(?:{pattern})"


def _same(found: str, phrases: Iterable[str]) -> str:
    """Return the phrase that was found, whatever blanks it came with."""
    bare = found.replace(" ", "")
    return next(phrase for phrase in phrases if phrase.replace(" ", "") == bare)


def _or(words: Iterable[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last
