"""Captions of what is said in a film: cut out of what was heard, and corrected by people.

References
----------
TED Translators, "TED Translators Cheat-sheet" (translations.ted.com, revision of 7 November 2016): 1 to 7 s, at most
two lines of 42 characters, at most 21 characters a second, one sentence not torn from the next without need.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import accumulate, pairwise
from typing import Final

from review.domain.model import Interval
from review.domain.transcript import Transcript, Word, said

LINE_CHARACTERS: Final = 42
LINES: Final = 2
SHORTEST_S: Final = 1.0
LONGEST_S: Final = 7.0
READING_RATE: Final = 21.0
"""Characters a second at which a caption can be read; it stays that long where nothing else is said meanwhile."""

PAUSE_S: Final = 1.0
"""Silence that always parts two captions (common practice, no source)."""

NEAR_S: Final = 0.35
"""Silence up to which two short sentences share a caption (common practice, no source)."""

UNSURE: Final = 0.5
"""Confidence below which a word is shown as unsure (common practice, no source)."""

_ENDS: Final = (".", "?", "!")
_HALVES: Final = (",", ";", ":")


@dataclass(frozen=True, slots=True)
class Correction:
    """What a person wrote in the place of what was heard in a stretch of a film, one revision of it.

    Parameters
    ----------
    id, revision
        Which, and the how many-eth time it was changed, from 1.
    recording_id
        Of which film.
    interval
        Where it is shown; what was heard within counts no more.
    text
        What is said there; empty where nothing is.
    person_id, at
        Who wrote it and when.
    removed
        Whether what was heard stands again.
    """

    id: str
    recording_id: str
    interval: Interval
    text: str
    person_id: str
    at: datetime
    revision: int = 1
    removed: bool = False


@dataclass(frozen=True, slots=True)
class Caption:
    """A caption: when it is shown, its text, the words it was heard as, and who corrected it, if anybody did."""

    interval: Interval
    text: str
    words: Transcript = ()
    correction: Correction | None = None


def captions_of(words: Transcript, corrections: Iterable[Correction], end_s: float) -> tuple[Caption, ...]:
    """Return the captions of a film by their onset, those that were corrected to nothing too.

    Parameters
    ----------
    words
        What was heard.
    corrections
        What people wrote instead; a heard word whose middle lies in one of them is left out.
    end_s
        Where the film ends, seconds.
    """
    written = tuple(corrections)
    taken = [one.interval for one in written]
    runs = [run for cut in cut_words(words) for run in _outside(cut, taken)]
    held = sorted([run[0].onset_s for run in runs] + [one.onset_s for one in taken])
    found = [Caption(_shown(run, held, end_s), said(run), run) for run in runs]
    found += [Caption(one.interval, one.text, _within(words, one.interval), one) for one in written]
    return tuple(sorted(found, key=lambda one: (one.interval.onset_s, one.interval.offset_s)))


def _within(words: Transcript, interval: Interval) -> Transcript:
    return tuple(word for word in words if interval.onset_s <= _middle(word) <= interval.offset_s)


def _middle(word: Word) -> float:
    return (word.onset_s + word.offset_s) / 2


def _outside(run: Transcript, taken: Sequence[Interval]) -> Iterator[Transcript]:
    """Yield the stretches of a run of words that nobody wrote anything instead of."""
    kept: list[Word] = []
    for word in run:
        if any(one.onset_s <= _middle(word) <= one.offset_s for one in taken):
            if kept:
                yield tuple(kept)
            kept = []
        else:
            kept.append(word)
    if kept:
        yield tuple(kept)


def _shown(run: Transcript, held: Sequence[float], end_s: float) -> Interval:
    """Return when words are shown: as long as they take to read, no longer than until the next caption."""
    onset_s = min(run[0].onset_s, end_s)
    spoken_s = min(run[-1].offset_s, onset_s + LONGEST_S)
    enough_s = onset_s + max(SHORTEST_S, min(LONGEST_S, len(said(run)) / READING_RATE))
    at = bisect_right(held, onset_s)
    following = held[at] if at < len(held) else end_s
    offset_s = min(max(spoken_s, enough_s), following, end_s)
    return Interval(round(onset_s, 3), round(max(offset_s, onset_s), 3))


def cut_words(words: Transcript) -> list[Transcript]:
    """Cut what was heard into runs for one caption each: at pauses and ends of sentences, and within long ones."""
    pieces = [piece for sentence in _sentences(words) for piece in _split(sentence)]
    joined: list[Transcript] = []
    for piece in pieces:
        last = joined[-1] if joined else ()
        if last and piece[0].onset_s - last[-1].offset_s <= NEAR_S and _ends(last) and _fits((*last, *piece)):
            joined[-1] = (*last, *piece)
        else:
            joined.append(piece)
    return joined


def _ends(run: Transcript) -> bool:
    return run[-1].text.rstrip("\"')").endswith(_ENDS)


def _sentences(words: Transcript) -> Iterator[Transcript]:
    begun = 0
    for at, (word, following) in enumerate(pairwise(words), 1):
        if _ends((word,)) or following.onset_s - word.offset_s >= PAUSE_S:
            yield words[begun:at]
            begun = at
    if words[begun:]:
        yield words[begun:]


def _fits(run: Transcript) -> bool:
    """Tell whether words fit into the lines and the seconds of one caption."""
    text = said(run)
    if run[-1].offset_s - run[0].onset_s > LONGEST_S or len(text) > LINES * (LINE_CHARACTERS + 1):
        return False
    lines = lines_of(text)
    return len(lines) <= LINES and all(len(line) <= LINE_CHARACTERS for line in lines)


def _split(run: Transcript) -> list[Transcript]:
    """Cut a run until each piece fits: where it halts most, near its middle."""
    if len(run) < 2 or _fits(run):
        return [run]
    lengths = list(accumulate(len(word.text) + 1 for word in run))

    def worth(at: int) -> float:
        halt_s = min(PAUSE_S, max(0.0, run[at].onset_s - run[at - 1].offset_s))
        comma = 0.5 if run[at - 1].text.endswith(_HALVES) else 0.0
        return halt_s + comma - 2 * abs(lengths[at - 1] / lengths[-1] - 0.5)

    at = max(range(1, len(run)), key=worth)
    return [*_split(run[:at]), *_split(run[at:])]


def lines_of(text: str) -> list[str]:
    """Return a text in lines of at most `LINE_CHARACTERS`; two lines are as even as they can be.

    Examples
    --------
    >>> lines_of("Look up.")
    ['Look up.']
    >>> lines_of("Stand with your feet together and your arms at your sides.")
    ['Stand with your feet together', 'and your arms at your sides.']
    """
    parts = text.split()
    plain = " ".join(parts)
    if len(plain) <= LINE_CHARACTERS:
        return [plain] if plain else []
    pairs = [[" ".join(parts[:at]), " ".join(parts[at:])] for at in range(1, len(parts))]
    fitting = [pair for pair in pairs if max(map(len, pair)) <= LINE_CHARACTERS]
    return min(fitting, key=_unevenness) if fitting else _filled(parts)


def _unevenness(pair: Sequence[str]) -> int:
    return abs(len(pair[0]) - len(pair[1]))


def _filled(parts: Sequence[str]) -> list[str]:
    lines = [parts[0]]
    for part in parts[1:]:
        if len(lines[-1]) + 1 + len(part) <= LINE_CHARACTERS:
            lines[-1] += f" {part}"
        else:
            lines.append(part)
    return lines


def as_heard_again(correction: Correction, person_id: str, at: datetime) -> Correction:
    """Return the next revision of a correction, by which what was heard stands again."""
    return replace(correction, revision=correction.revision + 1, removed=True, person_id=person_id, at=at)
