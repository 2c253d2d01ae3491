from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from review.domain.signoff import (
    Finding,
    Signing,
    SignOff,
    canonical,
    digest_of,
    faults_of,
    signed,
)
from tests.store import made

WHEN = datetime(2026, 3, 9, 17, 5, 0, 250, tzinfo=UTC)
RECORDING = made.recording()


def chain(*conditions: str) -> list[SignOff]:
    """Sign one version after the other."""
    versions: list[SignOff] = []
    for words in conditions:
        says = Signing(Finding.WITH_CONDITIONS, words, {"grades": []}, None)
        versions.append(signed(RECORDING, made.INSTRUCTOR, WHEN, versions[-1] if versions else None, says))
    return versions


def test_canonical_text_is_that_of_the_standard() -> None:
    """Keys in order, no blanks, shortest escapes, letters as they are: the literals of RFC 8785, 3.2.2 and 3.2.3."""
    facts = {"string": '€$\u000f\nA\'B"\\\\"/', "literals": [None, True, False], "1": 1}
    text = '{"1":1,"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    assert canonical(facts) == text
    assert digest_of(text) == hashlib.sha256(text.encode()).hexdigest()


def test_a_statement_says_all_that_was_signed() -> None:
    """Who, when, what of, the finding, the conditions, and the version before; the first one has none."""
    first, second = chain("Guard the fall again.", "Guard shown on 9 March.")
    assert first.facts["previous"] is None
    assert second.facts["previous"] == first.digest
    assert second.facts["signed_by"] == {"id": "p-instructor", "code": "I-01", "role": "instructor"}
    assert (second.version, second.finding, second.conditions) == (
        2,
        Finding.WITH_CONDITIONS,
        "Guard shown on 9 March.",
    )
    assert second.facts["at"] == "2026-03-09T17:05:00.000250+00:00"
    assert faults_of([first, second]) == ()


def _forged(one: SignOff, words: str) -> SignOff:
    """Put other words into a version, with a digest that fits them."""
    statement = one.statement.replace(one.conditions, words)
    return replace(one, statement=statement, digest=digest_of(statement))


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda a, b, c: [a, replace(b, statement=b.statement.replace("two", "2")), c], "Version 2 is not as it was"),
        (lambda a, b, c: [a, _forged(b, "forged"), c], "Version 3 does not follow"),
        (lambda a, b, c: [a, c], "Version 2 is missing; version 3 stands in its place. Version 3 does not follow"),
        (lambda a, b, c: [a, b, replace(c, person_id="p-peer")], "Version 3 is kept under another"),
        (lambda a, b, c: [a, replace(b, statement="{"), c], "Version 2 is not as it was"),
        (lambda a, b, c: [a, b, replace(c, at=datetime(2027, 1, 1, tzinfo=UTC))], "Version 3 is kept under another"),
    ],
    ids=["changed", "changed with its digest", "left out", "another signer", "no JSON", "another time"],
)
def test_what_is_changed_afterwards_is_told(spoil: object, told: str) -> None:
    """A version that is changed, left out or put under another name no longer fits."""
    assert callable(spoil)
    assert " ".join(faults_of(spoil(*chain("one", "two", "three")))).startswith(told)


def test_a_version_that_cannot_be_read_says_nothing() -> None:
    """Its finding and conditions are empty rather than guessed."""
    broken = replace(chain("one")[0], statement="[]")
    assert (broken.finding, broken.conditions) == (None, "")
