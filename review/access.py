"""The one policy: may this person do this? What is not named here is denied.

On a machine without accounts everybody at it may see every attempt, and nobody may change what somebody else said.
Where people sign in, what counts is how a person stands to a recording, or to a course: see `Standing`. In both, nobody
sees a film any more whose examined person took the consent back.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Final, Protocol

from review.domain.course import CourseRole
from review.domain.errors import NotAllowed
from review.domain.model import Person, Recording, Role
from review.domain.receipt import Receipt
from review.domain.sharing import Audience


class Deed(StrEnum):
    """What a person can be about to do, in words that follow "may not"."""

    SEE = "see this recording"
    WATCH = "watch this film"
    ADD_RECORDING = "add a recording"
    ANALYSE = "have this recording analysed"
    CHANGE_RECORDING = "change what is noted about this recording"
    ERASE_RECORDING = "erase this recording"
    CORRECT_CAPTIONS = "correct the captions of this recording"
    MASK = "make a copy of this recording with masked faces"
    MARK = "mark this recording"
    GRADE = "grade this recording"
    ENTER = "enter a result on this recording"
    COMMENT = "comment on this recording"
    RESOLVE = "say of a comment on this recording that it is settled"
    SIGN_OFF = "sign off this recording"
    UNCOVER = "uncover estimates and grades of this recording"
    ATTACH_EXEMPLAR = "attach an exemplar"
    DETACH_EXEMPLAR = "detach this exemplar"
    KEEP_PHRASE = "keep or drop this phrase"
    CHANGE_ENTRY = "change or remove this entry"
    SAVE_CHECKLIST = "store a checklist"
    RETIRE_CHECKLIST = "retire a checklist or bring it back"
    SHARE = "hand this recording in, ask a peer, or take either back"
    NOTE_CONSENT = "note what the examined person of this recording agreed to"
    SEE_LOOKS = "see who looked at this recording"
    ASSIGN = "ask instructors to grade this recording"
    SEE_CLASS = "see this course as a whole"
    SET_RETENTION = "set after how many days recordings are erased"
    RUN_COURSE = "invite people to this course, or change it"


class Standing(StrEnum):
    """How a person who signed in stands to a recording."""

    MADE_IT = "who added it"
    ASKED = "peers whom its learner asked, as far as the examined person agreed"
    TEACHES = "instructors of its course once it is handed in, as far as the examined person agreed"
    OWNS_COURSE = "owners of its course"
    FELLOW = "members of its course where it is an exemplar, as far as the examined person agreed"


@dataclass(frozen=True, slots=True)
class Rule:
    """Who may do a deed.

    Parameters
    ----------
    roles
        The roles that may, on a machine without accounts.
    standings
        How one must stand to the recording, where people sign in.
    members
        What one must be in the course (in any course, where none is named), where people sign in; for deeds that are
        done to no recording.
    own
        Whether the entry must be one's own.
    without_consent
        Whether it can be done once the examined person took the consent back.
    of_others
        Whether the recording must be somebody else's.
    """

    roles: frozenset[Role]
    standings: frozenset[Standing] = frozenset()
    members: frozenset[CourseRole] = frozenset()
    own: bool = False
    without_consent: bool = False
    of_others: bool = False

    @property
    def on_recording(self) -> bool:
        """Whether the deed is done to a recording."""
        return bool(self.standings)


_ALL: Final = frozenset({Role.LEARNER, Role.PEER, Role.INSTRUCTOR})
_KEEPERS: Final = frozenset({Role.LEARNER, Role.INSTRUCTOR})
_TEACHERS: Final = frozenset({Role.INSTRUCTOR})

_MAKER: Final = frozenset({Standing.MADE_IT})
_RATERS: Final = frozenset({Standing.MADE_IT, Standing.ASKED, Standing.TEACHES})
_WATCHERS: Final = _RATERS | {Standing.FELLOW}
_TEACHING: Final = frozenset({Standing.TEACHES})
_MAKER_OR_OWNER: Final = frozenset({Standing.MADE_IT, Standing.OWNS_COURSE})

_MEMBERS: Final = frozenset(CourseRole)
_STAFF: Final = frozenset({CourseRole.INSTRUCTOR, CourseRole.OWNER})
_OWNERS: Final = frozenset({CourseRole.OWNER})

_POLICY: Final = {
    Deed.SEE: Rule(_ALL, _RATERS),
    Deed.WATCH: Rule(_ALL, _WATCHERS),
    Deed.ADD_RECORDING: Rule(_KEEPERS, members=_MEMBERS),
    Deed.ANALYSE: Rule(_KEEPERS, _MAKER | _TEACHING),
    Deed.CHANGE_RECORDING: Rule(_KEEPERS, _MAKER),
    Deed.ERASE_RECORDING: Rule(_KEEPERS, _MAKER_OR_OWNER, without_consent=True),
    Deed.CORRECT_CAPTIONS: Rule(_KEEPERS, _MAKER | _TEACHING),
    Deed.MASK: Rule(_KEEPERS, _MAKER | _TEACHING),
    Deed.MARK: Rule(_ALL, _RATERS),
    Deed.GRADE: Rule(_ALL, _RATERS),
    Deed.ENTER: Rule(_ALL, _RATERS),
    Deed.COMMENT: Rule(_ALL, _RATERS),
    Deed.RESOLVE: Rule(_ALL, _RATERS),
    Deed.SIGN_OFF: Rule(_TEACHERS, _TEACHING, of_others=True),
    Deed.UNCOVER: Rule(_ALL, _RATERS),
    Deed.ATTACH_EXEMPLAR: Rule(_TEACHERS, _TEACHING),
    Deed.DETACH_EXEMPLAR: Rule(_TEACHERS, _TEACHING, own=True),
    Deed.KEEP_PHRASE: Rule(_ALL, members=_MEMBERS, own=True),
    Deed.CHANGE_ENTRY: Rule(_ALL, _RATERS, own=True),
    Deed.SAVE_CHECKLIST: Rule(_ALL, members=_STAFF),
    Deed.RETIRE_CHECKLIST: Rule(_KEEPERS, members=_STAFF),
    Deed.SHARE: Rule(_KEEPERS, _MAKER),
    Deed.NOTE_CONSENT: Rule(_KEEPERS, _MAKER_OR_OWNER, without_consent=True),
    Deed.SEE_LOOKS: Rule(_KEEPERS, _MAKER_OR_OWNER, without_consent=True),
    Deed.ASSIGN: Rule(_TEACHERS, _TEACHING),
    Deed.SEE_CLASS: Rule(_TEACHERS, members=_STAFF),
    Deed.SET_RETENTION: Rule(_KEEPERS, members=_OWNERS),
    Deed.RUN_COURSE: Rule(frozenset(), members=_OWNERS),
}


def may(
    person: Person,
    deed: Deed,
    recording: Recording | None = None,
    owner: str | None = None,
    course: str | None = None,
    day: date | None = None,
) -> bool:
    """Tell whether a person may do a deed.

    Parameters
    ----------
    person
        Who acts.
    deed
        What is about to be done.
    recording
        What it is done to; a deed done to a recording is denied without one.
    owner
        Id of the person whose entry it is; a deed that needs an entry of one's own is denied without one.
    course
        Id of the course it is done in, for deeds that are done to no recording.
    day
        The day on which it is done; today in UTC unless given.
    """
    rule = _POLICY.get(deed)
    if rule is None or not _own(rule, person, owner):
        return False
    if rule.on_recording:
        return recording is not None and _allowed_on(rule, person, recording, day or datetime.now(UTC).date())
    if person.courses is None:
        return person.role in rule.roles
    roles = person.courses.values() if course is None else [person.courses.get(course)]
    return any(role in rule.members for role in roles)


def teaches(person: Person, course_id: str | None) -> bool:
    """Tell whether a person is instructor or owner of a course; without a course, whether one is an instructor."""
    if course_id is None:
        return person.role is Role.INSTRUCTOR
    return (person.courses or {}).get(course_id) in _STAFF


AT_THIS_MACHINE: Final = "whoever is at this machine: nobody signs in here"


def reasons(person: Person, deed: Deed, recording: Recording, day: date | None = None) -> tuple[str, ...]:
    """Say why a person may do a deed to a recording: how one stands to it; nothing if one may not.

    Parameters
    ----------
    person, deed, recording, day
        As for `may`.
    """
    if not may(person, deed, recording, day=day):
        return ()
    if person.courses is None:
        return (AT_THIS_MACHINE,)
    counted = _POLICY[deed].standings
    standings = _standings(person, recording, day or datetime.now(UTC).date())
    return tuple(str(one) for one in standings if one in counted)


def _own(rule: Rule, person: Person, owner: str | None) -> bool:
    return not rule.own or (owner is not None and owner == person.id)


def _allowed_on(rule: Rule, person: Person, recording: Recording, day: date) -> bool:
    if recording.sharing.withdrawn and not rule.without_consent:
        return False
    if rule.of_others and recording.added_by == person.id:
        return False
    if person.courses is None:
        return person.role in rule.roles
    return any(standing in rule.standings for standing in _standings(person, recording, day))


def _standings(person: Person, recording: Recording, day: date) -> Iterator[Standing]:
    """Tell how a person who signed in stands to a recording on a day."""
    sharing = recording.sharing
    role = (person.courses or {}).get(sharing.course_id or "")
    if recording.added_by == person.id:
        yield Standing.MADE_IT
    if role is None:
        return
    if role is CourseRole.OWNER:
        yield Standing.OWNS_COURSE
    if role in _STAFF and _shown_to_staff(person, recording, day):
        yield Standing.TEACHES
    if sharing.asked_as_peer(person.id) and sharing.covers(Audience.PEERS, day):
        yield Standing.ASKED
    if sharing.exemplar and sharing.covers(Audience.COURSE, day):
        yield Standing.FELLOW


def _shown_to_staff(person: Person, recording: Recording, day: date) -> bool:
    """Tell whether an instructor of a recording's course may see it: it is one's own, or handed in as agreed."""
    sharing = recording.sharing
    handed_in = sharing.handed_in_at is not None and sharing.covers(Audience.INSTRUCTORS, day)
    return handed_in or recording.added_by == person.id


def demand(
    person: Person,
    deed: Deed,
    recording: Recording | None = None,
    owner: str | None = None,
    course: str | None = None,
) -> None:
    """Go on only if `may` allows it.

    Raises
    ------
    NotAllowed
        If it does not; the message names the person by code, and the deed.
    """
    if not may(person, deed, recording, owner, course):
        why = _why_not(person, deed, recording, owner)
        raise NotAllowed(f"{person.code} ({person.role}) may not {deed}: {why}. Nothing was changed.")


class Recordings(Protocol):
    """An open transaction in which recordings are asked for, such as `review.store.repository.Repository`."""

    def recording(self, asked: str) -> Recording:
        """Return the recording with this id."""


def allowed(repo: Recordings, person: Person, deed: Deed, recording_id: str) -> Recording:
    """Return a recording as it is inside a transaction, for a person who may do a deed to it.

    What was read in an earlier transaction may be otherwise now: a consent taken back, a recording erased.

    Raises
    ------
    NotFound
        If there is none.
    NotAllowed
        If the person may not.
    """
    recording = repo.recording(recording_id)
    demand(person, deed, recording)
    return recording


def may_read_receipt(person: Person, receipt: Receipt) -> bool:
    """Tell whether a person may read the receipt of an erasure.

    Those may whose recording it was, who erased it, and owners of its course; without accounts, whoever may erase.
    """
    if person.courses is None:
        return person.role in _KEEPERS
    mine = person.id in (receipt.made_by, receipt.erased_by)
    return mine or person.courses.get(receipt.course_id or "") is CourseRole.OWNER


def demand_receipt(person: Person, receipt: Receipt) -> None:
    """Go on only if `may_read_receipt` allows it; raises NotAllowed if it does not."""
    if not may_read_receipt(person, receipt):
        raise NotAllowed(
            f"{person.code} ({person.role}) may not read this receipt: it is for whose recording it was, who erased "
            "it, and owners of its course."
        )


def _why_not(person: Person, deed: Deed, recording: Recording | None, owner: str | None) -> str:
    rule = _POLICY.get(deed)
    if rule is None:
        return "that is for: nobody"
    if rule.own and owner is not None and owner != person.id:
        return "it is somebody else's; add one of your own instead"
    return (recording is not None and _why_not_on(rule, person, recording)) or _for_whom(rule, person)


def _why_not_on(rule: Rule, person: Person, recording: Recording) -> str:
    if recording.sharing.withdrawn and not rule.without_consent:
        return "the examined person took the consent back, so it can only be erased, or consent be noted anew"
    if rule.of_others and recording.added_by == person.id:
        return "it is an attempt of one's own; somebody else has to"
    return ""


def _for_whom(rule: Rule, person: Person) -> str:
    if person.courses is None:
        return f"that is for: {' or '.join(sorted(rule.roles)) or 'nobody'}; choose another person to act as"
    allowed = [str(one) for one in Standing if one in rule.standings] or [f"{one} of a course" for one in rule.members]
    return f"that is for: {'; '.join(sorted(allowed))}"
