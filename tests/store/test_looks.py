"""The trail of who saw, changed or was refused what."""

from __future__ import annotations

from datetime import timedelta

from review.store.database import Database
from review.store.repository import repository
from tests.store import made

HOUR = timedelta(hours=1)


def test_lines_are_found_by_recording_and_by_person(database: Database) -> None:
    """The oldest line comes first; a line may be about no recording, or by nobody known."""
    with repository(database) as repo:
        looks = repo.looks()
        looks.note(None, "a1b2c3", "see this recording", "export", False, made.WHEN + 2 * HOUR)
        looks.note("p-peer", "a1b2c3", "watch this film", "", True, made.WHEN)
        looks.note("p-peer", None, "see this course as a whole", "", False, made.WHEN + HOUR)
        assert [(one.person_id, one.allowed) for one in looks.of("a1b2c3")] == [("p-peer", True), (None, False)]
        assert [one.recording_id for one in looks.by("p-peer")] == ["a1b2c3", None]


def test_the_same_line_is_known_within_its_time(database: Database) -> None:
    """Whoever notes a look can ask first whether the very same one was noted since a moment."""
    same = ("p-peer", "a1b2c3", "watch this film", "")
    with repository(database) as repo:
        looks = repo.looks()
        looks.note(*same, True, made.WHEN)
        assert looks.since(*same, made.WHEN)
        assert not looks.since(*same, made.WHEN + HOUR)
        assert not looks.since("p-other", *same[1:], made.WHEN)


def test_a_line_outlives_its_recording_until_it_is_old(database: Database) -> None:
    """Erasing a recording leaves the trail; lines before a moment can be dropped."""
    with repository(database) as repo:
        repo.looks().note("p-peer", "a1b2c3", "watch this film", "", True, made.WHEN)
        repo.erase_recording("a1b2c3")
    with repository(database) as repo:
        looks = repo.looks()
        assert len(looks.of("a1b2c3")) == 1
        assert looks.drop_before(made.WHEN) == 0
        assert looks.drop_before(made.WHEN + HOUR) == 1
        assert looks.of("a1b2c3") == ()
