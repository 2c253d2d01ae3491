from __future__ import annotations

from datetime import UTC, datetime

import pytest

from review.domain.errors import EntryRefused
from review.domain.signoff import Finding, Signing, SignOff, signed
from review.store.database import Database
from review.store.repository import reading, repository
from tests.store import made

WHEN = datetime(2026, 3, 9, 17, 5, tzinfo=UTC)


def version(before: SignOff | None, words: str) -> SignOff:
    """Sign one more version."""
    says = Signing(Finding.WITH_CONDITIONS, words, {"grades": []}, None)
    return signed(made.recording(), made.INSTRUCTOR, WHEN, before, says)


def test_versions_come_back_as_they_were_signed(database: Database) -> None:
    """Text and digest are kept to the letter, oldest first; the recording's version text tells that there is more."""
    first = version(None, "Guard, näher.")
    second = version(first, "Guard shown.")
    with repository(database) as repo:
        before = repo.version("a1b2c3")
        repo.sign_offs().add(first)
        repo.sign_offs().add(second)
        assert repo.version("a1b2c3") != before
    with reading(database) as repo:
        assert repo.sign_offs().of("a1b2c3") == (first, second)
        assert repo.sign_offs().of("elsewhere") == ()
        assert repo.sign_offs().count("a1b2c3") == 2


def test_no_version_is_left_out_or_written_twice(database: Database) -> None:
    """Only the next number is taken."""
    first = version(None, "One.")
    with repository(database) as repo:
        repo.sign_offs().add(first)
        for one in (first, version(version(first, "Two."), "Three.")):
            with pytest.raises(EntryRefused, match="expected version 2: somebody signed meanwhile"):
                repo.sign_offs().add(one)
        assert repo.sign_offs().of("a1b2c3") == (first,)


def test_sign_offs_go_with_their_recording(database: Database) -> None:
    """Erasing a recording leaves no version of its sign-off."""
    with repository(database) as repo:
        repo.sign_offs().add(version(None, "One."))
        repo.erase_recording("a1b2c3")
        assert repo.sign_offs().of("a1b2c3") == ()
