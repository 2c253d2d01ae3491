"""The limit of a course on the pages: what its owner reads, and what an upload is told before it begins."""

from __future__ import annotations

import re
from collections.abc import Iterator
from urllib.parse import urlencode

import pytest

from review.actions import courses
from review.store.repository import reading, repository
from tests.access.asking import ask
from tests.access.school import CODES, COURSE, School, build
from tests.answers import Told

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
    title = "Balance and senses lab"
    assert send(school, "owner", deed="course", course=COURSE, title=title, days="90", percent="20").status == 200
    with reading(school.home) as repo:
        kept = repo.courses().get(COURSE)
    assert (kept.retention_days, kept.quota_bytes) == (90, 10_000_000)


def test_owners_set_the_limit_and_take_it_off(school: School) -> None:
    """The page says what holds now, and its field holds the limit to the byte; empty is no limit."""
    for given, kept, words, used in (
        ("12.345678901", 12_345_678_901, "The films of this course may take 12.345678901 GB now.", "of 12.3457 GB"),
        (" 50 ", 50_000_000_000, "The films of this course may take 50 GB now.", "0.0 of 50 GB used"),
        ("", None, "There is no limit now.", "0.0 GB used; no limit is set"),
        ("0.01", 10_000_000, "The films of this course may take 0.01 GB now.", "0.0 of 0.01 GB used"),
    ):
        done = send(school, "owner", deed="quota", course=COURSE, gigabytes=given)
        page = done.body.decode()
        assert (done.status, f'role="status">{words}<' in page, used in page) == (200, True, True), given
        assert field(page) == given.strip()
        assert limit(school) == kept
    assert limit(school, "other") is None


@pytest.mark.parametrize(
    "odd", ["-5", "0", "0.0000000001", "1000001", "fifty", "none", "50 GB", "0,5", "1e3", "nan", "٣"]
)
def test_what_is_no_limit_is_refused_in_words(school: School, odd: str) -> None:
    """Nothing is changed, what was expected is said, and the field holds the limit that still stands."""
    refused = send(school, "owner", deed="quota", course=COURSE, gigabytes=odd)
    page = refused.body.decode()
    (words,) = re.findall(r'role="alert">(.*?)<', page)
    assert (refused.status, re.search(r"came.*; expected a number", words) is not None) == (
        422,
        True,
    )
    assert words.endswith("Nothing was changed.")
    assert (limit(school), field(page)) == (10_000_000, "0.01")


def test_a_form_without_the_field_takes_no_limit_off(school: School) -> None:
    """Only a field that came empty does."""
    assert send(school, "owner", deed="quota", course=COURSE).status == 422
    assert limit(school) == 10_000_000


@pytest.mark.parametrize("name", ["teacher", "maker", "peer", "elsewhere", "nowhere"])
def test_nobody_else_sets_it(school: School, name: str) -> None:
    """Neither who teaches or learns in the course nor the owner of another one, whose page has its own field."""
    refused = send(school, name, deed="quota", course=COURSE, gigabytes="70")
    assert (refused.status, b"may not invite people to this course" in refused.body) == (
        422 if name == "elsewhere" else 403,
        True,
    )
    assert limit(school) == 10_000_000
    shown = ask(school.home, "GET", f"/course?course={COURSE}", school.logins[name]).body.decode()
    assert ('name="gigabytes"' in shown, f'value="{COURSE}"' in shown) == (name == "elsewhere", False)


def send(school: School, name: str, **given: str) -> Told:
    """Send a form of the page as somebody does."""
    headers = {"Content_Type": "application/x-www-form-urlencoded", "Origin": "http://127.0.0.1:8610"}
    return ask(school.home, "POST", "/course", school.logins[name], urlencode(given).encode(), **headers)


def field(page: str) -> str:
    """Return what the field for the limit holds."""
    (value,) = re.findall(r'<input name="gigabytes" type="text" value="(.*?)"', page)
    return str(value)


def limit(school: School, course: str = COURSE) -> int | None:
    """Return the limit that is kept."""
    with reading(school.home) as repo:
        return repo.courses().get(course).quota_bytes
