"""Pointing at the examined person, and taking that back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from uuid import uuid4

from review.access import Deed, demand
from review.actions.checks import check_interval
from review.domain.errors import EntryRefused
from review.domain.model import Person, Pointing, Recording
from review.pipeline.jobs import put_in_queue
from review.store.repository import Repository


def point(repo: Repository, person: Person, recording: Recording, time_s: float, x: float, y: float) -> Pointing:
    """Say that the examined person is at a place of the picture at a moment; holds from there on.

    The recording is put into the queue, so that tracks and values are those of the person pointed at.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who points.
    recording
        Where.
    time_s
        Moment, seconds.
    x, y
        Place as shares (0 to 1) of width and height of the upright, unmirrored picture, from its top left corner.

    Raises
    ------
    EntryRefused
        If the moment lies outside the film or the place outside the picture.
    NotAllowed
        If the person may not change what is noted about the recording.
    """
    demand(person, Deed.CHANGE_RECORDING, recording)
    check_interval(recording, time_s, time_s)
    if not (0 <= x <= 1 and 0 <= y <= 1):
        raise EntryRefused(
            f"A place of {x:.2f}, {y:.2f} came; expected shares of the picture from 0 to 1. Nothing was changed."
        )
    pointing = Pointing(uuid4().hex, recording.id, time_s, x, y, person.id, datetime.now(UTC))
    repo.put_pointing(pointing)
    put_in_queue(repo, recording)
    return pointing


def unpoint(repo: Repository, person: Person, recording: Recording) -> int:
    """Take all pointings of a recording back, so that the examined person is guessed; return how many there were."""
    demand(person, Deed.CHANGE_RECORDING, recording)
    known = repo.pointings(recording.id)
    for pointing in known:
        repo.put_pointing(replace(pointing, removed=True))
    if known:
        put_in_queue(repo, recording)
    return len(known)
