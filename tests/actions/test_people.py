from __future__ import annotations

import pytest

from review.actions import people
from review.domain.errors import EntryRefused
from review.domain.model import Role
from review.store.repository import Repository
from tests.store import made


def test_a_known_code_is_the_known_person(repo: Repository) -> None:
    """Asking again, in small letters too, makes nobody new."""
    assert people.ensure(repo, "L-07", Role.LEARNER) == made.LEARNER
    assert people.ensure(repo, " l-07 ", Role.LEARNER) == made.LEARNER
    assert len(repo.people()) == len(made.PEOPLE)


def test_a_new_code_makes_a_person(repo: Repository) -> None:
    """A new person has the code, the role, and an id that says nothing."""
    person = people.ensure(repo, "l-31", Role.PEER)
    assert repo.person("L-31") == person
    assert (person.code, person.role) == ("L-31", Role.PEER)
    assert "31" not in person.id.split("-")


@pytest.mark.parametrize("code", ["Robin", "", "L07", "7-L", "LEARN-1", "L-12345", "L-07\n-", "Л-07"])
def test_a_name_is_no_code(repo: Repository, code: str) -> None:
    """Only letters, a hyphen and digits are taken, so that no name lands in the files."""
    with pytest.raises(EntryRefused, match=r"such as L-07\. Use no names"):
        people.ensure(repo, code, Role.LEARNER)
    assert len(repo.people()) == len(made.PEOPLE)


def test_one_code_has_one_role(repo: Repository) -> None:
    """A code that is known as something else is refused, and stays what it was."""
    with pytest.raises(EntryRefused, match="L-07 is known as learner, and came as instructor"):
        people.ensure(repo, "L-07", Role.INSTRUCTOR)
    assert repo.person("L-07").role is Role.LEARNER
