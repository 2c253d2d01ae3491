"""Blind first: coming to see the estimates and others' grades of a step, once one has graded it or asks for it."""

from __future__ import annotations

from datetime import UTC, datetime

from review.access import Deed, demand
from review.actions.checks import check_place
from review.domain.errors import EntryRefused
from review.domain.model import Person, Recording, Side, Uncovering
from review.store.repository import Repository


def is_uncovered(repo: Repository, person: Person, recording: Recording, step_id: str, side: Side | None) -> bool:
    """Tell whether a person has come to see what is covered of a step."""
    return any(one.reaches(step_id, side) for one in repo.uncoverings().of(recording.id, person.id))


def uncover(
    repo: Repository, person: Person, recording: Recording, step_id: str | None = None, side: Side | None = None
) -> Uncovering:
    """Note that a person sees what is covered of a step from now on; what was seen is not covered again.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who looks.
    recording
        Where.
    step_id, side
        A step of the recording's checklist and one of its sides; None for all steps.

    Raises
    ------
    NotFound
        If the checklist has no such step.
    EntryRefused
        If the side does not belong to the step.
    """
    demand(person, Deed.UNCOVER, recording)
    if step_id is not None:
        check_place(repo, recording, step_id, side)
    elif side is not None:
        raise EntryRefused(f"The side {side!r} came without a step; expected the step as well. Nothing was changed.")
    uncovering = Uncovering(recording.id, person.id, step_id, side, datetime.now(UTC))
    repo.uncoverings().note(uncovering)
    return uncovering
