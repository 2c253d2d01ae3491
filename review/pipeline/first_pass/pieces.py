"""Talk cut at its pauses into pieces: the smallest things of which the stretch of a step can be made."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from review.domain.transcript import Word
from review.speech.spelling import Token, tokens

PAUSE_S: Final = 0.22
"""A pause from which on a new piece begins, seconds."""

_CLAUSE_S: Final = 0.1
"""A pause that is enough where a clause ends."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Something said without a pause.

    Attributes
    ----------
    onset_s, offset_s
        From its first word to its last.
    tokens
        Its spoken words.
    """

    onset_s: float
    offset_s: float
    tokens: tuple[Token, ...]

    @property
    def text(self) -> str:
        """What was said, in small letters."""
        return " ".join(token.text for token in self.tokens)


def pieces(words: Iterable[Word]) -> tuple[Piece, ...]:
    """Cut a transcript at its pauses.

    Examples
    --------
    >>> said = [Word("Next,", 1.0, 1.4, 0.9), Word("biceps.", 1.4, 1.9, 0.8), Word("Relax.", 2.4, 2.9, 0.8)]
    >>> [piece.text for piece in pieces(said)]
    ['next biceps', 'relax']
    """
    found: list[list[Token]] = []
    for token in tokens(words):
        last = found[-1][-1] if found else None
        if last is None or token.onset_s - last.offset_s >= (_CLAUSE_S if last.ends else PAUSE_S):
            found.append([])
        found[-1].append(token)
    return tuple(Piece(said[0].onset_s, max(said[-1].offset_s, said[0].onset_s), tuple(said)) for said in found)
