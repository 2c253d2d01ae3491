"""Who else may see a recording: what the examined person agreed to, whom it was handed in to, and who was asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Final


class Audience(StrEnum):
    """To whom the examined person lets a film be shown, beside the two who made it."""

    PEERS = "peers"
    INSTRUCTORS = "instructors"
    COURSE = "course"

    @property
    def words(self) -> str:
        """Who that is, in plain words."""
        return _AUDIENCE_WORDS[self]


_AUDIENCE_WORDS = {
    Audience.PEERS: "peers whom the learner asks",
    Audience.INSTRUCTORS: "instructors of the course",
    Audience.COURSE: "everybody of the course, as an exemplar",
}


class Bystanders(StrEnum):
    """The answer to the question whether others are seen or heard in the film."""

    NOBODY = "nobody"
    AGREED = "agreed"
    UNASKED = "unasked"

    @property
    def words(self) -> str:
        """The answer in plain words."""
        return _BYSTANDER_WORDS[self]


_BYSTANDER_WORDS = {
    Bystanders.NOBODY: "nobody else is seen or heard",
    Bystanders.AGREED: "others are seen or heard, and agreed",
    Bystanders.UNASKED: "others are seen or heard, and were not asked",
}


@dataclass(frozen=True, slots=True)
class Consent:
    """What the examined person agreed to, as noted by somebody; each change is a further version.

    Parameters
    ----------
    recording_id, version
        The film, and which version of the consent to it, from 1.
    audiences
        Whom the film may be shown to.
    until
        Last day on which it may; None where the course's date for erasing alone counts.
    bystanders
        Whether others are in the film; where they were not asked it is shown to nobody else.
    partner
        Initials or a code of the examined person, or empty.
    noted_by, at
        Id of the person who noted it, and when.
    withdrawn
        Whether this version takes the consent back: then nobody may see the film any more.
    """

    recording_id: str
    version: int
    audiences: frozenset[Audience]
    until: date | None
    bystanders: Bystanders
    partner: str
    noted_by: str
    at: datetime
    withdrawn: bool = False

    def covers(self, audience: Audience, day: date) -> bool:
        """Tell whether the film may be shown to an audience on a day."""
        running = self.until is None or day <= self.until
        return running and not self.withdrawn and audience in self.audiences and self.bystanders != Bystanders.UNASKED


class Purpose(StrEnum):
    """What a person is asked to grade an attempt as."""

    PEER = "peer"
    FIRST = "first"
    SECOND = "second"


@dataclass(frozen=True, slots=True)
class Request:
    """That a person is asked to grade an attempt: as a peer, or as its first or second instructor."""

    recording_id: str
    person_id: str
    purpose: Purpose
    asked_by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Sharing:
    """All that decides who else may see a recording.

    Parameters
    ----------
    course_id
        The course it belongs to; None on a machine without accounts.
    handed_in_at
        When its learner handed it in to the course's instructors; None before.
    requests
        Who was asked to grade it, in the order in which they were.
    consent
        The newest version of what the examined person agreed to; None where nothing was noted.
    exemplar
        Whether a stretch of it is attached to a sheet as an exemplar.
    """

    course_id: str | None = None
    handed_in_at: datetime | None = None
    requests: tuple[Request, ...] = ()
    consent: Consent | None = None
    exemplar: bool = False

    @property
    def withdrawn(self) -> bool:
        """Whether the examined person took the consent back."""
        return self.consent is not None and self.consent.withdrawn

    def covers(self, audience: Audience, day: date) -> bool:
        """Tell whether the examined person agreed that the film is shown to an audience on a day."""
        return self.consent is not None and self.consent.covers(audience, day)

    def asked_as_peer(self, person_id: str) -> bool:
        """Tell whether the learner asked a person to grade the attempt as a peer."""
        return any((one.person_id, one.purpose) == (person_id, Purpose.PEER) for one in self.requests)


UNSHARED: Final = Sharing()
"""That nobody else was told of a recording, and nothing noted."""
