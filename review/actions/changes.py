"""Putting right what was said of a recording when it was added: mirrored, height, slow motion, sheet, name."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from typing import Final, TypedDict

from review.access import Deed, allowed
from review.actions.checks import check_height, check_place, check_slowness
from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Person, Recording, Side
from review.domain.text import check_text
from review.pipeline.jobs import at_work
from review.pipeline.stills import still_pictures, strip_times
from review.store.erasing import erase_tracks
from review.store.home import Home
from review.store.media import film_alone
from review.store.repository import Repository, reading, repository
from review.store.track_facts import set_track_facts

_MEASURED: Final = ("mirrored", "partner_height_mm", "slow_motion")


class Answers(TypedDict, total=False):
    """What can be put right; what is left out stays."""

    mirrored: bool
    partner_height_mm: float | None
    slow_motion: float
    checklist_id: str
    name: str


def change(home: Home, person: Person, recording_id: str, answers: Answers) -> tuple[Recording, tuple[str, ...]]:
    """Put right what was said of a recording, and let go of what rested on it.

    Tracks are left and right as the film was said to be, so those of a film that turns out mirrored are erased, its
    pointings move to the other side, and its stills are made anew. Another height or slow motion is written into
    the tracks. In either case the computed values go, and an analysis that was done waits to be gone on with.

    Returns
    -------
    Recording
        The recording as it is now.
    tuple of str
        What was changed, in plain words; empty if all was so before.

    Raises
    ------
    EntryRefused
        If an answer is none that can be, the recording is being analysed just now, or something that was said of it
        has no place on the new sheet. Nothing is changed.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.CHANGE_RECORDING, recording_id)
    check_height(answers.get("partner_height_mm"))
    check_slowness(answers.get("slow_motion", 1.0))
    with film_alone(home, recording.sha256):
        with repository(home) as repo:
            before = allowed(repo, person, Deed.CHANGE_RECORDING, recording.id)
            after = _answered(repo, before, answers)
            if after == before:
                return before, ()
            if _differs(before, after, *_MEASURED):
                _let_go(home, repo, before, after)
            repo.update_recording(after)
        if before.mirrored != after.mirrored:
            still_pictures(home, after, strip_times(after.duration_s))
    return after, tuple(_told(before, after))


def _answered(repo: Repository, before: Recording, answers: Answers) -> Recording:
    after = replace(
        before,
        name=check_text(answers.get("name", before.name)).strip(),
        mirrored=answers.get("mirrored", before.mirrored),
        partner_height_mm=answers.get("partner_height_mm", before.partner_height_mm),
        slow_motion=answers.get("slow_motion", before.slow_motion),
        checklist_id=answers.get("checklist_id", before.checklist_id),
    )
    if not after.name:
        raise EntryRefused("An empty name came; expected one of at least a letter. Nothing was changed.")
    if not _differs(before, after, "checklist_id"):
        return after
    sheet = repo.sheets().for_attempt(after.checklist_id or "")
    earlier = [one for one in repo.recordings() if (one.checklist_id, one.added_by) == (sheet.id, before.added_by)]
    attempt = 1 + sum(one.added_at < before.added_at for one in earlier)
    after = replace(after, checklist_version=sheet.version, attempt=attempt)
    strays = list(_strays(repo, after))
    if strays:
        raise EntryRefused(
            f"The sheet {sheet.title!r} has no place for {len(strays)} of the things said of {before.name}: "
            f"{'; '.join(strays[:5])}. Nothing was changed; remove them first, or keep the sheet."
        )
    return after


def _strays(repo: Repository, recording: Recording) -> Iterator[str]:
    """Yield, in plain words, the marks, grades, comments and entries without a place on the recording's sheet."""
    for mark in repo.marks(recording.id):
        if not _fits(repo, recording, mark.step_id, mark.side):
            yield f"a mark of {mark.step_id}"
    for grade in repo.grades(recording.id):
        if not _fits(repo, recording, grade.step_id, grade.side, grade.criterion_id, grade.level):
            yield f"a grade of {grade.step_id}"
    for comment in repo.comments(recording.id):
        if comment.step_id is not None and not _fits(repo, recording, comment.step_id, comment.side):
            yield f"a comment on {comment.step_id}"
    yield from _stray_entries(repo, recording)


def _stray_entries(repo: Repository, recording: Recording) -> Iterator[str]:
    for entry in repo.entries(recording.id):
        if not _fits(repo, recording, entry.step_id, entry.side, kind=entry.kind):
            yield f"an entry on {entry.step_id}"


def _fits(
    repo: Repository,
    recording: Recording,
    step_id: str,
    side: Side | None,
    criterion_id: str | None = None,
    level: str | None = None,
    kind: str | None = None,
) -> bool:
    with suppress(NotFound, EntryRefused):
        sheet, step = check_place(repo, recording, step_id, side)
        if level is not None:
            sheet.scale.level(level)
        if kind is not None and kind != step.entry:
            return False
        return criterion_id is None or criterion_id in [criterion.id for criterion in step.criteria]
    return False


def _let_go(home: Home, repo: Repository, before: Recording, after: Recording) -> None:
    """Let go of the tracks and values that rest on what was said before."""
    job, now = repo.job(before.id), datetime.now(UTC)
    if at_work(job) or any(recording_id == before.id for recording_id, _ in repo.leases().taken(now)):
        raise EntryRefused(
            f"{before.name} is being analysed just now, on what was said of it before. Wait until that is done, or "
            "stop it. Nothing was changed."
        )
    for step_id in {value.step_id for value in repo.values(before.id)}:
        repo.put_values(before.id, step_id, ())
    if before.mirrored != after.mirrored:
        erase_tracks(home, before.id)
        for pointing in repo.pointings(before.id):
            repo.put_pointing(replace(pointing, x=1 - pointing.x))
    else:
        set_track_facts(home, after)
    if job is not None:
        repo.put_job(replace(job, state="waiting" if job.state == "done" else job.state, done=0, at=now))


def _differs(before: Recording, after: Recording, *names: str) -> bool:
    return any(getattr(before, name) != getattr(after, name) for name in names)


def _told(before: Recording, after: Recording) -> Iterator[str]:
    if before.name != after.name:
        yield f"its name is {after.name}"
    if before.checklist_id != after.checklist_id:
        yield f"its sheet is {after.checklist_id}, version {after.checklist_version}, attempt {after.attempt}"
    if before.mirrored != after.mirrored:
        yield f"it was {'' if after.mirrored else 'not '}filmed mirrored: its tracks and stills are made anew"
    if before.partner_height_mm != after.partner_height_mm:
        known = after.partner_height_mm
        yield "the examined person's height is not known" if known is None else f"the examined person is {known:g} mm"
    if before.slow_motion != after.slow_motion:
        yield f"it plays {after.slow_motion:g} times slower than life"
    if _differs(before, after, *_MEASURED):
        yield "its values are measured anew when it is analysed"
