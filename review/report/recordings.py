"""The list of recordings: what each one is and what is waiting in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

from review.access import Deed, allowed, may
from review.domain.checklist import Checklist
from review.domain.errors import NotFound
from review.domain.model import Person, Recording, Side
from review.domain.sharing import UNSHARED
from review.pipeline.jobs import INTERRUPTED, at_work
from review.pipeline.stills import DIRECTLY, Look, still_pictures, strip_times
from review.store.database import Database
from review.store.home import Home
from review.store.repository import Job, Repository, reading

Place = tuple[str, Side | None]


def rows(home: Home, person: Person) -> list[dict[str, Any]]:
    """Return one row a recording that the person may see, newest first; see `listed`."""
    with reading(home) as repo:
        found: list[dict[str, Any]] = listed(repo, person)["rows"]
    return found


def listed(repo: Repository, person: Person, most: int | None = None, learner: str | None = None) -> dict[str, Any]:
    """Return the newest recordings that the person may see.

    Parameters
    ----------
    repo, person
        Open transaction, and for whom.
    most
        No more rows than this; None for all.
    learner
        Code of the person who added them; None, or a code of nobody who did, for everybody's.

    Returns
    -------
    dict
        ``rows``, newest first, each with the keys ``id, name, learner, checklist, attempt, added, duration_s, analysis,
        waiting, stills, notes``; ``analysis`` is what `analysis` gives, ``waiting`` a list of sentences, ``stills``
        times in seconds. ``more``: how many further ones there are. ``learners``: codes of those who added any.
    """
    codes = {one.id: one.code for one in repo.people()}
    found = [one for one in repo.recordings() if may(person, Deed.SEE, one)]
    owners = sorted({codes[one.added_by] for one in found})
    wanted = [one for one in found if learner not in owners or codes[one.added_by] == learner]
    shown = wanted[:most]
    return {"rows": _rows(repo, shown, codes), "more": len(wanted) - len(shown), "learners": owners}


def newest(home: Home, person: Person) -> Recording | None:
    """Return the newest recording that the person may see, None where there is none."""
    with reading(home) as repo:
        return next((one for one in repo.recordings() if may(person, Deed.SEE, one)), None)


def _rows(repo: Repository, recordings: Sequence[Recording], codes: Mapping[str, str]) -> list[dict[str, Any]]:
    ids = [one.id for one in recordings]
    jobs = {job.recording_id: job for job in repo.jobs()}
    marked, graded = repo.said_places().marked(ids), repo.said_places().graded(ids)
    sheets = {
        (name, version): repo.checklist(name, version)
        for name, version in {(one.checklist_id, one.checklist_version) for one in recordings}
        if name is not None
    }
    return [
        {
            **_row(one, sheets.get((one.checklist_id or "", one.checklist_version)), marked[one.id], graded[one.id]),
            "learner": codes[one.added_by],
            "analysis": how_far(jobs.get(one.id), one),
        }
        for one in recordings
    ]


def _row(recording: Recording, sheet: Checklist | None, marked: set[Place], graded: set[Place]) -> dict[str, Any]:
    return {
        "id": recording.id,
        "name": recording.name,
        "checklist": "" if sheet is None else sheet.title,
        "attempt": recording.attempt,
        "added": recording.added_at.isoformat(timespec="minutes"),
        "duration_s": recording.duration_s,
        "waiting": ["choose a checklist"] if sheet is None else _waiting(sheet, marked, graded),
        "stills": list(strip_times(recording.duration_s)),
        "notes": list(recording.notes),
    }


def analysis(repo: Repository, recording: Recording) -> dict[str, Any]:
    """Return how far the analysis of a recording is: what `how_far` says of its job."""
    return how_far(repo.job(recording.id), recording)


def how_far(job: Job | None, recording: Recording) -> dict[str, Any]:
    """Say how far the analysis of a recording is, by its job.

    Returns
    -------
    dict
        Keys ``state, done, total, message, stage, left_s``: frames done of all, what is being done in words, about how
        many seconds it will still take (None if that is not known).
    """
    if job is None:
        return {"state": "waiting", "done": 0, "total": recording.frames, "message": "", "stage": "", "left_s": None}
    far = {"done": job.done, "total": job.total}
    if job.state == "running" and not at_work(job):
        return {"state": "stopped", **far, "message": INTERRUPTED, "stage": "", "left_s": None}
    return {"state": job.state, **far, "message": job.message, "stage": job.stage, "left_s": job.left_s}


def unfinished(home: Home, person: Person, asked: Iterable[Recording]) -> list[Recording]:
    """Return those recordings whose analysis has not come to its end, and has not failed."""
    with reading(home) as repo:
        found = [allowed(repo, person, Deed.SEE, one.id) for one in asked]
        return [one for one in found if analysis(repo, one)["state"] not in ("done", "failed")]


def _waiting(sheet: Checklist, marked: set[Place], graded: set[Place]) -> list[str]:
    places = sheet.titles()
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


def find(home: Home | Database, person: Person, recording_id: str, deed: Deed = Deed.SEE) -> Recording:
    """Return a recording by its id or the start of it, for a person who may do a deed to it.

    Raises
    ------
    NotFound
        If there is none, or the start fits several.
    """
    with reading(home) as repo:
        return allowed(repo, person, deed, recording_id)


def still(home: Home, recording: Recording, time_s: float, height_px: int, look: Look = DIRECTLY) -> bytes:
    """Return the frame of a found recording that is shown at a time, as a JPEG picture.

    Parameters
    ----------
    look
        What makes it if it is not there yet.

    Raises
    ------
    NotFound
        If the time lies outside of the film.
    """
    if not 0 <= time_s <= recording.duration_s + 1:
        raise NotFound(f"A picture at {time_s} s was asked for; the film lasts {recording.duration_s:.2f} s.")
    height = min(max(height_px, 16), 1080)
    return still_pictures(home, recording, [min(time_s, recording.duration_s)], height, look)[0]
