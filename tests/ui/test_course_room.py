"""The limit of a course on the pages: what its owner reads, and what an upload is told before it begins."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from review.actions import courses
from review.store.repository import reading, repository
from tests.access.asking import ask
from tests.access.school import CODES, COURSE, School, build

UID = "6666aaaa6666aaaa"


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> School:
    """Build a home to which people sign in; its course may hold 0.01 GB, and holds four films of 1 MB."""
    found = build(tmp_path_factory.mktemp("limited") / "home")
    with repository(found.home) as repo:
        courses.set_quota(repo, repo.person(CODES["owner"]), COURSE, 0.01)
    return found


@pytest.fixture(autouse=True)
def nothing_arrives(school: School) -> Iterator[None]:
    """See to it that no test leaves an upload behind."""
    yield
    assert [path for path in school.home.incoming.rglob("*.part") if path.stat().st_size] == []


def test_the_limit_refuses_before_the_first_slice(school: School) -> None:
    """A film that would lift the course over its limit is refused in words before anything of it is sent."""
    maker = school.logins["maker"]
    room = f"/api/upload/{UID}/room"
    for named in ("", f"&course={COURSE}"):
        assert ask(school.home, "GET", f"{room}?size=6000000{named}", maker).status == 200
        refused = ask(school.home, "GET", f"{room}?size=6000001{named}", maker)
        assert (refused.status, refused.said["message"]) == (
            507,
            "This film needs 6.0 MB, and 6.0 MB are left of the 0.01 GB for the films of Balance and senses lab: ask "
            "whoever runs the course, or erase films that are no longer needed, then choose the film again.",
        )


def test_a_slice_beyond_the_limit_is_refused(school: School) -> None:
    """Whoever sends without asking is refused at the slice that would pass it, and nothing of that is kept."""
    refused = ask(
        school.home, "PUT", f"/api/upload/{UID}?offset=0", school.logins["maker"], b"a", Content_Length="6000001"
    )
    assert (refused.status, "ask whoever runs the course" in refused.said["message"]) == (507, True)


def test_the_limit_of_one_course_is_none_of_another(school: School) -> None:
    """Who belongs to another course sends films to that, however full this one is."""
    assert (
        ask(school.home, "GET", f"/api/upload/{UID[::-1]}/room?size=90000000", school.logins["elsewhere"]).status == 200
    )


def test_owners_read_on_the_page_how_much_is_used(school: School) -> None:
    """The page Course says it in words; instructors and learners have no such page."""
    assert b"0.0 of 0.01 GB used" in ask(school.home, "GET", "/course", school.logins["owner"]).body
    assert b"0.0 GB used; no limit is set" in ask(school.home, "GET", "/course", school.logins["elsewhere"]).body
    for name in ("teacher", "maker"):
        told = ask(school.home, "GET", "/course", school.logins[name])
        assert (told.status, b"GB used" in told.body) == (403, False)


def test_changing_the_course_on_the_page_keeps_its_limit(school: School) -> None:
    """The days change, the limit stays."""
    form = f"deed=course&course={COURSE}&title=Balance+and+senses+lab&days=90&percent=20".encode()
    headers = {"Content_Type": "application/x-www-form-urlencoded", "Origin": "http://127.0.0.1:8610"}
    assert ask(school.home, "POST", "/course", school.logins["owner"], form, **headers).status == 200
    with reading(school.home) as repo:
        kept = repo.courses().get(COURSE)
    assert (kept.retention_days, kept.quota_bytes) == (90, 10_000_000)
