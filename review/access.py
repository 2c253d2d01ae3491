"""The one policy: may this person do this? What is not named here is denied.

This is the policy of one machine without accounts: everybody at it may see every attempt, and nobody may change what
somebody else said.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from review.domain.errors import NotAllowed
from review.domain.model import Person, Recording, Role


class Deed(StrEnum):
    """What a person can be about to do, in words that follow "may not"."""

    SEE = "see this recording"
    ADD_RECORDING = "add a recording"
    CHANGE_RECORDING = "change what is noted about this recording"
    ERASE_RECORDING = "erase this recording"
    MARK = "mark this recording"
    GRADE = "grade this recording"
    ENTER = "enter a result on this recording"
    COMMENT = "comment on this recording"
    RESOLVE = "say of a comment on this recording that it is settled"
    UNCOVER = "uncover estimates and grades of this recording"
    ATTACH_EXEMPLAR = "attach an exemplar"
    DETACH_EXEMPLAR = "detach this exemplar"
    KEEP_PHRASE = "keep or drop this phrase"
    CHANGE_ENTRY = "change or remove this entry"
    SAVE_CHECKLIST = "store a checklist"
    RETIRE_CHECKLIST = "retire a checklist or bring it back"
    SEE_CLASS = "see this course as a whole"


@dataclass(frozen=True, slots=True)
class Rule:
    """Who may do a deed: the roles, whether it is done to a recording, and whether the entry must be one's own."""

    roles: frozenset[Role]
    on_recording: bool = True
    own: bool = False


_ALL: Final = frozenset({Role.LEARNER, Role.PEER, Role.INSTRUCTOR})
_KEEPERS: Final = frozenset({Role.LEARNER, Role.INSTRUCTOR})
_TEACHERS: Final = frozenset({Role.INSTRUCTOR})

_POLICY: Final = {
    Deed.SEE: Rule(_ALL),
    Deed.ADD_RECORDING: Rule(_KEEPERS, on_recording=False),
    Deed.CHANGE_RECORDING: Rule(_KEEPERS),
    Deed.ERASE_RECORDING: Rule(_KEEPERS),
    Deed.MARK: Rule(_ALL),
    Deed.GRADE: Rule(_ALL),
    Deed.ENTER: Rule(_ALL),
    Deed.COMMENT: Rule(_ALL),
    Deed.RESOLVE: Rule(_ALL),
    Deed.UNCOVER: Rule(_ALL),
    Deed.ATTACH_EXEMPLAR: Rule(_TEACHERS),
    Deed.DETACH_EXEMPLAR: Rule(_TEACHERS, own=True),
    Deed.KEEP_PHRASE: Rule(_ALL, on_recording=False, own=True),
    Deed.CHANGE_ENTRY: Rule(_ALL, own=True),
    Deed.SAVE_CHECKLIST: Rule(_ALL, on_recording=False),
    Deed.RETIRE_CHECKLIST: Rule(_KEEPERS, on_recording=False),
    Deed.SEE_CLASS: Rule(_TEACHERS, on_recording=False),
}


def may(person: Person, deed: Deed, recording: Recording | None = None, owner: str | None = None) -> bool:
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
    """
    rule = _POLICY.get(deed)
    if rule is None or person.role not in rule.roles:
        return False
    if rule.on_recording and recording is None:
        return False
    return not rule.own or (owner is not None and owner == person.id)


def demand(person: Person, deed: Deed, recording: Recording | None = None, owner: str | None = None) -> None:
    """Go on only if `may` allows it.

    Raises
    ------
    NotAllowed
        If it does not; the message names the person by code, and the deed.
    """
    if may(person, deed, recording, owner):
        return
    rule = _POLICY.get(deed)
    if rule is not None and rule.own and owner is not None:
        why = "it is somebody else's; add one of your own instead"
    else:
        roles = " or ".join(sorted(rule.roles)) if rule else "nobody"
        why = f"that is for: {roles}; choose another person to act as"
    raise NotAllowed(f"{person.code} ({person.role}) may not {deed}: {why}. Nothing was changed.")
