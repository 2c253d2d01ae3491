"""Saying something at a moment or a stretch of a recording."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any, Final
from uuid import uuid4

from review.access import Deed, demand
from review.actions.checks import check_id, check_interval, check_place
from review.domain.errors import EntryRefused
from review.domain.model import Comment, Person, Recording, Shape, Side
from review.domain.text import check_text
from review.store.repository import Repository

MOST_CHARACTERS: Final = 2000
"""Length above which a comment is refused."""


def write(
    repo: Repository,
    person: Person,
    recording: Recording,
    onset_s: float,
    offset_s: float | None,
    text: str,
    step_id: str | None = None,
    side: Side | None = None,
    comment_id: str | None = None,
    shape: Shape | None = None,
) -> Comment:
    """Write a comment.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who writes.
    recording
        Where.
    onset_s, offset_s
        When, in seconds; None as the end says that it is a moment.
    text
        What; blanks around it are taken off.
    step_id, side
        The step, and its side, that the comment is about, if it is about one.
    comment_id
        A UUID made by the caller for a new comment.
    shape
        What is drawn on the frame at the start, if anything.

    Returns
    -------
    Comment
        The comment as stored.

    Raises
    ------
    EntryRefused
        If the text is empty or longer than `MOST_CHARACTERS`, the times are not in the film, the side does not belong
        to the step, or the id is taken.
    NotFound
        If the checklist has no such step.
    """
    demand(person, Deed.COMMENT, recording)
    if step_id is not None:
        check_place(repo, recording, step_id, side)
    elif side is not None:
        raise EntryRefused(f"The side {side!r} came without a step; expected the step as well. Nothing was changed.")
    comment = Comment(
        id=str(uuid4()) if comment_id is None else check_id(comment_id),
        recording_id=recording.id,
        interval=check_interval(recording, onset_s, onset_s if offset_s is None else offset_s),
        text=_check_text(text),
        person_id=person.id,
        at=datetime.now(UTC),
        step_id=step_id,
        side=side,
        shape=shape,
    )
    repo.put_comment(comment)
    return comment


def reply(repo: Repository, person: Person, reply_to: str, text: str, comment_id: str | None = None) -> Comment:
    """Answer a comment, at its moment and about its step.

    Returns
    -------
    Comment
        The answer as stored.

    Raises
    ------
    NotFound
        If there is no such comment.
    EntryRefused
        If it was removed, the text is empty or too long, or the id is taken.
    """
    asked = repo.comment(reply_to)
    demand(person, Deed.COMMENT, repo.recording(asked.recording_id))
    if asked.removed:
        raise EntryRefused("The comment to answer was removed meanwhile. Nothing was changed; write a new one.")
    answer = Comment(
        id=str(uuid4()) if comment_id is None else check_id(comment_id),
        recording_id=asked.recording_id,
        interval=asked.interval,
        text=_check_text(text),
        person_id=person.id,
        at=datetime.now(UTC),
        step_id=asked.step_id,
        side=asked.side,
        reply_to=asked.id,
    )
    repo.put_comment(answer)
    return answer


def change(repo: Repository, person: Person, comment_id: str, text: str) -> Comment:
    """Change the text of a comment of one's own; the old text stays in history.

    Returns
    -------
    Comment
        The comment as stored.

    Raises
    ------
    NotFound
        If there is no such comment.
    NotAllowed
        If it is somebody else's.
    EntryRefused
        If it was removed, or the text is empty or too long.
    """
    last = _own(repo, person, comment_id)
    return _revised(repo, last, text=_check_text(text), at=datetime.now(UTC))


def remove(repo: Repository, person: Person, comment_id: str) -> Comment:
    """Remove a comment of one's own; its history stays, and so do answers to it.

    Returns
    -------
    Comment
        The revision that says so.

    Raises
    ------
    NotFound
        If there is no such comment.
    NotAllowed
        If it is somebody else's.
    EntryRefused
        If it was removed already.
    """
    return _revised(repo, _own(repo, person, comment_id), removed=True, at=datetime.now(UTC))


def restore(repo: Repository, person: Person, comment_id: str) -> Comment:
    """Put back a comment of one's own that was removed, as it was.

    Returns
    -------
    Comment
        The comment as stored.

    Raises
    ------
    NotFound
        If there is no such comment.
    NotAllowed
        If it is somebody else's.
    EntryRefused
        If it was not removed.
    """
    last = repo.comment(comment_id)
    demand(person, Deed.CHANGE_ENTRY, repo.recording(last.recording_id), last.person_id)
    if not last.removed:
        raise EntryRefused("This comment is there already. Nothing was changed.")
    return _revised(repo, last, removed=False, at=datetime.now(UTC))


def resolve(repo: Repository, person: Person, comment_id: str, resolved: bool) -> Comment:
    """Say that what a comment is about is settled, or that it is open again; anybody who sees it may.

    Who wrote the comment, and when, stays; who settled it, and when, is noted beside it.

    Returns
    -------
    Comment
        The comment as stored.

    Raises
    ------
    NotFound
        If there is no such comment.
    EntryRefused
        If it was removed, or is an answer: what is settled is the comment that it answers.
    """
    last = repo.comment(comment_id)
    demand(person, Deed.RESOLVE, repo.recording(last.recording_id))
    if last.removed:
        raise EntryRefused("This comment was removed already. Nothing was changed.")
    if last.reply_to is not None:
        raise EntryRefused("An answer came to be settled; expected the comment it answers. Nothing was changed.")
    by, at = (person.id, datetime.now(UTC)) if resolved else (None, None)
    return _revised(repo, last, resolved_by=by, resolved_at=at)


def _revised(repo: Repository, last: Comment, **changes: Any) -> Comment:
    """Store the next revision of a comment, and return it."""
    revised = replace(last, revision=last.revision + 1, **changes)
    repo.put_comment(revised)
    return revised


def _own(repo: Repository, person: Person, comment_id: str) -> Comment:
    last = repo.comment(comment_id)
    demand(person, Deed.CHANGE_ENTRY, repo.recording(last.recording_id), last.person_id)
    if last.removed:
        raise EntryRefused("This comment was removed already. Nothing was changed.")
    return last


def _check_text(text: str) -> str:
    stripped = text.strip()
    if not 1 <= len(stripped) <= MOST_CHARACTERS:
        raise EntryRefused(
            f"A comment of {len(stripped)} characters came; expected 1 to {MOST_CHARACTERS}. Nothing was changed."
        )
    return check_text(stripped)
