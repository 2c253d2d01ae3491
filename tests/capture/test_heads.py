"""Every head of a film: where it may be, how it is carried from picture to picture, and that none is left out."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from review.capture.all_heads import find_heads
from review.capture.circles import shows_head
from review.capture.head import Body
from review.capture.head_carrying import carried
from review.capture.head_finders import Found, merged, parts
from review.capture.head_tracks import Following, HeadTracks, believed
from review.capture.probe import probe
from tests.leaving import SIZE, heads, leaving

RNG = np.random.default_rng(7)
SEEN = (5, 6, 7, 8, 9, 10, 20, 21)
NOISE = np.kron(RNG.integers(0, 255, (40, 60)), np.ones((6, 6))).astype(np.uint8)


def _shifted(right: int, down: int) -> npt.NDArray[np.uint8]:
    return np.roll(NOISE, (down, right), axis=(0, 1))


def test_parts_meet_every_place() -> None:
    """Squares of half the height lie within the picture and leave no pixel out, with a quarter in common."""
    seen = np.zeros((300, 400), dtype=int)
    for left, top, side in parts(400, 300, 0.5):
        assert seen[top : top + side, left : left + side].shape == (side, side)
        seen[top : top + side, left : left + side] += 1
    assert seen.min() == 1


@pytest.mark.parametrize(("right", "down"), [(0, 0), (5, -3), (-8, 6)])
def test_a_head_is_carried_as_its_surroundings_move(right: int, down: int) -> None:
    """A picture moved by whole pixels moves the circle by as many of the shown picture, here twice as wide."""
    circle = np.array([360.0, 240.0, 60.0])
    moved = carried(circle, NOISE, _shifted(right, down), 2.0 * NOISE.shape[1])
    np.testing.assert_allclose(moved, circle + np.array([2 * right, 2 * down, 0]), atol=0.5)


def test_a_head_stays_where_nothing_can_be_followed() -> None:
    """Between an even picture and noise no movement can be read: the circle stays."""
    circle = np.array([180.0, 120.0, 30.0])
    np.testing.assert_array_equal(carried(circle, np.full_like(NOISE, 90), NOISE, float(NOISE.shape[1])), circle)


def test_what_was_found_of_one_head_is_put_together() -> None:
    """Circles about one place are one head, the smallest first; one far off, or of quite another size, is another."""
    found = [
        Found(np.array([100.0, 100, 30]), 0),
        Found(np.array([110.0, 100, 20])),
        Found(np.array([300.0, 100, 30]), 1),
        Found(np.array([100.0, 100, 5])),
    ]
    one = merged(found)
    told = sorted((float(each.circle[0]), float(each.circle[2]), each.body, len(each.beside)) for each in one)
    assert told == [(100.0, 5.0, -1, 0), (110.0, 20.0, 0, 1), (300.0, 30.0, 1, 0)]


def test_two_bodies_with_one_head_are_nobodys() -> None:
    """Where the heads of two bodies lie upon each other the circle belongs to neither."""
    found = [Found(np.array([100.0, 100, 30]), 0), Found(np.array([108.0, 100, 30]), 1)]
    assert [each.body for each in merged(found)] == [-2]


def test_legs_alone_show_no_head() -> None:
    """A body whose head and shoulders are not seen, as on a film of a knee, has no head in the picture."""
    visibility = np.full(33, 0.9)
    body = Body(np.zeros((33, 2)), visibility, np.zeros((33, 3)))
    assert shows_head(body)
    visibility[:13] = 0.1
    assert not shows_head(body)


def _followed(places: list[tuple[int, int] | None]) -> npt.NDArray[np.float64]:
    """Follow one head over pictures that move by 3 px each look, seen where a place is given."""
    following = Following((NOISE.shape[1], NOISE.shape[0]))
    for look, place in enumerate(places):
        grey = _shifted(3 * look, 0)
        following.expect(grey)
        following.see(look, look / 15, grey, [] if place is None else [Found(np.array([*place, 20.0]))])
    return np.array(following.rows, dtype=np.float64)


def test_a_gap_is_covered_from_both_sides() -> None:
    """Between two sightings every look has the head where the picture moved it to; before the first one as well."""
    seen = [(100 + 3 * look, 120) for look in range(30)]
    places = [place if look in SEEN else None for look, place in enumerate(seen)]
    rows = _followed(places)
    assert set(rows[:, 0]) == {1.0}
    for look, place in enumerate(seen[:22]):
        near = rows[rows[:, 1] == look]
        assert np.hypot(*(near[:, 2:4] - place).T).min() < 1.5
    assert rows[rows[:, 5] == 1][:, 1].tolist() == list(SEEN)


def test_what_is_hardly_seen_again_ends_soon() -> None:
    """One sighting is dropped; two soon after each other are kept with what lies about them, if it is not large."""
    times = np.arange(30) / 15
    once = np.array([[1, look, 0, 0, 9, look == 10, -1] for look in range(8, 20)], dtype=np.float64)
    twice = np.array([[2, look, 0, 0, 9, look in (10, 12), -1] for look in range(0, 20)], dtype=np.float64)
    rows = np.concatenate([once, twice])
    kept = believed(rows, times, {1, 2}, 960)
    assert not kept[:12].any()
    assert np.flatnonzero(kept[12:]).tolist() == list(range(5, 18))
    assert not believed(rows, times, {1, 2}, 80).any()


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the film of one who leaves."""
    return leaving(tmp_path_factory.mktemp("heads") / "leaving.mp4")


@pytest.fixture(scope="module")
def tracks(film: Path) -> HeadTracks:
    """Find its heads."""
    return find_heads(film, probe(film)[1], SIZE)


@pytest.mark.parametrize("person", ["partner", "examiner"])
def test_no_head_is_left_out(tracks: HeadTracks, person: str) -> None:
    """In every look at which a head is in the picture some circle holds its middle, also at the edge."""
    truth = heads(person)
    for look, frame in enumerate(np.round(tracks.time_s * 30).astype(int)):
        circles = tracks.circle[tracks.look == look]
        if np.isfinite(truth[frame]).all():
            assert (np.hypot(*(circles[:, :2] - truth[frame]).T) < 0.7 * circles[:, 2]).any(), (person, look)
