"""Attaching a stretch of a recording to a step as its exemplar: how the step looks done well."""

from __future__ import annotations

from datetime import UTC, datetime

from review.access import Deed, demand
from review.actions.checks import check_id, check_interval, check_place
from review.domain.errors import EntryRefused
from review.domain.model import Exemplar, Person, Recording, Side
from review.domain.sharing import Audience
from review.store.repository import Repository


def attach(
    repo: Repository,
    person: Person,
    recording: Recording,
    exemplar_id: str,
    step_id: str,
    side: Side | None,
    source: Recording,
    onset_s: float,
    offset_s: float,
) -> Exemplar:
    """Attach an exemplar to a step of the checklist that a recording is reviewed by, or move one of one's own.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who attaches.
    recording
        Whose checklist the step belongs to.
    exemplar_id
        A UUID made by the caller.
    step_id, side
        The step and one of its sides, None for a step without sides.
    source
        The recording that the exemplar is a stretch of.
    onset_s, offset_s
        The stretch, in seconds of `source`.

    Raises
    ------
    EntryRefused
        If the side does not belong to the step, or the stretch is empty or not in the film; where people sign in, also
        if the examined person of `source` did not agree that the whole course sees it.
    NotFound
        If the checklist has no such step.
    NotAllowed
        If the person may not attach exemplars or not see `source`, or the exemplar is somebody else's.
    """
    demand(person, Deed.ATTACH_EXEMPLAR, recording)
    demand(person, Deed.SEE, source)
    _check_consent(person, source)
    checklist, _ = check_place(repo, recording, step_id, side)
    seconds = check_interval(source, onset_s, offset_s)
    if seconds.duration_s <= 0:
        raise EntryRefused("An exemplar without length came; expected an end after the start. Nothing was changed.")
    name = check_id(exemplar_id)
    known = repo.exemplars().find(name)
    if known is not None:
        demand(person, Deed.DETACH_EXEMPLAR, recording, known.person_id)
    place = (checklist.id, step_id, side)
    exemplar = Exemplar(name, *place, source.id, seconds, person.id, datetime.now(UTC))
    repo.exemplars().put(exemplar)
    return exemplar


def _check_consent(person: Person, source: Recording) -> None:
    """See that a whole course may be shown a film; on a machine without accounts there is nobody else."""
    if person.courses is None or source.sharing.covers(Audience.COURSE, datetime.now(UTC).date()):
        return
    raise EntryRefused(
        f"The examined person of {source.name} did not agree that everybody of the course sees it, so it cannot be an "
        f'exemplar. Ask, have "{Audience.COURSE.words}" noted as consent, and attach it then. Nothing was changed.'
    )


def detach(repo: Repository, person: Person, exemplar_id: str) -> Exemplar:
    """Detach an exemplar of one's own and return what it was; the recording it is a stretch of stays.

    Raises
    ------
    NotFound
        If there is no such exemplar.
    NotAllowed
        If it is somebody else's, or the person is no instructor.
    """
    known = repo.exemplars().get(check_id(exemplar_id))
    demand(person, Deed.DETACH_EXEMPLAR, repo.recording(known.recording_id), known.person_id)
    repo.exemplars().drop(known.id)
    return known
