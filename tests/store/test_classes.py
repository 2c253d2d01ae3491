"""Courses, memberships, and who else may see a recording, as they are stored."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from review.domain.course import Course, CourseRole, Membership
from review.domain.errors import EntryRefused, NotFound
from review.domain.sharing import UNSHARED, Audience, Bystanders, Purpose, Request, Sharing
from review.store.database import Database
from review.store.repository import reading, repository
from tests.store import made

COURSE = Course(
    "balance",
    "Fenwick Shore, balance and senses lab",
    made.WHEN,
    retention_days=90,
    second_share=0.2,
    quota_bytes=10**13,
)
REQUEST = Request("a1b2c3", made.PEER.id, Purpose.PEER, made.LEARNER.id, made.WHEN)


@pytest.fixture
def lab(database: Database) -> Database:
    """Give a database with people, a sheet, a recording and a course."""
    with repository(database) as repo:
        repo.courses().put(COURSE)
    return database


def test_a_course_comes_back_as_it_was_put(lab: Database) -> None:
    """Title, date for erasing, share of second raters and a limit of 10 TB survive; an unknown course says so."""
    with reading(lab) as repo:
        assert repo.courses().all() == (COURSE,)
        assert repo.courses().get("balance") == COURSE
        with pytest.raises(NotFound, match="no course 'other'"):
            repo.courses().get("other")


def test_people_know_their_courses_once_people_sign_in(lab: Database) -> None:
    """Before that, nobody has courses; from then on everybody read has them, those without any an empty list."""
    with repository(lab) as repo:
        repo.courses().put_member(Membership("balance", made.LEARNER.id, CourseRole.LEARNER, "Tuesday"))
        assert repo.person("L-07").courses is None
        repo.courses().start_signing_in()
        assert repo.person("L-07").courses == {"balance": CourseRole.LEARNER}
        assert {one.code: dict(one.courses or {}) for one in repo.people()} == {
            "I-01": {},
            "L-07": {"balance": CourseRole.LEARNER},
            "L-12": {},
            "P-03": {},
        }
        repo.courses().drop_member("balance", made.LEARNER.id)
        assert repo.person("L-07").courses == {}


def test_a_recording_comes_with_who_else_may_see_it(lab: Database) -> None:
    """Course, handing in, requests and the newest consent are read with it, by id, by film and in the list."""
    consent = made.consent(version=2, audiences=frozenset({Audience.PEERS}), until=date(2026, 6, 30))
    with repository(lab) as repo:
        assert repo.recording("a1b2c3").sharing == UNSHARED
        repo.sharings().put_in_course("a1b2c3", "balance", made.WHEN)
        repo.sharings().put_request(REQUEST)
        repo.sharings().put_consent(made.consent(bystanders=Bystanders.AGREED))
        repo.sharings().put_consent(consent)
        told = Sharing("balance", made.WHEN, (REQUEST,), consent)
        assert repo.recording("a1b2c3").sharing == told
        assert [one.sharing for one in repo.recordings()] == [told]
        repo.sharings().drop_request("a1b2c3", made.PEER.id)
        assert repo.recording("a1b2c3").sharing == replace(told, requests=())


def test_consents_are_kept_in_all_their_versions(lab: Database) -> None:
    """Each change is a further version; one that is not the next is refused, and nothing changes."""
    first, second = made.consent(), made.consent(version=2, withdrawn=True)
    with repository(lab) as repo:
        repo.sharings().put_consent(first)
        repo.sharings().put_consent(second)
        with pytest.raises(EntryRefused, match="version 2 is the newest"):
            repo.sharings().put_consent(made.consent(version=2))
        assert repo.sharings().consents("a1b2c3") == (first, second)
        assert repo.recording("a1b2c3").sharing.withdrawn


def test_a_new_recording_is_stored_with_its_course(lab: Database) -> None:
    """The course that it was added to is there at once; nobody else was told of it."""
    with repository(lab) as repo:
        repo.add_recording(made.recording("d4e5f6", sharing=Sharing("balance")))
        assert repo.recording("d4e5f6").sharing == Sharing("balance")


def test_erasing_a_recording_takes_along_who_may_see_it(lab: Database) -> None:
    """Consents, requests and handing in go with the recording."""
    with repository(lab) as repo:
        repo.sharings().put_in_course("a1b2c3", "balance")
        repo.sharings().put_request(REQUEST)
        repo.sharings().put_consent(made.consent())
        repo.erase_recording("a1b2c3")
        assert repo.sharings().by_recording() == {}
        assert repo.sharings().consents("a1b2c3") == ()


@pytest.mark.parametrize("asked", ["a1b2", "attempt.mp4", "nothing"])
def test_where_people_sign_in_only_whole_ids_find_a_recording(lab: Database, asked: str) -> None:
    """Names and starts of ids would tell of what others added, so they find nothing, and no name is offered."""
    with repository(lab) as repo:
        repo.courses().start_signing_in()
        assert repo.recording("a1b2c3").name == "attempt.mp4"
        with pytest.raises(NotFound, match="There is no recording") as error:
            repo.recording(asked)
        assert "a1b2c3" not in str(error.value)
