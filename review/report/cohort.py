"""The Class page: what waits, how each step goes over the class, and where each learner stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any, Final

from review.access import Deed, demand, may
from review.domain import wording
from review.domain.course import Course
from review.domain.errors import NotFound
from review.domain.model import Person, Recording
from review.report.choosing import people_of
from review.report.class_attempts import ClassAttempt, attempts_of, read_attempts, sheet_id, teachers_of
from review.report.class_cut import cut_scores
from review.report.class_learners import learners
from review.report.class_steps import steps
from review.report.class_waiting import waiting
from review.report.said import person_json
from review.signals.agreement.cut_scores import FEW
from review.store.database import Database
from review.store.home import Home
from review.store.repository import Repository, reading

FIRST: Final = (
    "No learner has an attempt here yet. Once films are added on the page Recordings and graded on the page Review, "
    "what waits and how the class does stands here."
)
FIRST_OF_COURSE: Final = (
    "No attempt is handed in to this course yet, as far as the examined persons agreed that instructors see it. Once "
    "learners hand attempts in, what waits and how the class does stands here."
)
COUNTS: Final = "Only instructors' grades count here; of several, the one given last."
WHICH: Final[Mapping[str, str]] = {
    "newest": "the newest graded attempt of each learner",
    "all": "all graded attempts",
}
"""Which attempts the steps are told of; intervals hold for ``newest``, as attempts of one learner hang together."""


def cohort(
    home: Home | Database,
    person: Person,
    checklist: str | None = None,
    which: str = "newest",
    today: date | None = None,
    course: str | None = None,
) -> dict[str, Any]:
    """Return what the Class page shows to an instructor, as plain JSON values.

    Parameters
    ----------
    home, person
        Where and for whom.
    checklist
        Id of a sheet; None for the one with most attempts.
    which
        Which attempts the steps are told of, a key of `WHICH`.
    today
        The day from which on time is told; None for today.
    course
        Id of a course in which the person teaches, where people sign in; None for the first.

    Returns
    -------
    dict
        ``me``, ``courses`` and ``course`` (empty and None without accounts), ``instructors`` (codes of those who can be
        asked to grade), ``sheets`` to choose from, ``sheet``, ``which``, ``waiting`` (attempts at any sheet),
        ``steps``, ``learners``, ``cut`` (what `cut_scores` gives, None where nothing is graded), ``words`` (what it
        all rests on), ``covered`` (grades left out), ``empty`` (what to do first).

    Raises
    ------
    NotAllowed
        If the person may not see the class.
    NotFound
        If no attempt has that sheet, or there is no such course or choice of attempts.
    """
    demand(person, Deed.SEE_CLASS)
    if which not in WHICH:
        raise NotFound.among("choice of attempts", which, list(WHICH))
    day = today or datetime.now(UTC).date()
    with reading(home) as repo:
        people, courses = people_of(repo), _courses(repo, person)
        within = _choose_course(courses, person, course)
        found = attempts_of(repo, person, people, within)
        told: dict[str, Any] = {
            "me": person_json(person),
            "courses": [{"id": one.id, "title": one.title} for one in courses],
            "course": within and within.id,
            "instructors": [one.code for one in teachers_of(people, within)],
            "sheets": _sheets(repo, found),
            "which": which,
        }
        if not found:
            return {**told, "sheet": None, "empty": FIRST if within is None else FIRST_OF_COURSE}
        chosen = _choose(told["sheets"], checklist)
        attempts = read_attempts(repo, person, found, people, within)
        of_sheet = [one for one in reversed(attempts) if sheet_id(one.recording) == chosen["id"]]
        overall = repo.standards().overall([one.recording.id for one in of_sheet])
        expected = repo.standards().expectations("" if within is None else within.id, chosen["id"])
    counted, graded, rest = _counted_of(of_sheet, which)
    return {
        **told,
        "sheet": chosen,
        "waiting": waiting(attempts, people, day),
        "steps": steps(counted, people, graded) if counted else [],
        "learners": learners(of_sheet, day),
        "cut": cut_scores(counted, overall, expected, people, person) if counted else None,
        "graded": len(counted),
        "covered": sum(one.covered for one in of_sheet),
        "words": [COUNTS, *rest],
        "empty": "",
    }


def _courses(repo: Repository, person: Person) -> list[Course]:
    """Return the courses in which a person teaches, by title; none without accounts."""
    if person.courses is None:
        return []
    return [one for one in repo.courses().all() if may(person, Deed.SEE_CLASS, course=one.id)]


def _choose_course(courses: Sequence[Course], person: Person, asked: str | None) -> Course | None:
    if person.courses is None:
        return None
    for one in courses:
        if asked in (None, one.id):
            return one
    raise NotFound.among("course in which you teach", str(asked), [one.id for one in courses])


def _sheets(repo: Repository, found: Sequence[Recording]) -> list[dict[str, Any]]:
    counts = Counter(sheet_id(one) for one in found)
    return [{"id": one, "title": repo.checklist(one).title, "attempts": count} for one, count in counts.most_common()]


def _choose(sheets: Sequence[dict[str, Any]], asked: str | None) -> dict[str, Any]:
    for one in sheets:
        if asked in (None, one["id"]):
            return one
    raise NotFound.among("sheet with attempts", str(asked), [one["id"] for one in sheets])


def _counted_of(
    attempts: Sequence[ClassAttempt], which: str
) -> tuple[list[ClassAttempt], list[ClassAttempt], list[str]]:
    """Return the attempts at one sheet that count, all graded ones, and the sentences on what it rests on.

    The attempts come oldest first; those with another grade scale than the newest are left out.
    """
    newest = attempts[-1].graded.sheet
    alike = [one for one in attempts if one.graded.sheet.scale.levels == newest.scale.levels]
    graded = [one for one in alike if one.graded.given]
    counted = list({one.learner.id: one for one in graded}.values()) if which == "newest" else graded
    others = len(attempts) - len(alike)
    return counted, graded, [*_counted(counted, which), *_few(counted), *_other_scale(others)]


def _counted(counted: Sequence[ClassAttempt], which: str) -> list[str]:
    if not counted:
        return ["No attempt at this sheet has an instructor's grade that you may see yet."]
    known = len({one.learner.id for one in counted})
    told = f"{wording.counted(len(counted), 'attempt')} of {wording.counted(known, 'learner')}: {WHICH[which]}."
    if which == "all" and len(counted) > known:
        return [f"{told} Attempts of one learner hang together, so the intervals are too narrow."]
    return [told]


def _few(counted: Sequence[ClassAttempt]) -> list[str]:
    known = len({one.learner.id for one in counted})
    if not 0 < known < FEW:
        return []
    return [f"Fewer than {FEW} learners: shares and correlations would move much with the next one."]


def _other_scale(others: int) -> list[str]:
    return [f"{wording.counted(others, 'attempt')} with another grade scale left out of the steps."] if others else []
