"""The sign-off of an attempt, as far as one person may see it: its versions, and whether what they rest on still holds.

That an attempt is signed, by whom and when, is told to everybody who may see it, and whether anything was changed
since. What was found, with its conditions, is told to the signer and to the learner whose attempt it is; to all others,
who may have to grade it themselves yet, once every grade that it rests on is uncovered for them. What the grades add up
to is told to nobody before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from review.access import Deed, demand, may
from review.domain.ground import Ground, changes_since, ground_of
from review.domain.model import Person, Recording, Role
from review.domain.signoff import Facts, Finding, SignOff, faults_of
from review.report.cover import Cover
from review.store.repository import Repository

TAKEN_BACK = "taken back"


@dataclass(frozen=True, slots=True)
class ToldVersion:
    """One version, as far as it is told.

    Parameters
    ----------
    signed
        The version as it was signed.
    person
        Who signed.
    covered
        Whether the finding and its conditions are kept from the person who looks.
    added_up
        What the signer's grades added up to, as `Ground.added_up` gives it; None where that is covered or nothing.
    """

    signed: SignOff
    person: Person
    covered: bool
    added_up: Facts | None

    @property
    def finding(self) -> Finding | None:
        """What was found; None where it is covered, or the version takes the one before back."""
        return None if self.covered else self.signed.finding

    @property
    def words(self) -> str:
        """What was found in words; "taken back" for a version that says so, "covered" for one that is."""
        if self.signed.finding is None:
            return TAKEN_BACK
        return "covered" if self.covered else self.signed.finding.words

    @property
    def conditions(self) -> str:
        """Conditions, or why the version before was taken back; empty where that is covered."""
        return "" if self.covered else self.signed.conditions

    @property
    def sum_words(self) -> str:
        """What the grades added up to by the sheet's own rule, in a sentence; empty where that is not told."""
        if self.added_up is None:
            return ""
        won, possible, outcome = (self.added_up[name] for name in ("won", "possible", "outcome"))
        rule = "the sheet names no rule" if outcome == "no rule" else f"by the sheet's own rule: {outcome}"
        return f"{won} of {possible} points; {rule}."


@dataclass(frozen=True, slots=True)
class ToldSignOff:
    """A recording's sign-off, as far as it is told.

    Parameters
    ----------
    versions
        All versions, oldest first; empty where nothing is signed.
    changed
        Whether anything that the last version rests on is otherwise now.
    changes
        What, in sentences; empty where that is covered.
    faults
        Where versions are not as they were signed, in sentences.
    """

    versions: tuple[ToldVersion, ...]
    changed: bool
    changes: tuple[str, ...]
    faults: tuple[str, ...]

    @property
    def last(self) -> ToldVersion | None:
        """The version that holds; None where nothing is signed."""
        return self.versions[-1] if self.versions else None


def sign_off_of(repo: Repository, person: Person, recording: Recording) -> ToldSignOff:
    """Return the sign-off of a recording for one person to see.

    Raises
    ------
    NotAllowed
        If the person may not see the recording.
    """
    demand(person, Deed.SEE, recording)
    chain = repo.sign_offs().of(recording.id)
    if not chain:
        return ToldSignOff((), False, (), ())
    people = {one.id: one for one in repo.people()}
    cover = Cover(repo.uncoverings().of(recording.id, person.id), person)
    versions = tuple(_told(one, people, recording, person, cover) for one in chain)
    faults = faults_of(chain)
    changes = () if faults else _changes(repo, recording, chain[-1])
    known = not _hides(cover, chain[-1])
    return ToldSignOff(versions, bool(changes), changes if known else (), faults)


def _told(
    one: SignOff, people: Mapping[str, Person], recording: Recording, person: Person, cover: Cover
) -> ToldVersion:
    hidden = _hides(cover, one)
    mine = person.id in (one.person_id, recording.added_by)
    signer = people.get(one.person_id) or Person(one.person_id, one.person_id, Role.INSTRUCTOR)
    return ToldVersion(one, signer, hidden and not mine, None if hidden else one.facts.get("added_up"))


def _hides(cover: Cover, one: SignOff) -> bool:
    """Tell whether any grade that a version rests on is covered."""
    rests_on = one.facts.get("rests_on") or {}
    return any(cover.hides(grade["step"], grade["side"], one.person_id) for grade in rests_on.get("grades", ()))


def _changes(repo: Repository, recording: Recording, last: SignOff) -> tuple[str, ...]:
    then = last.facts.get("rests_on")
    return () if then is None else changes_since(then, _ground(repo, recording, last.person_id))


def _ground(repo: Repository, recording: Recording, person_id: str) -> Ground:
    sheet = repo.sheet_of(recording)
    return ground_of(recording, sheet, person_id, repo.grades(recording.id), repo.marks(recording.id))


def sign_off_json(repo: Repository, person: Person, recording: Recording) -> dict[str, Any]:
    """Return the sign-off as plain JSON values, with what the person needs to sign.

    Keys are ``versions`` (oldest first, each as `version_json` gives it), ``changed``, ``changes``, ``faults`` and
    ``signing``: None for who may not sign, else the ``findings`` to choose from, the titles of steps that are
    ``ungraded`` and the digest of one's own ``ground``.
    """
    told = sign_off_of(repo, person, recording)
    signing = None
    if may(person, Deed.SIGN_OFF, recording) and recording.checklist_id is not None:
        own = _ground(repo, recording, person.id)
        findings = [{"key": one.value, "words": one.words, "needs_words": one.needs_words} for one in Finding]
        signing = {"findings": findings, "ungraded": list(own.ungraded), "ground": own.digest}
    return {
        "versions": [version_json(one) for one in told.versions],
        "changed": told.changed,
        "changes": list(told.changes),
        "faults": list(told.faults),
        "signing": signing,
    }


def version_json(one: ToldVersion) -> dict[str, Any]:
    """Return a version as plain JSON values."""
    return {
        "version": one.signed.version,
        "result": None if one.finding is None else one.finding.value,
        "words": one.words,
        "conditions": one.conditions,
        "covered": one.covered,
        "person": one.person.code,
        "role": str(one.person.role),
        "at": one.signed.at.isoformat(timespec="seconds"),
        "digest": one.signed.digest,
        "sum": one.sum_words,
        "reasons": [] if one.added_up is None else list(one.added_up["reasons"]),
    }
