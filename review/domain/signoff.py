"""A sign-off: what an instructor finds of an attempt, and what that rests on.

A sign-off is never changed. Whoever finds otherwise later signs the next version, and taking a sign-off back is a
version as well. What is signed is a statement: one JSON object in canonical form, without fractions, so that the same
facts always give the same bytes. Its digest is the SHA-256 of those bytes. Each statement holds the digest of the one
before it: a version that is changed, left out or slipped in later no longer fits those after it.

The digests are no signature by a key. Whoever can write the whole database can write a whole new chain; it is told
apart by a digest that was kept elsewhere, such as on a printed report.

References
----------
RFC 8785, JSON Canonicalization Scheme: keys in order, no blanks, UTF-8, the shortest escapes. FIPS 180-4: SHA-256.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any, Final

from review.domain.model import Person, Recording

FORM: Final = 1
"""Version of the form of statements."""

Facts = Mapping[str, Any]


class Finding(StrEnum):
    """What an instructor finds of an attempt."""

    PASSED = "passed"
    WITH_CONDITIONS = "passed_with_conditions"
    NOT_PASSED = "not_passed"
    AGAIN = "to_be_repeated"

    @property
    def words(self) -> str:
        """The finding in plain words."""
        return self.value.replace("_", " ")

    @property
    def needs_words(self) -> bool:
        """Whether it says nothing without conditions: which ones, or what has to be shown again."""
        return self in (Finding.WITH_CONDITIONS, Finding.AGAIN)


@dataclass(frozen=True, slots=True)
class SignOff:
    """One version of a sign-off, as it was signed.

    Parameters
    ----------
    recording_id, version
        Which attempt, and the how manieth of its versions, from 1.
    person_id, at
        Who signed, and when.
    statement, digest
        What was signed, as canonical JSON, and its SHA-256 as hexadecimal digits.
    """

    recording_id: str
    version: int
    person_id: str
    at: datetime
    statement: str
    digest: str

    @property
    def facts(self) -> Facts:
        """The statement's facts; empty where it is not readable any more, as `faults_of` then says."""
        try:
            found = json.loads(self.statement)
        except ValueError:
            return {}
        return found if isinstance(found, dict) else {}

    @property
    def finding(self) -> Finding | None:
        """What was found; None for a version that takes the one before it back."""
        found = self.facts.get("result")
        return Finding(found) if found in set(Finding) else None

    @property
    def conditions(self) -> str:
        """Conditions of the finding, or why the version before was taken back."""
        return str(self.facts.get("conditions") or "")


def canonical(facts: Facts) -> str:
    """Return facts (texts, whole numbers, yes and no, nothing) as canonical JSON.

    Examples
    --------
    >>> canonical({"b": [1, None], "a": "so"})
    '{"a":"so","b":[1,null]}'
    """
    return json.dumps(facts, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def digest_of(text: str) -> str:
    """Return the SHA-256 of a text in UTF-8, as hexadecimal digits.

    A text that is none, as half a character makes it, has a digest as well: it is told apart, and told of.
    """
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


@dataclass(frozen=True, slots=True)
class Signing:
    """What a version says: finding (None takes the version before back), conditions or reason, and what it rests on."""

    finding: Finding | None
    conditions: str
    rests_on: Facts | None
    added_up: Facts | None


def signed(recording: Recording, person: Person, at: datetime, before: SignOff | None, says: Signing) -> SignOff:
    """Return the version that follows `before`, signed by a person at a moment with a zone."""
    version = 1 if before is None else before.version + 1
    statement = canonical(
        {
            "form": FORM,
            "recording": recording.id,
            "name": recording.name,
            "attempt": recording.attempt,
            "version": version,
            "previous": None if before is None else before.digest,
            "signed_by": {"id": person.id, "code": person.code, "role": str(person.role)},
            "at": at.isoformat(),
            "result": None if says.finding is None else says.finding.value,
            "conditions": says.conditions,
            "rests_on": says.rests_on,
            "added_up": says.added_up,
        }
    )
    return SignOff(recording.id, version, person.id, at, statement, digest_of(statement))


def faults_of(chain: Sequence[SignOff]) -> tuple[str, ...]:
    """Say, in sentences, where versions were changed after they were signed, or one is missing; empty for none.

    Parameters
    ----------
    chain
        All versions of one recording, oldest first.
    """
    told: list[str] = []
    before: str | None = None
    for place, one in enumerate(chain, 1):
        if one.version != place:
            told.append(f"Version {place} is missing; version {one.version} stands in its place.")
        told += _faults(one, before)
        before = one.digest
    return tuple(told)


def _faults(one: SignOff, before: str | None) -> list[str]:
    facts, name = one.facts, f"Version {one.version}"
    if digest_of(one.statement) != one.digest:
        return [f"{name} is not as it was signed: its statement does not give the digest {one.digest[:12]}."]
    told = [] if facts.get("previous") == before else [f"{name} does not follow the version before it."]
    signer = facts.get("signed_by")
    kept = (one.recording_id, one.version, one.person_id, one.at.isoformat())
    said = (
        facts.get("recording"),
        facts.get("version"),
        isinstance(signer, dict) and signer.get("id"),
        facts.get("at"),
    )
    return told if kept == said else [*told, f"{name} is kept under another recording, person or time than it says."]
