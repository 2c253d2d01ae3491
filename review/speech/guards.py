"""What a recogniser writes down that nobody said: sentences made up out of noise, words it cannot get away from."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from review.domain.transcript import Word

MADE_UP: Final = frozenset(
    {
        "thank you",
        "thank you very much",
        "thanks for watching",
        "thank you for watching",
        "thank you so much for watching",
        "please subscribe",
        "subscribe",
        "like and subscribe",
        "see you next time",
        "see you in the next video",
        "bye",
        "bye bye",
        "you",
        "so",
        "oh",
        "hmm",
        "the end",
        "music",
        "applause",
        "silence",
    }
)
"""What Whisper models are known to write over silence, noise and music; kept as a whole passage only when sure."""

MOST_SILENT: Final = 0.6
"""A passage that is silence with a higher probability than this is kept only when its words are likely."""

LEAST_LIKELY: Final = -1.0
"""Mean log probability of a passage's pieces, below which it counts as guessed."""

MOST_ALIKE: Final = 2.4
"""Ratio of a passage's length to its compressed length, above which it repeats itself."""

LEAST_SURE: Final = 0.15
"""Mean confidence of a passage's words, below which it is not kept."""

SURE_OF_IT: Final = 0.6
"""Mean confidence from which a sentence that models make up is taken to have been said."""

MOST_REPEATS: Final = 3

_FASTEST_S: Final = 0.045
"""Seconds a letter below which nobody speaks."""


@dataclass(frozen=True, slots=True)
class Passage:
    """A run of words as the recogniser gave it.

    Attributes
    ----------
    words
        The words.
    silent
        Probability that nobody spoke.
    likely
        Mean log probability of its pieces.
    alike
        Length of its text over the length of the text compressed.
    """

    words: tuple[Word, ...]
    silent: float
    likely: float
    alike: float


def believed(passages: Iterable[Passage], speech: Sequence[tuple[float, float]]) -> Iterator[Word]:
    """Yield the words of passages that somebody may have said.

    Parameters
    ----------
    passages
        As the recogniser gave them.
    speech
        Onset and offset of the stretches that hold speech, seconds; words wholly outside are dropped.
    """
    for passage in passages:
        if _guessed(passage):
            continue
        for word in _unrepeated(passage.words):
            if any(onset < word.offset_s and word.onset_s < offset for onset, offset in speech):
                yield word


def _guessed(passage: Passage) -> bool:
    words = passage.words
    if not words or not plain(passage):
        return True
    sure = sum(word.confidence for word in words) / len(words)
    if passage.silent > MOST_SILENT and passage.likely < LEAST_LIKELY / 2:
        return True
    if passage.likely < LEAST_LIKELY or passage.alike > MOST_ALIKE or sure < LEAST_SURE:
        return True
    return (plain(passage) in MADE_UP and sure < SURE_OF_IT) or _too_fast(passage)


def _too_fast(passage: Passage) -> bool:
    letters = len(plain(passage))
    return letters > 12 and passage.words[-1].offset_s - passage.words[0].onset_s < letters * _FASTEST_S / 3


def plain(passage: Passage) -> str:
    """Return the text of a passage in small letters without punctuation; empty for notes such as "[music]"."""
    text = " ".join(word.text for word in passage.words)
    text = re.sub(r"\[[^\]]*\]|\([^)]*\)|\u266a", " ", text)
    return " ".join(re.findall(r"[a-z0-9']+", text.lower()))


def _unrepeated(words: Sequence[Word]) -> Iterator[Word]:
    """Yield words, but of one that comes many times in a row only the first few."""
    for _, run in groupby(words, key=lambda word: word.text.strip(" ,.!?").lower()):
        yield from list(run)[:MOST_REPEATS]
