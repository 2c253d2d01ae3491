"""Which learner's attempts at which sheet a page is about: what was asked for, or the likely one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from review.domain.errors import NotFound
from review.domain.model import Person, Recording
from review.report.graded import Subject
from review.store.repository import Repository


def choose(
    found: Sequence[Subject], learner: str | None, checklist: str | None, recording: str | None = None
) -> Subject:
    """Return the first of some subjects that fits what is asked for; None fits all.

    Parameters
    ----------
    found
        Learners' attempts at sheets.
    learner, checklist, recording
        Code of a learner, id of a sheet, id of an attempt (its start is enough).

    Raises
    ------
    NotFound
        If none fits; the message names those there are.
    """
    for one in found:
        if learner in (None, one.learner.code) and checklist in (None, one.checklist_id) and _holds(one, recording):
            return one
    if recording is not None and learner is None and checklist is None:
        raise NotFound.among("attempt", recording, [known.id for one in found for known in one.recordings])
    asked = " ".join(filter(None, (learner, checklist, recording)))
    raise NotFound.among("learner with attempts", asked, [f"{one.learner.code} {one.checklist_id}" for one in found])


def _holds(subject: Subject, recording: str | None) -> bool:
    return recording is None or any(one.id.startswith(recording) for one in subject.recordings)


def choose_recording(subject: Subject, asked: str | None) -> Recording:
    """Return one of a subject's attempts by its id or the start of it; the newest where none is asked for.

    Raises
    ------
    NotFound
        If the subject has no such attempt.
    """
    if asked is None:
        return subject.recordings[-1]
    for one in subject.recordings:
        if asked and one.id.startswith(asked):
            return one
    raise NotFound.among(f"attempt of {subject.learner.code}", asked, [one.id for one in subject.recordings])


def subjects_json(repo: Repository, subjects: Sequence[Subject]) -> list[dict[str, Any]]:
    """Return subjects: learner, sheet, and how many attempts there are; each sheet is read once."""
    titles = {name: repo.checklist(name).title for name in {one.checklist_id for one in subjects}}
    return [
        {
            "learner": one.learner.code,
            "checklist": one.checklist_id,
            "title": titles[one.checklist_id],
            "attempts": len(one.recordings),
        }
        for one in subjects
    ]


def subject_json(repo: Repository, subject: Subject) -> dict[str, Any]:
    """Return one subject, as `subjects_json` does."""
    return subjects_json(repo, [subject])[0]


def attempt_json(recording: Recording) -> dict[str, Any]:
    """Return an attempt: which one it is, and since when it is here."""
    return {
        "recording": recording.id,
        "name": recording.name,
        "attempt": recording.attempt,
        "added": recording.added_at.isoformat(timespec="minutes"),
    }


def people_of(repo: Repository) -> dict[str, Person]:
    """Return everybody by id."""
    return {one.id: one for one in repo.people()}
