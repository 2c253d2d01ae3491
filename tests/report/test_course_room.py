"""What those who run a course are told of the room its films take."""

from __future__ import annotations

from pathlib import Path

import pytest

from review.actions import courses
from review.domain.errors import NotAllowed
from review.report.course_room import course_room
from review.store.media import media_folder
from review.store.repository import repository
from tests.teaching import COURSE, cast_of, hand_in, teach


def test_use_and_limit_are_told_to_owners_only(tmp_path: Path) -> None:
    """The original of a recording counts, in words and in bytes; instructors and learners are refused."""
    home = teach(tmp_path / "home", 0.0)
    with repository(home) as repo:
        cast = cast_of(repo)
        film = repo.recording(hand_in(repo, cast["L-01"], 1))
        original = media_folder(home, film.sha256) / "original.mp4"
        original.parent.mkdir(parents=True)
        with original.open("wb") as sparse:
            sparse.truncate(260_000_000)
        told = course_room(home, repo, cast["I-01"], COURSE)
        assert told == {"used_bytes": 260_000_000, "quota_bytes": None, "words": "0.3 GB used; no limit is set"}
        courses.set_quota(repo, cast["I-01"], COURSE, 50)
        assert course_room(home, repo, cast["I-01"], COURSE)["words"] == "0.3 of 50 GB used"
        for code in ("I-02", "L-01"):
            with pytest.raises(NotAllowed):
                course_room(home, repo, cast[code], COURSE)
