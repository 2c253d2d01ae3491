"""What was heard of the sets that both ears were whispered, in words for the Review page."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from review.domain.model import Interval
from review.domain.transcript import Transcript, Word
from review.measures.ear_sets import EarSets, ear_sets

ENTRY: Final = "whisper"
"""Steps with this kind of entry are whispered tests."""

_SIGNS: Final = {"different": "different sets", "same": "same set", "unclear": "sets unclear"}


def ear_sets_json(words: Transcript, right: Interval, left: Interval) -> dict[str, str]:
    """Return whether both ears were given different sets, with what was heard, as plain JSON values.

    Parameters
    ----------
    words
        Those of the film.
    right, left
        The seconds in which the step was done on either side.
    """
    found = ear_sets(_within(words, right), _within(words, left))
    return {"verdict": found.verdict, "sign": _SIGNS[found.verdict], "words": ear_sets_words(found)}


def ear_sets_words(found: EarSets) -> str:
    """Say which sets were heard.

    Examples
    --------
    >>> ear_sets_words(EarSets("different", ("4 K 2",), ("7 B 9", "3 M 6")))
    'heard for the right ear: 4 K 2; for the left ear: 7 B 9, 3 M 6'
    """
    told = {"right": found.right, "left": found.left}
    return "heard " + "; ".join(f"for the {ear} ear: {', '.join(sets) or 'no set'}" for ear, sets in told.items())


def _within(words: Iterable[Word], seconds: Interval) -> list[Word]:
    return [word for word in words if seconds.holds((word.onset_s + word.offset_s) / 2)]
