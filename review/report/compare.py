"""The Compare page: own, peers' and instructors' grades of an attempt side by side, and how far people grade alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations, groupby
from typing import Any

from review.domain.checklist import NOT_ASSESSABLE, GradeScale
from review.domain.model import Comment, Mark, Person, Role
from review.report.alike import Ratings, by_step, everybody, pair, same_scale
from review.report.calibration import calibration
from review.report.choosing import attempt_json, choose, choose_recording, people_of, subject_json, subjects_json
from review.report.graded import (
    ROLE_ORDER,
    Given,
    Graded,
    Place,
    Subject,
    graded,
    levels_of,
    share_of,
    subjects,
    word_of,
)
from review.report.said import by, person_json, times
from review.report.totals import totals
from review.store.home import Home
from review.store.repository import Repository, reading

FIRST: str = (
    "No attempt is here yet. Add a film on the page Recordings; once two people have graded it on the page Review, "
    "their grades stand here side by side."
)


def compare(
    home: Home,
    person: Person,
    learner: str | None = None,
    checklist: str | None = None,
    recording: str | None = None,
) -> dict[str, Any]:
    """Return what the Compare page shows to one person, as plain JSON values.

    What is covered for the person is left out and counted. The steps are those of one attempt; how far people grade
    alike is told over all attempts at the sheet that the person may see, and only from grades given before seeing
    others'.

    Parameters
    ----------
    home, person
        Where and for whom.
    learner, checklist, recording
        Code of a learner, id of a sheet, id of an attempt (its start is enough); None for the likely one.

    Returns
    -------
    dict
        ``subjects`` to choose from, and for the chosen one ``subject``, ``attempts``, ``attempt`` (its ``rows``, who
        graded, ``words``), ``pairs``, ``everybody``, ``steps`` and ``calibration``; ``empty`` is the sentence that says
        what to do first where there is nothing.

    Raises
    ------
    NotFound
        If there is no such learner, sheet or attempt.
    """
    with reading(home) as repo:
        found = subjects(repo, person)
        told: dict[str, Any] = {"me": person_json(person), "subjects": subjects_json(repo, found)}
        if not found and (learner, checklist, recording) == (None, None, None):
            return {**told, "subject": None, "empty": FIRST}
        subject = choose(found, learner, checklist, recording)
        chosen = choose_recording(subject, recording)
        people = people_of(repo)
        own = graded(repo, person, subject.recordings)
        attempts = [*own, *_elsewhere(repo, person, found, subject, own)]
        attempts.sort(key=lambda one: (one.recording.added_at, one.recording.id))
        shown = next(one for one in own if one.recording.id == chosen.id)
        return {
            **told,
            "subject": subject_json(repo, subject),
            "attempts": [attempt_json(one) for one in subject.recordings],
            "attempt": _attempt(repo, shown, people, person),
            **_alike(attempts, own, people),
            "calibration": calibration(own, subject.learner, people),
            "empty": "",
        }


def _elsewhere(
    repo: Repository, person: Person, found: Sequence[Subject], subject: Subject, own: Sequence[Graded]
) -> list[Graded]:
    """Return other learners' attempts at the sheet, with the grades of those who graded this learner's."""
    others = [one for one in found if one.checklist_id == subject.checklist_id and one is not subject]
    raters = {one.person_id for attempt in own for one in attempt.given}
    return graded(repo, person, [taken for one in others for taken in one.recordings], raters) if raters else []


def _alike(attempts: Sequence[Graded], own: Sequence[Graded], people: Mapping[str, Person]) -> dict[str, Any]:
    """Tell how far those people grade alike who graded the learner's attempts, over all attempts at the sheet."""
    kept, others = same_scale(attempts)
    raters = _raters({one.person_id for attempt in own for one in attempt.given}, people, own)
    ratings = Ratings(kept, raters)
    pairs = []
    for first, second in combinations(range(len(raters)), 2):
        told = pair(ratings, first, second, raters)
        if told["of"] or told["left_out"]:
            pairs.append({**told, "totals": totals(kept, raters[first], raters[second])})
    runs = [next(run).sheet for _, run in groupby(kept, lambda attempt: attempt.sheet.version)]
    titles = {place: title for sheet in runs for place, title in sheet.titles().items()}
    note = f"{others} attempts with another grade scale are left out." if others else ""
    return {
        "pairs": pairs,
        "everybody": everybody(ratings, raters),
        "steps": by_step(ratings, titles),
        "scale_note": note,
    }


def _raters(ids: set[str], people: Mapping[str, Person], own: Sequence[Graded]) -> list[Person]:
    """Return people in the order of their columns: the learner, peers, instructors."""
    learner = own[0].recording.added_by
    return sorted((people[one] for one in ids), key=lambda one: (one.id != learner, ROLE_ORDER[one.role], one.code))


def _attempt(repo: Repository, attempt: Graded, people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    recording = attempt.recording
    marks, comments = repo.marks(recording.id), repo.comments(recording.id)
    raters = _raters({one.person_id for one in attempt.given}, people, [attempt])
    grades = {rater.id: attempt.by(rater.id) for rater in raters}
    rows = []
    for place in attempt.places:
        given = {who: found[place] for who, found in grades.items() if place in found}
        covered = attempt.covered.get(place, 0)
        if given or covered:
            about = [one for one in comments if (one.step_id, one.side) == place]
            said = [one for one in about if not attempt.cover.hides(*place, one.person_id)]
            rows.append(_row(attempt, place, raters, given, {"marks": marks, "said": said, "people": people, "me": me}))
    parted = sum(row["parted"] for row in rows)
    met = sum(row["graded"] > 1 for row in rows)
    return {
        **attempt_json(recording),
        "raters": [{**person_json(one), "own": one.id == recording.added_by} for one in raters],
        "rows": rows,
        "ungraded": len(attempt.places) - len(rows),
        "covered": sum(attempt.covered.values()),
        "parted": parted,
        "words": _words(met, parted, attempt, raters),
    }


def _row(
    attempt: Graded, place: Place, raters: Sequence[Person], given: Mapping[str, Given], around: Mapping[str, Any]
) -> dict[str, Any]:
    step, scale = attempt.sheet.step(place[0]), attempt.sheet.scale
    levels = levels_of(scale)
    keys = {one.level for one in given.values()}
    known = sorted(levels[one] for one in keys if one in levels)
    return {
        "step": place[0],
        "side": place[1],
        "title": f"{step.title}, {place[1]}" if place[1] else step.title,
        "critical": step.critical,
        "points": step.points,
        "caution": step.caution,
        "grades": [_cell(given.get(rater.id), scale) for rater in raters],
        "graded": len(given),
        "parted": len(keys) > 1,
        "levels_apart": known[-1] - known[0] if known else 0,
        "covered": attempt.covered.get(place, 0),
        "at": _seconds(place, around["marks"], attempt, around["me"]),
        "comments": [_comment(one, around["people"], around["me"]) for one in around["said"]],
    }


def _cell(one: Given | None, scale: GradeScale) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "level": one.level,
        "word": word_of(scale, one.level),
        "share": share_of(scale, one.level),
        "judged": one.level != NOT_ASSESSABLE,
        "confidence": one.confidence,
        "blind": one.blind is not None,
        "before": None if one.blind in (None, one.level) else word_of(scale, one.blind),
    }


def _seconds(place: Place, marks: Sequence[Mark], attempt: Graded, me: Person) -> float | None:
    """Return where a step begins: by one's own mark, else by the learner's, else by anybody's."""
    fitting = [one for one in marks if (one.step_id, one.side) == place]
    order = {me.id: 0, attempt.recording.added_by: 1}
    first = min(fitting, key=lambda one: (order.get(one.person_id, 2), one.interval), default=None)
    return None if first is None else first.interval.onset_s


def _comment(comment: Comment, people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    return {
        "text": comment.text,
        "reply": comment.reply_to is not None,
        **times(comment.interval),
        **by(comment.person_id, people, me),
    }


def _words(met: int, parted: int, attempt: Graded, raters: Sequence[Person]) -> list[str]:
    told = []
    if met:
        told.append(f"{met} {_steps(met)} graded by more than one person: on {parted} the grades part.")
    elif raters:
        told.append(f"So far only {raters[0].code} graded this attempt, as far as you may see. {_ASK}")
    else:
        told.append(f"Nobody has graded this attempt yet, as far as you may see. {_ASK}")
    covered = sum(attempt.covered.values())
    if covered:
        grades = "grade of others is" if covered == 1 else "grades of others are"
        told.append(f"{covered} {grades} covered until you have graded the step yourself.")
    if not any(one.role is Role.INSTRUCTOR for one in raters):
        told.append("No instructor's grade is among those shown.")
    return told


def _steps(count: int) -> str:
    return "step is" if count == 1 else "steps are"


_ASK = "Grade it on the page Review, and ask a peer or an instructor to do so as well."
