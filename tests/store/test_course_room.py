"""What the films of a course take, and whether there is room for another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from review.domain.course import Course, CourseRole, Membership
from review.domain.errors import InputError
from review.domain.sharing import Sharing
from review.store.course_room import expect_course_room, no_course_room, used_bytes
from review.store.home import Home
from review.store.media import media_folder
from review.store.repository import reading, repository
from tests.store import made

COURSE = Course("balance", "Balance lab", made.WHEN)
BESIDE = 100_000 + 10_000 + 1_000
"""What lies beside the original of each film: a copy, tracks and words."""

AddFilm = Callable[[str, str, int], None]


def _write(path: Path, size: int) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"\0" * size)


@pytest.fixture
def add(home: Home) -> AddFilm:
    """Give what adds a recording of L-07, who belongs to two courses, to one of them: its original of so many bytes."""
    with repository(home) as repo:
        made.fill(repo)
        for course in (COURSE, replace(COURSE, id="nerves", title="Nerves")):
            repo.courses().put(course)
            repo.courses().put_member(Membership(course.id, made.LEARNER.id, CourseRole.LEARNER))

    def add_one(identity: str, course_id: str, size: int) -> None:
        film = made.recording(identity, size_bytes=size, sharing=Sharing(course_id))
        with repository(home) as repo:
            repo.add_recording(film)
        _write(media_folder(home, film.sha256) / "original.mp4", size)
        _write(media_folder(home, film.sha256) / "playback.mp4", 100_000)
        _write(home.tracks / film.id / "tracks.zarr" / "pose", 10_000)
        _write(home.tracks / f"{film.id}.words" / "words.json", 1_000)

    return add_one


def _limit(home: Home, quota_bytes: int | None) -> None:
    with repository(home) as repo:
        repo.courses().put(replace(COURSE, quota_bytes=quota_bytes))


def _used(home: Home, course_id: str) -> int:
    with reading(home) as repo:
        return used_bytes(home, repo, course_id)


def test_originals_copies_and_tracks_of_a_courses_recordings_count(home: Home, add: AddFilm) -> None:
    """A recording counts for the one course it was added to, one of no course and a half-arrived film for none."""
    add("aa", "balance", 2_000_000)
    add("bb", "balance", 3_000_000)
    add("cc", "nerves", 7_000_000)
    _write(media_folder(home, made.recording().sha256) / "original.mp4", 9_000_000)
    _write(home.incoming / "ffff" / "arriving.part", 9_000_000)
    assert (_used(home, "balance"), _used(home, "nerves")) == (5_000_000 + 2 * BESIDE, 7_000_000 + BESIDE)


def test_an_original_that_only_a_bucket_has_counts(home: Home, add: AddFilm) -> None:
    """Its size is that of the recording; what lies in the home beside it counts as before."""
    add("aa", "balance", 2_000_000)
    (media_folder(home, made.recording("aa").sha256) / "original.mp4").unlink()
    assert _used(home, "balance") == 2_000_000 + BESIDE


def test_a_film_within_the_limit_comes_and_one_above_is_refused(home: Home, add: AddFilm) -> None:
    """The last byte of the limit may be taken; one more is refused with what came, what is left and what to do."""
    add("aa", "balance", 2_000_000)
    _limit(home, 10_000_000)
    left = 8_000_000 - BESIDE
    expect_course_room(home, "balance", "b.mp4", {"original": left - 100, "tracks": 100})
    with pytest.raises(InputError) as refused:
        expect_course_room(home, "balance", "b.mp4", {"original": left, "tracks": 1})
    assert str(refused.value) == (
        "b.mp4 needs 7.9 MB, and 7.9 MB are left of the 0.01 GB for the films of Balance lab: ask whoever runs the "
        "course, or erase films that are no longer needed, then add it again. Nothing was written."
    )
    assert no_course_room(home, "balance", left) is None
    assert no_course_room(home, "balance", left + 1) == (
        "This film needs 7.9 MB, and 7.9 MB are left of the 0.01 GB for the films of Balance lab: ask whoever runs the "
        "course, or erase films that are no longer needed, then choose the film again."
    )


def test_a_limit_below_what_is_there_leaves_nothing(home: Home, add: AddFilm) -> None:
    """Nothing more comes into that course, and what is there stays; another course takes films as before."""
    add("aa", "balance", 2_000_000)
    _limit(home, 1_000_000)
    with pytest.raises(InputError, match=r"needs 0\.1 MB, and nothing is left of the 0\.001 GB"):
        expect_course_room(home, "balance", "b.mp4", {"original": 1})
    expect_course_room(home, "nerves", "b.mp4", {"original": 10**12})
    expect_course_room(home, None, "b.mp4", {"original": 10**12})
    assert _used(home, "balance") == 2_000_000 + BESIDE


def test_without_a_limit_there_is_room(home: Home, add: AddFilm) -> None:
    """A course has no limit until one is set, and none once it is taken off."""
    add("aa", "balance", 2_000_000)
    assert no_course_room(home, "balance", 10**15) is None
    _limit(home, 1)
    assert no_course_room(home, "balance", 10**15) is not None
    _limit(home, None)
    assert no_course_room(home, "balance", 10**15) is None
