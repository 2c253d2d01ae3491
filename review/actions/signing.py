"""Signing a check-off: a finding that rests on the instructor's own grades, by the sheet's own pass rule."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from review.access import Deed, demand
from review.actions.checks import checklist_of
from review.domain.errors import EntryRefused
from review.domain.ground import Ground, changes_since, ground_of
from review.domain.model import Person, Recording
from review.domain.result import Outcome
from review.domain.signoff import Finding, Signing, SignOff, signed
from review.domain.text import check_text
from review.store.repository import Repository

LONGEST: Final = 2000
"""Most characters of conditions or of a reason."""

_AGAINST: Final[dict[Finding, tuple[Outcome, ...]]] = {
    Finding.PASSED: ("not passed", "open"),
    Finding.WITH_CONDITIONS: ("not passed", "open"),
    Finding.NOT_PASSED: ("passed",),
    Finding.AGAIN: (),
}
"""The outcomes by the sheet's rule that each finding contradicts."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What the signer had before their eyes: how many versions there were, and the digest of their own ground."""

    versions: int
    ground: str


def ground(repo: Repository, person: Person, recording: Recording) -> Ground:
    """Return what a person's sign-off of a recording would rest on now."""
    sheet = checklist_of(repo, recording)
    return ground_of(recording, sheet, person.id, repo.grades(recording.id), repo.marks(recording.id))


def sign(
    repo: Repository,
    person: Person,
    recording: Recording,
    finding: Finding,
    conditions: str = "",
    seen: Seen | None = None,
) -> SignOff:
    """Sign a finding as the next version of a recording's sign-off.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who signs.
    recording
        What attempt.
    finding
        What is found of it.
    conditions
        Conditions, what has to be shown again, or why the finding stands against the sheet's pass rule.
    seen
        What the signer saw; None where nobody could have changed anything in between.

    Returns
    -------
    SignOff
        The version as stored.

    Raises
    ------
    NotAllowed
        If the person is no instructor.
    EntryRefused
        If the person has not graded every step; if the finding contradicts the sheet's pass rule, or needs conditions,
        and none are given; if all of it is signed so already; or if what was seen is not so any more.
    """
    demand(person, Deed.SIGN_OFF, recording)
    words, rests_on = _words(conditions), ground(repo, person, recording)
    chain = repo.sign_offs().of(recording.id)
    _check_seen(seen, len(chain), rests_on)
    _check_graded(rests_on)
    _check_rule(rests_on, finding, words)
    if chain and _says_the_same(chain[-1], person, finding, words, rests_on):
        raise EntryRefused(f"Version {chain[-1].version} says all of this already. Nothing was changed.")
    says = Signing(finding, words, rests_on.facts, rests_on.added_up)
    return _add(repo, person, recording, chain, says)


def take_back(repo: Repository, person: Person, recording: Recording, reason: str, seen: Seen | None = None) -> SignOff:
    """Sign that the last version holds no more, and why; that version stays in the history.

    Raises
    ------
    NotAllowed
        If the person is no instructor.
    EntryRefused
        If nothing is signed, no reason is given, or somebody signed since the page was looked at.
    """
    demand(person, Deed.SIGN_OFF, recording)
    words = _words(reason)
    chain = repo.sign_offs().of(recording.id)
    if not chain or chain[-1].finding is None:
        raise EntryRefused("Nothing is signed that could be taken back. Nothing was changed.")
    if seen is not None:
        _check_versions(seen, len(chain))
    if not words:
        raise EntryRefused("No reason came; expected why the sign-off is taken back. Nothing was changed; say why.")
    return _add(repo, person, recording, chain, Signing(None, words, None, None))


def _add(repo: Repository, person: Person, recording: Recording, chain: tuple[SignOff, ...], says: Signing) -> SignOff:
    made = signed(recording, person, datetime.now(UTC), chain[-1] if chain else None, says)
    repo.sign_offs().add(made)
    return made


def _words(given: str) -> str:
    words = check_text(given).strip()
    if len(words) > LONGEST:
        raise EntryRefused(f"{len(words)} characters came; expected at most {LONGEST}. Nothing was changed.")
    return words


def _check_versions(seen: Seen, known: int) -> None:
    if seen.versions != known:
        raise EntryRefused("Somebody signed meanwhile. Nothing was changed; look at that version, then decide.")


def _check_seen(seen: Seen | None, known: int, rests_on: Ground) -> None:
    if seen is None:
        return
    _check_versions(seen, known)
    if seen.ground != rests_on.digest:
        raise EntryRefused(
            "Your grades or marks are not those that you looked at when you signed. Nothing was signed; look at what "
            "they add up to now, then sign."
        )


def _check_graded(rests_on: Ground) -> None:
    missing = rests_on.ungraded
    if missing:
        raise EntryRefused(
            f"A sign-off rests on your own grades; {len(missing)} of {len(rests_on.result.places)} are missing: "
            f"{'; '.join(missing)}. Nothing was signed; grade them, or say that they are not assessable."
        )


def _check_rule(rests_on: Ground, finding: Finding, words: str) -> None:
    outcome, reasons = rests_on.result.outcome, " ".join(rests_on.result.reasons)
    if words:
        return
    if outcome in _AGAINST[finding]:
        raise EntryRefused(
            f"By the sheet's own rule your grades come to: {outcome}. {reasons} Nothing was signed as "
            f"{finding.words!r}; if it is so all the same, say why in the conditions."
        )
    if finding.needs_words:
        raise EntryRefused(
            f"{finding.words.capitalize()!r} came without conditions; expected which ones, or what has to be shown "
            "again. Nothing was signed."
        )


def _says_the_same(last: SignOff, person: Person, finding: Finding, words: str, rests_on: Ground) -> bool:
    then = last.facts.get("rests_on")
    same = (last.person_id, last.finding, last.conditions) == (person.id, finding, words)
    return same and then is not None and not changes_since(then, rests_on)
