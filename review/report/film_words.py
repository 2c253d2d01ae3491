"""What is wrong with the seconds of a step and with the whole film; told on its own, since it takes a while."""

from __future__ import annotations

from typing import Any

from review.access import Deed, allowed
from review.domain.model import Interval, Person, Side
from review.report.seconds import Seconds
from review.store.home import Home
from review.store.repository import reading


def film_words(home: Home, person: Person, recording_id: str, step_id: str, side: Side | None) -> dict[str, Any]:
    """Return what is wrong with the film where a step lies, and with the film as a whole, with advice for next time.

    Returns
    -------
    dict
        ``step`` and ``film``, lists of ``{"what", "advice"}``; empty where nothing is wrong, where nothing was looked
        at yet, and, for the step, where nobody has marked it.

    Raises
    ------
    NotFound
        If the recording's checklist has no such step.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording_id)
        people = {one.id: one for one in repo.people()}
        step = repo.sheet_of(recording).step(step_id)
        marks = repo.marks(recording.id)
    seconds = Seconds(home, recording.id, marks, people, person)
    mark = seconds.mark(step, side)
    whole = Interval(0.0, recording.duration_s)
    return {
        "step": seconds.film_faults(mark.interval, step.view) if mark else [],
        "film": seconds.film_faults(whole, ()) + seconds.sound_faults(),
    }
