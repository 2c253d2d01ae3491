"""How far a run of sounds is from what was heard: an edit distance in which alike sounds cost little."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

Numbers = npt.NDArray[np.float32]
Codes = npt.NDArray[np.intp]

_VOWELS: Final = tuple("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())  # noqa: SIM905 - reads better
_CONSONANTS: Final = tuple("B CH D DH F G HH JH K L M N NG P R S SH T TH V W Y Z ZH".split())  # noqa: SIM905
_ALIKE: Final = tuple(
    frozenset(group.split())
    for group in (
        *("P B", "T D", "K G", "S Z", "F V", "M N NG", "TH DH F", "CH SH JH ZH", "L R W", "T K", "S TH", "D DH", "N L"),
        *("IH IY EH AH", "AH UH AA AO AE", "EH AE EY", "UW UH OW", "AO OW AA", "ER AO AH", "AY AE AA", "AW AA OW"),
    )
)
_CODE: Final = {sound: place for place, sound in enumerate((*_VOWELS, *_CONSONANTS))}

PAUSE: Final = len(_CODE)
"""Code of a pause, over which no phrase goes."""

ADDED: Final = np.float32(0.55)
"""Cost of a sound that was heard and is not in the phrase."""

_ACROSS: Final = np.float32(3.0)


def codes(sounds: Sequence[str]) -> list[int]:
    """Return the codes of sounds."""
    return [_CODE[sound] for sound in sounds]


@lru_cache(maxsize=1)
def changed() -> Numbers:
    """Return the cost of each sound heard in the place of each, shape ``(sound, sound)``, the pause last."""
    table = np.full((PAUSE + 1, PAUSE + 1), _ACROSS, np.float32)
    for one, place in _CODE.items():
        for other, column in _CODE.items():
            table[place, column] = _distance(one, other)
    return table


def _distance(one: str, other: str) -> float:
    if one == other:
        return 0.0
    alike = any(one in group and other in group for group in _ALIKE)
    if one in _VOWELS and other in _VOWELS:
        return 0.3 if alike else 0.55
    if one in _VOWELS or other in _VOWELS:
        return 1.1
    return 0.35 if alike else 0.9


@lru_cache(maxsize=1)
def left_out() -> Numbers:
    """Return the cost of each sound that is in the phrase and was not heard, shape ``(sound,)``, the pause last."""
    weak = ("AH", "IH", "HH")
    costs = [0.45 if sound in weak else 0.6 if sound in _VOWELS else 0.75 for sound in _CODE]
    return np.array([*costs, _ACROSS], np.float32)


def cost(one: Sequence[int], other: Sequence[int]) -> float:
    """Return what it costs that a word was heard as another one, from end to end."""
    return float(ends(np.array([one], np.intp), np.array(other, np.intp), from_start=True)[0, -1])


def ends(patterns: Codes, heard: Codes, from_start: bool = False) -> Numbers:
    """Return what it costs each pattern to end at each sound heard.

    Parameters
    ----------
    patterns
        Patterns of one length, shape ``(pattern, sound)``.
    heard
        Shape ``(heard,)``.
    from_start
        Whether all that was heard up to there is heard for the pattern; else it may begin anywhere.

    Returns
    -------
    ndarray of float
        Shape ``(pattern, heard)``.
    """
    table, missing = changed(), left_out()
    added = np.concatenate([[0.0], np.cumsum(np.where(heard == PAUSE, _ACROSS, ADDED))]).astype(np.float32)
    costs = np.tile(added * np.float32(from_start), (len(patterns), 1))
    for place in range(patterns.shape[1]):
        sound = patterns[:, place]
        gone = missing[sound][:, None]
        kept = np.concatenate([costs[:, :1] + gone, costs[:, :-1] + table[sound][:, heard]], axis=1)
        np.minimum(kept, costs + gone, out=kept)
        costs = np.minimum.accumulate(kept - added, axis=1) + added
    return costs[:, 1:]


def aligned(pattern: Sequence[int], heard: Codes, end: int) -> tuple[int, list[float], list[int]]:
    """Follow a pattern back from where it ends.

    Returns
    -------
    start
        Index of the first sound heard of it.
    costs
        Cost at each of the pattern's sounds; added sounds count for the one before them.
    places
        Index of the sound heard for each, -1 where it was left out.
    """
    first = max(0, end + 1 - 2 * len(pattern) - 6)
    window = heard[first : end + 1]
    came = _steps(pattern, window)
    costs, places = [0.0] * len(pattern), [-1] * len(pattern)
    row, column = len(pattern), len(window)
    while row > 0:
        step = came[row, column]
        if step == 0:
            costs[row - 1] += float(changed()[pattern[row - 1], window[column - 1]])
            places[row - 1] = first + column - 1
            row, column = row - 1, column - 1
        elif step == 1:
            costs[row - 1] += float(left_out()[pattern[row - 1]])
            row -= 1
        else:
            costs[row - 1] += float(_ACROSS if window[column - 1] == PAUSE else ADDED)
            column -= 1
    return first + column, costs, places


def _steps(pattern: Sequence[int], window: Codes) -> npt.NDArray[np.int8]:
    """Return by which step each cell is reached most cheaply: 0 both, 1 the pattern alone, 2 what was heard alone."""
    table, missing = changed().tolist(), left_out().tolist()
    added = [float(_ACROSS if sound == PAUSE else ADDED) for sound in window]
    before = [0.0] * (len(window) + 1)
    came = np.zeros((len(pattern) + 1, len(window) + 1), np.int8)
    for row, sound in enumerate(pattern, 1):
        here = [before[0] + missing[sound]]
        came[row, 0] = 1
        for column, other in enumerate(window.tolist(), 1):
            options = (
                before[column - 1] + table[sound][other],
                before[column] + missing[sound],
                here[column - 1] + added[column - 1],
            )
            best = min(range(3), key=options.__getitem__)
            here.append(options[best])
            came[row, column] = best
        before = here
    return came
