"""Starting a course, and what its owner changes."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from review.actions import courses, inviting
from review.actions.people import ensure
from review.domain.course import CourseRole
from review.domain.errors import EntryRefused, NotAllowed
from review.domain.model import Role
from review.report.members import members, owned
from review.store.home import Home, find_home
from review.store.repository import Repository, reading, repository
from tests.store import made


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make a home with a course of I-01, and L-07 in it."""
    place = find_home(tmp_path / "home")
    with repository(place) as repo:
        courses.start(repo, "balance", "Balance and senses lab", "I-01")
        inviting.invite(repo, repo.person("I-01"), "balance", "L-07", CourseRole.LEARNER, " Tuesday ")
    return place


def test_a_home_with_recordings_is_not_turned_by_mistake(tmp_path: Path) -> None:
    """It is refused with their number; moved, each belongs to its learner, not handed in, with no consent noted."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        made.fill(repo)
        with pytest.raises(EntryRefused, match=r"1 recordings are in this home.*--move-to balance"):
            courses.start(repo, "balance", "Lab", "I-01")
        assert not repo.courses().signing_in()
        courses.start(repo, "balance", "Lab", "I-02", move=True)
        sharing = repo.recording("a1b2c3").sharing
        assert (sharing.course_id, sharing.handed_in_at, sharing.consent) == ("balance", None, None)
        assert repo.person("L-07").courses == {"balance": CourseRole.LEARNER}
        assert repo.person("I-01").courses == {}
        assert repo.person("I-02").courses == {"balance": CourseRole.OWNER}


@pytest.mark.parametrize(
    ("course_id", "title", "owner", "words"),
    [
        ("Balance", "Lab", "I-01", "small letters"),
        ("../x", "Lab", "I-01", "small letters"),
        ("balance", "  ", "I-01", "1 to 120 printable"),
        ("balance", "Lab", "Jane", "Use no names"),
        ("balance", "Lab", "L-07", "known as learner"),
    ],
)
def test_what_is_no_course_is_refused(tmp_path: Path, course_id: str, title: str, owner: str, words: str) -> None:
    """An odd id, an empty title, a name for a code, a learner as owner: nothing is kept, and nobody signs in yet."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        ensure(repo, "L-07", Role.LEARNER)
    with pytest.raises(EntryRefused, match=words), repository(home) as repo:
        courses.start(repo, course_id, title, owner)
    with reading(home) as repo:
        assert not repo.courses().signing_in()
        assert repo.courses().all() == ()


def test_a_home_is_turned_once(home: Home) -> None:
    """A second course is not made this way."""
    with repository(home) as repo, pytest.raises(EntryRefused, match="already"):
        courses.start(repo, "evening", "Evening", "I-02")


def test_the_owner_changes_the_course(home: Home) -> None:
    """Title, days and share are kept within their bounds, and nobody else may."""
    with repository(home) as repo:
        owner = repo.person("I-01")
        courses.set_course(repo, owner, "balance", "Evening lab", 90, 0.2)
        known = repo.courses().get("balance")
        assert (known.title, known.retention_days, known.second_share) == ("Evening lab", 90, 0.2)
        for days, share in ((0, 0.2), (4000, 0.2), (None, 1.1), (None, float("nan"))):
            with pytest.raises(EntryRefused, match="Nothing was changed"):
                courses.set_course(repo, owner, "balance", "Evening lab", days, share)
        with pytest.raises(NotAllowed):
            courses.set_course(repo, repo.person("L-07"), "balance", "Mine", None, 0.0)
        assert repo.courses().get("balance") == known


def test_the_owner_limits_the_course(home: Home) -> None:
    """A limit is kept, stays when the course is changed, and is taken off; nobody else may, and no odd one is kept."""
    with repository(home) as repo:
        owner = repo.person("I-01")
        assert courses.set_quota(repo, owner, "balance", 0.5).quota_bytes == 500_000_000
        courses.set_course(repo, owner, "balance", "Evening lab", 90, 0.2)
        for odd in (0.0, -1.0, 1e7, float("nan"), float("inf")):
            with pytest.raises(EntryRefused, match="Nothing was changed"):
                courses.set_quota(repo, owner, "balance", odd)
        with pytest.raises(NotAllowed):
            courses.set_quota(repo, repo.person("L-07"), "balance", None)
        assert repo.courses().get("balance").quota_bytes == 500_000_000
        assert courses.set_quota(repo, owner, "balance", None).quota_bytes is None
        assert repo.courses().get("balance").quota_bytes is None


def _rows(repo: Repository) -> dict[str, tuple[str, str]]:
    return {row["code"]: (row["role"], row["group"]) for row in members(repo, repo.person("I-01"), "balance")}


def test_the_owner_changes_members(home: Home) -> None:
    """Groups and roles change; a learner stays a learner, and one owner is always left."""
    with repository(home) as repo:
        owner = repo.person("I-01")
        inviting.invite(repo, owner, "balance", "I-02", CourseRole.INSTRUCTOR)
        courses.set_member(repo, owner, "balance", "L-07", CourseRole.LEARNER, "Friday")
        with pytest.raises(EntryRefused, match="known as a learner"):
            courses.set_member(repo, owner, "balance", "L-07", CourseRole.INSTRUCTOR, "")
        with pytest.raises(EntryRefused, match="only owner"):
            courses.set_member(repo, owner, "balance", "I-01", CourseRole.INSTRUCTOR, "")
        with pytest.raises(EntryRefused, match="only owner"):
            courses.remove_member(repo, owner, "balance", "I-01")
        courses.set_member(repo, owner, "balance", "I-02", CourseRole.OWNER, "")
        assert _rows(repo) == {"I-01": ("owner", ""), "I-02": ("owner", ""), "L-07": ("learner", "Friday")}
        courses.remove_member(repo, owner, "balance", "L-07")
        with pytest.raises(EntryRefused, match="does not belong"):
            courses.remove_member(repo, owner, "balance", "L-07")
        assert set(_rows(repo)) == {"I-01", "I-02"}


def test_the_list_tells_who_signs_in_and_who_is_invited(home: Home) -> None:
    """Only the owner reads it; it holds no secret."""
    with reading(home) as repo:
        (owner, learner) = members(repo, repo.person("I-01"), "balance")
        assert (owner["code"], learner["code"], learner["group"]) == ("I-01", "L-07", "Tuesday")
        assert learner["signs_in"] is False
        assert learner["invited_until"] > datetime.now(UTC)
        assert [course.id for course in owned(repo, repo.person("I-01"))] == ["balance"]
        assert owned(repo, repo.person("L-07")) == ()
        with pytest.raises(NotAllowed):
            members(repo, repo.person("L-07"), "balance")
