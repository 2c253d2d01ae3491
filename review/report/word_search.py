"""Words sought in what is said in all films that a person may see."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from review.access import Deed, may
from review.domain.captions import Correction, captions_of
from review.domain.errors import StoreBroken
from review.domain.model import Person, Recording
from review.speech.seeking import asked_words, groups, places, searchable
from review.store.home import Home
from review.store.repository import reading
from review.store.words import WordStore

MOST_SHOWN: Final = 60
"""How many places are shown; the others are counted."""

LONGEST: Final = 200
"""Characters of a search that count."""


@dataclass(frozen=True, slots=True)
class _Line:
    """A caption as it is searched: when it begins, its text, and its spoken words."""

    onset_s: float
    text: str
    words: str


def find_words(home: Home, person: Person, wanted: str, learner: str | None = None) -> dict[str, Any]:
    """Return where words are said in the films that a person may see, the film added last first.

    Parameters
    ----------
    home, person
        Where and for whom.
    wanted
        The words; all of them must be in one caption, or in it and the next one.
    learner
        Code of who added the films; None, or a code of nobody who did, for everybody's.

    Returns
    -------
    dict
        ``count`` of places in ``films`` films of ``listened`` that were listened to, and the first `MOST_SHOWN` as
        ``hits``, each with ``id, name, attempt, learner, onset_s, lines``; a line is a ``text`` and the ``places`` of
        the words in it.
    """
    asked = asked_words(wanted[:LONGEST])
    with reading(home) as repo:
        codes = {one.id: one.code for one in repo.people()}
        seen = [one for one in repo.recordings() if may(person, Deed.SEE, one)]
        owners = {codes[one.added_by] for one in seen}
        films = [one for one in seen if learner not in owners or codes[one.added_by] == learner]
        corrections = repo.corrections().of_many([one.id for one in films])
        said = [(film, _lines(home, film, corrections[film.id])) for film in films]
    found = [(film, [lines[at] for at in group]) for film, lines in said for group in _groups(lines, asked)]
    return {
        "count": len(found),
        "films": len({film.id for film, _ in found}),
        "listened": sum(1 for _, lines in said if lines),
        "hits": [_hit(film, codes[film.added_by], lines, asked) for film, lines in found[:MOST_SHOWN]],
    }


def _groups(lines: Sequence[_Line], asked: Sequence[str]) -> Iterable[tuple[int, ...]]:
    return groups([one.words for one in lines], asked)


def _hit(film: Recording, learner: str, lines: Sequence[_Line], asked: Sequence[str]) -> dict[str, Any]:
    return {
        "id": film.id,
        "name": film.name,
        "attempt": film.attempt,
        "learner": learner,
        "onset_s": lines[0].onset_s,
        "lines": [{"text": one.text, "places": places(one.text, asked)} for one in lines],
    }


def _lines(home: Home, film: Recording, corrections: Sequence[Correction]) -> tuple[_Line, ...]:
    state = WordStore(home, film.id).version()
    return _read(home, film.id, film.duration_s, state, tuple(corrections)) if state or corrections else ()


@lru_cache(maxsize=2048)
def _read(
    home: Home, recording_id: str, end_s: float, state: str, corrections: tuple[Correction, ...]
) -> tuple[_Line, ...]:
    """Return the captions of a film as they are searched; kept in memory until words or corrections change.

    A film whose words cannot be read is searched by its corrections alone: the others are not held up by it.
    """
    try:
        words = WordStore(home, recording_id).transcript() or ()
    except StoreBroken:
        words = ()
    shown = [one for one in captions_of(words, corrections, end_s) if one.text]
    return tuple(_Line(one.interval.onset_s, one.text, searchable(one.text)) for one in shown)
