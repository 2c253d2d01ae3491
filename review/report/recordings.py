"""The list of recordings: what each one is and what is waiting in it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, replace
from typing import Any

from review.access import Deed, demand, may
from review.domain.errors import NotFound
from review.domain.model import Person, Recording
from review.domain.sharing import UNSHARED
from review.pipeline.jobs import INTERRUPTED, at_work
from review.pipeline.stills import still_pictures, strip_times
from review.store.home import Home
from review.store.repository import Repository, reading


def rows(home: Home, person: Person) -> list[dict[str, Any]]:
    """Return one row a recording that the person may see, newest first.

    Returns
    -------
    list of dict
        Keys ``id, name, checklist, attempt, added, duration_s, analysis, waiting, stills, notes``; ``analysis`` is
        what `analysis` gives, ``waiting`` a list of sentences, ``stills`` times in seconds.
    """
    with reading(home) as repo:
        found = sorted(repo.recordings(), key=lambda recording: recording.added_at, reverse=True)
        return [_row(repo, recording) for recording in found if may(person, Deed.SEE, recording)]


def _row(repo: Repository, recording: Recording) -> dict[str, Any]:
    return {
        "id": recording.id,
        "name": recording.name,
        "checklist": _checklist_title(repo, recording),
        "attempt": recording.attempt,
        "added": recording.added_at.isoformat(timespec="minutes"),
        "duration_s": recording.duration_s,
        "analysis": analysis(repo, recording),
        "waiting": _waiting(repo, recording),
        "stills": list(strip_times(recording.duration_s)),
        "notes": list(recording.notes),
    }


def _checklist_title(repo: Repository, recording: Recording) -> str:
    if recording.checklist_id is None:
        return ""
    return repo.checklist(recording.checklist_id, recording.checklist_version).title


def analysis(repo: Repository, recording: Recording) -> dict[str, Any]:
    """Return how far the analysis of a recording is.

    Returns
    -------
    dict
        Keys ``state, done, total, message, stage, left_s``: frames done of all, what is being done in words, about how
        many seconds it will still take (None if that is not known).
    """
    job = repo.job(recording.id)
    if job is None:
        return {"state": "waiting", "done": 0, "total": recording.frames, "message": "", "stage": "", "left_s": None}
    far = {"done": job.done, "total": job.total}
    if job.state == "running" and not at_work(job):
        return {"state": "stopped", **far, "message": INTERRUPTED, "stage": "", "left_s": None}
    return {"state": job.state, **far, "message": job.message, "stage": job.stage, "left_s": job.left_s}


def unfinished(home: Home, person: Person, asked: Iterable[Recording]) -> list[Recording]:
    """Return those recordings whose analysis has not come to its end, and has not failed."""
    for recording in asked:
        demand(person, Deed.SEE, recording)
    with reading(home) as repo:
        return [one for one in asked if analysis(repo, one)["state"] not in ("done", "failed")]


def _waiting(repo: Repository, recording: Recording) -> list[str]:
    if recording.checklist_id is None:
        return ["choose a checklist"]
    sheet = repo.checklist(recording.checklist_id, recording.checklist_version)
    places = [(step.id, side) for step in sheet.steps() for side in step.places]
    marked = {(mark.step_id, mark.side) for mark in repo.marks(recording.id)}
    graded = {(grade.step_id, grade.side) for grade in repo.grades(recording.id)}
    unmarked, ungraded = len(set(places) - marked), len(marked - graded)
    waiting = [f"{unmarked} of {len(places)} steps not marked"] if unmarked else []
    waiting += [f"{ungraded} marked step{'s' if ungraded > 1 else ''} not graded"] if ungraded else []
    return waiting


def facts(recording: Recording) -> dict[str, Any]:
    """Return what is known of a recording as plain JSON values, under the names the command line promises."""
    plain = {name: value for name, value in asdict(replace(recording, sharing=UNSHARED)).items() if name != "sharing"}
    plain["added_at"] = recording.added_at.isoformat(timespec="seconds")
    plain["notes"] = list(recording.notes)
    return plain


def find(home: Home, person: Person, recording_id: str, deed: Deed = Deed.SEE) -> Recording:
    """Return a recording by its id or the start of it, for a person who may do a deed to it.

    Raises
    ------
    NotFound
        If there is none, or the start fits several.
    """
    with reading(home) as repo:
        recording = repo.recording(recording_id)
    demand(person, deed, recording)
    return recording


def still(home: Home, person: Person, recording_id: str, time_s: float, height_px: int) -> bytes:
    """Return the frame shown at a time as a JPEG picture.

    Raises
    ------
    NotFound
        If the time lies outside of the film.
    """
    recording = find(home, person, recording_id, Deed.WATCH)
    if not 0 <= time_s <= recording.duration_s + 1:
        raise NotFound(f"A picture at {time_s} s was asked for; the film lasts {recording.duration_s:.2f} s.")
    height = min(max(height_px, 16), 1080)
    return still_pictures(home, recording, [min(time_s, recording.duration_s)], height)[0]
