"""What was said in a film, word by word."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Word:
    """A word that was heard.

    Attributes
    ----------
    text
        As it was written down, with the punctuation that follows it.
    onset_s, offset_s
        When it was said, seconds on the clock of the film.
    confidence
        How sure the recogniser was of it, 0 to 1.
    """

    text: str
    onset_s: float
    offset_s: float
    confidence: float


Transcript = tuple[Word, ...]
"""The words of a film, in the order in which they were said."""


def said(words: Iterable[Word]) -> str:
    """Return words as one line of text.

    Examples
    --------
    >>> said([Word("Romberg", 1.0, 1.4, 0.9), Word("negative.", 1.4, 1.9, 0.8)])
    'Romberg negative.'
    """
    return " ".join(word.text for word in words)


@dataclass(frozen=True, slots=True)
class Listening:
    """Whether a home keeps what is said in its films, and the folder of another voice model than the installed one."""

    on: bool = True
    model: str = ""
