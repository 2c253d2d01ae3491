"""Words that were not heard as they are, but sound like a word of the sheet: "payler" may have been "patellar"."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Final

import numpy as np

from review.speech.pronunciation import ways
from review.speech.sounds import Codes, aligned, codes, ends

LEAST: Final = 0.5
"""How alike two words must sound, 0 to 1."""

_BARE: Final = 0.62
_SOUNDS: Final = 5
_SHORTER: Final = 0.6
_LONGER: Final = 1.5


@lru_cache(maxsize=4096)
def _sounds(word: str) -> tuple[int, ...]:
    return tuple(codes(ways(word)[0]))


def alike(heard: Iterable[str], known: Collection[str]) -> Mapping[str, Mapping[str, float]]:
    """Return for each word heard the words known that it sounds like, and how much.

    Words that are known themselves, and those of fewer than five sounds, sound like no other.

    Parameters
    ----------
    heard
        Spoken words, small letters.
    known
        Words to be found.

    Examples
    --------
    >>> found = alike(["romburg", "negative"], ["romberg", "negative", "nystagmus"])
    >>> {word: list(others) for word, others in found.items()}
    {'romburg': ['romberg']}
    """
    by_length: dict[int, list[str]] = {}
    for word in sorted(known):
        by_length.setdefault(len(_sounds(word)), []).append(word)
    found = {word: dict(_like(word, by_length)) for word in sorted(set(heard) - set(known))}
    return {word: others for word, others in found.items() if others}


def _like(word: str, by_length: Mapping[int, list[str]]) -> Iterator[tuple[str, float]]:
    sounds = _sounds(word)
    if len(sounds) < _SOUNDS:
        return
    heard: Codes = np.array(sounds, np.intp)
    for length, words in by_length.items():
        if length < _SOUNDS or not _SHORTER <= len(sounds) / length <= _LONGER:
            continue
        costs = ends(np.array([_sounds(one) for one in words], np.intp), heard)[:, -1]
        for one, cost in zip(words, costs.tolist(), strict=True):
            if 1 - cost / (length * _BARE) >= LEAST:
                score = 1 - _whole(_sounds(one), heard) / (length * _BARE)
                if score >= LEAST:
                    yield one, round(score, 3)


def _whole(pattern: tuple[int, ...], heard: Codes) -> float:
    """Return what it costs to take all that was heard for a word; sounds left over before it cost as added ones."""
    start, costs, _ = aligned(pattern, heard, len(heard) - 1)
    return sum(costs) + 0.55 * start
