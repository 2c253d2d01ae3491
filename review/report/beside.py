"""What can be shown beside a step: exemplars of it, and the same learner's earlier attempts at it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from review.access import Deed, may
from review.domain.checklist import Checklist
from review.domain.model import Exemplar, Mark, Person, Recording
from review.report.said import by, times
from review.store.repository import Repository


def addresses(recording: Recording) -> dict[str, str]:
    """Return where the browser finds a recording's film and the times of its frames."""
    return {"src": f"/api/media/{recording.id}", "times": f"/api/times/{recording.id}"}


def _film(recording: Recording) -> dict[str, Any]:
    """Return where a film is found, and how it is shown."""
    shape = {"width_px": recording.width_px, "height_px": recording.height_px, "mirrored": recording.mirrored}
    return {**addresses(recording), **shape}


def exemplars(repo: Repository, sheet: Checklist, people: Mapping[str, Person], me: Person) -> list[dict[str, Any]]:
    """Return the exemplars of a sheet's steps, those of films that the person may not watch left out."""
    known = repo.exemplars().of_checklist(sheet.id)
    shown = {one.recording_id for one in known}
    films = {one.id: one for one in repo.recordings_of(shown) if may(me, Deed.WATCH, one)} if shown else {}
    return [_exemplar(one, films[one.recording_id], people, me) for one in known if one.recording_id in films]


def _exemplar(exemplar: Exemplar, film: Recording, people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    place = {"id": exemplar.id, "step": exemplar.step_id, "side": exemplar.side}
    of = {"recording": film.id, "name": film.name, **_film(film)}
    return {**place, **of, **times(exemplar.interval), **by(exemplar.person_id, people, me)}


def own_attempts(repo: Repository, recording: Recording, me: Person) -> list[dict[str, Any]]:
    """Return the marked steps of earlier attempts by the learner of a recording, the newest attempt first.

    An attempt is earlier if the same person added it before, for the same checklist. Of the marks of a step the
    learner's own counts, else the first that anybody set; marks without a length do not count.
    """
    earlier = [one for one in repo.attempts_before(recording) if may(me, Deed.SEE, one)]
    marks = repo.marks_of(one.id for one in earlier) if earlier else {}
    return [
        {
            "recording": one.id,
            "name": one.name,
            "attempt": one.attempt,
            "added_at": one.added_at.isoformat(timespec="minutes"),
            "step": mark.step_id,
            "side": mark.side,
            **_film(one),
            **times(mark.interval),
        }
        for one in earlier
        for mark in _one_a_step(marks[one.id], one)
    ]


def _one_a_step(said: Iterable[Mark], recording: Recording) -> list[Mark]:
    marks = [mark for mark in said if mark.interval.duration_s > 0]
    marks.sort(key=lambda mark: mark.person_id != recording.added_by)
    chosen = {(mark.step_id, mark.side): mark for mark in reversed(marks)}
    return sorted(chosen.values(), key=lambda mark: (mark.interval, mark.id))
