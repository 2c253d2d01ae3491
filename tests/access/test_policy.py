"""The policy on a machine without accounts: roles, one's own entries, consent taken back."""

from __future__ import annotations

from itertools import product

import pytest

from review.access import Deed, demand, may
from review.domain.errors import NotAllowed
from review.domain.model import Person, Role
from review.domain.sharing import Sharing
from tests.store import made

ALL = set(Role)
KEEPERS = {Role.LEARNER, Role.INSTRUCTOR}
TEACHERS = {Role.INSTRUCTOR}
TABLE = {
    Deed.SEE: ALL,
    Deed.ADD_RECORDING: KEEPERS,
    Deed.CHANGE_RECORDING: KEEPERS,
    Deed.ERASE_RECORDING: KEEPERS,
    Deed.CORRECT_CAPTIONS: KEEPERS,
    Deed.MASK: KEEPERS,
    Deed.MARK: ALL,
    Deed.GRADE: ALL,
    Deed.ENTER: ALL,
    Deed.COMMENT: ALL,
    Deed.RESOLVE: ALL,
    Deed.SIGN_OFF: TEACHERS,
    Deed.UNCOVER: ALL,
    Deed.ATTACH_EXEMPLAR: TEACHERS,
    Deed.DETACH_EXEMPLAR: TEACHERS,
    Deed.KEEP_PHRASE: ALL,
    Deed.CHANGE_ENTRY: ALL,
    Deed.SAVE_CHECKLIST: ALL,
    Deed.RETIRE_CHECKLIST: KEEPERS,
    Deed.WATCH: ALL,
    Deed.ANALYSE: KEEPERS,
    Deed.SHARE: KEEPERS,
    Deed.NOTE_CONSENT: KEEPERS,
    Deed.SEE_LOOKS: KEEPERS,
    Deed.ASSIGN: TEACHERS,
    Deed.SEE_CLASS: TEACHERS,
    Deed.SET_RETENTION: KEEPERS,
    Deed.RUN_COURSE: set(),
}
WITHOUT_RECORDING = {
    Deed.ADD_RECORDING,
    Deed.SAVE_CHECKLIST,
    Deed.RETIRE_CHECKLIST,
    Deed.KEEP_PHRASE,
    Deed.SEE_CLASS,
    Deed.SET_RETENTION,
}
AFTER_WITHDRAWAL = {Deed.ERASE_RECORDING, Deed.NOTE_CONSENT, Deed.SEE_LOOKS}
OWN = [Deed.CHANGE_ENTRY, Deed.DETACH_EXEMPLAR, Deed.KEEP_PHRASE]


def _person(role: Role) -> Person:
    return Person("me", "X-01", role)


def test_the_table_names_every_deed() -> None:
    """A deed that is added must be added to this table as well."""
    assert set(TABLE) == set(Deed)


@pytest.mark.parametrize(("deed", "role"), list(product(Deed, Role)), ids=str)
def test_roles_may_do_what_the_table_says(deed: Deed, role: Role) -> None:
    """Each role may do each deed, to a recording and with an entry of one's own, as the table says."""
    assert may(_person(role), deed, made.recording(), owner="me") is (role in TABLE[deed])


@pytest.mark.parametrize("deed", list(Deed), ids=str)
def test_a_deed_to_a_recording_needs_one(deed: Deed) -> None:
    """Without a recording only deeds that are done to none are allowed."""
    assert may(_person(Role.INSTRUCTOR), deed, None, owner="me") is (deed in WITHOUT_RECORDING)


@pytest.mark.parametrize(("deed", "role", "owner"), list(product(OWN, Role, ["somebody", None, ""])), ids=str)
def test_nobody_changes_what_is_anothers(deed: Deed, role: Role, owner: str | None) -> None:
    """What others said, attached or keep, and what nobody is known to own, is out of reach for every role."""
    assert not may(_person(role), deed, made.recording(), owner)


@pytest.mark.parametrize(("deed", "role"), list(product(Deed, Role)), ids=str)
def test_consent_taken_back_leaves_erasing_and_new_consent(deed: Deed, role: Role) -> None:
    """Once the examined person took the consent back, a recording can only be erased, or consent be noted anew."""
    film = made.recording(sharing=Sharing(consent=made.consent(withdrawn=True)))
    of_recording = deed not in WITHOUT_RECORDING
    allowed = role in TABLE[deed] and (not of_recording or deed in AFTER_WITHDRAWAL)
    assert may(_person(role), deed, film, owner="me") is allowed


@pytest.mark.parametrize(("deed", "role"), [("anything", Role.INSTRUCTOR), (Deed.SEE, "visitor")], ids=["deed", "role"])
def test_what_is_not_named_is_denied(deed: Deed, role: Role) -> None:
    """An unknown deed or role is denied."""
    assert not may(_person(role), deed, made.recording(), owner="me")


@pytest.mark.parametrize(
    ("deed", "owner", "words"),
    [
        (Deed.ERASE_RECORDING, None, r"X-01 \(peer\) may not erase this recording: that is for: instructor or learner"),
        (Deed.CHANGE_ENTRY, "other", r"X-01 \(peer\) may not change or remove this entry: it is somebody else's"),
    ],
    ids=["role", "owner"],
)
def test_a_denial_says_who_what_and_why(deed: Deed, owner: str | None, words: str) -> None:
    """The message names the person, the deed, the reason and the way out."""
    with pytest.raises(NotAllowed, match=words):
        demand(_person(Role.PEER), deed, made.recording(), owner)


def test_what_is_allowed_passes() -> None:
    """Nothing happens when the deed is allowed."""
    demand(_person(Role.PEER), Deed.MARK, made.recording())
