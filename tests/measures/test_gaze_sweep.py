"""Gaze sweep: six positions looked at in a known order, by readings with known scales."""

import numpy as np
import pytest

from review.domain.model import Event, Interval, Reason
from review.domain.tracks import NOT_FOUND, cut
from review.measures import measure
from review.measures.gaze_positions import CARDINAL, Limits, holds, vertical_bands
from review.measures.gaze_sweep import (
    MIN_FACE_PX,
    gaze_events,
    gaze_extent,
    gaze_in_head,
    iris_offset,
    positions_reached,
)
from tests.synthetic_face import Face, face_tracks, rendered_face, rendered_readings

RATE_HZ = 30
SPANS = {
    "right": (1.3, 2.1),
    "right_up": (2.4, 3.2),
    "right_down": (3.5, 4.2),
    "left": (4.6, 5.4),
    "left_up": (5.7, 6.5),
    "left_down": (6.8, 7.6),
}
"""Seconds in which the rendered person's eyes rest in each position (from the clip's recipe)."""


def looking(*places: tuple[float, float, float], move_s: float = 0.1) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return times and (across, up) in deg of eyes that stay at each ``(seconds, across, up)``, moving between them."""
    knots, across, up, now = [], [], [], 0.0
    for seconds, x, y in places:
        knots += [now, now + seconds]
        across += [x, x]
        up += [y, y]
        now += seconds + move_s
    times = np.arange(0, knots[-1], 1 / RATE_HZ)
    return times, np.interp(times, knots, across), np.interp(times, knots, up)


def eyes(across: np.ndarray, up: np.ndarray, **other: object) -> Face:
    """Face whose look weights and irises both say the given angles, by the scales of the definition."""
    look = (across / 29.7 + 0.09, up / 60.0 - 0.29)
    iris = (across / 137.0 + 0.006, up / 410.0 + 0.036)
    return Face(look=look, iris=iris, **other)


def sweep(*places: tuple[float, float, float], **other: object):
    """Trace of eyes that go through `places`, beginning and ending in the centre for a second."""
    times, across, up = looking((1.0, 0.0, 0.0), *places, (1.0, 0.0, 0.0))
    return gaze_in_head(face_tracks(times, eyes(across, up, **other)))


def positions(events: tuple[Event, ...]) -> list[str]:
    """Kinds of the cardinal positions alone, in order."""
    return [event.kind for event in events if event.kind in CARDINAL]


H_PATTERN = (
    (0.8, 20.0, 0.0),
    (0.8, 20.0, 13.0),
    (0.8, 20.0, -18.0),
    (0.8, -20.0, 0.0),
    (0.8, -20.0, 13.0),
    (0.8, -20.0, -18.0),
)


def test_iris_offset_is_in_eye_widths_whatever_the_size_and_the_tilt():
    """An iris a tenth of the eye's width towards the second corner and a twentieth up; tilted, twice as big."""
    points = np.array([[12.0, -1.0], [0.0, 0.0], [20.0, 0.0]])
    turn = np.radians(36)
    turned = 2 * points @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + 300
    for iris, start, end in (points, turned):
        np.testing.assert_allclose(iris_offset([iris], [start], [end]), [[0.1, 0.05]])


def test_trace_gives_the_angles_of_both_readings():
    """Weights and irises that agree on an angle give that angle, by sign: own left and up are positive."""
    trace = sweep((1.0, 18.0, 9.0))
    assert trace.attrs["units"] == "deg"
    held = trace.sel(time=slice(1.3, 1.9))
    np.testing.assert_allclose(held.sel(direction="horizontal"), 18.0, atol=0.15)
    np.testing.assert_allclose(held.sel(direction="vertical"), 9.0, atol=0.15)


def test_persons_own_centre_is_zero():
    """Readings off by 3 deg across and 7 deg up throughout change nothing."""
    times, across, up = looking((2.0, 0.0, 0.0), (1.0, 20.0, 0.0))
    trace = gaze_in_head(face_tracks(times, eyes(across + 3.0, up + 7.0)))
    np.testing.assert_allclose(trace.sel(time=slice(0, 1.9)), 0.0, atol=0.15)


def test_six_positions_are_told_in_their_order():
    """The six ends of the letter H, held for 0.8 s each."""
    trace = sweep(*H_PATTERN)
    assert positions(gaze_events(trace)) == ["left", "left_up", "left_down", "right", "right_up", "right_down"]
    (count,) = positions_reached(trace)
    assert (count.value, count.low, count.high) == (6.0, 6.0, 6.0)


@pytest.mark.parametrize("missing", range(6), ids=CARDINAL)
def test_position_left_out_is_not_reported(missing: int):
    """Five of six, whichever is missing, also when it is the level one of a side."""
    places = [place for number, place in enumerate(H_PATTERN) if number != missing]
    trace = sweep(*places)
    assert set(positions(gaze_events(trace))) == set(CARDINAL) - {CARDINAL[missing]}
    assert positions_reached(trace)[0].value == 5.0


def test_up_and_down_are_compared_with_level_of_the_same_side():
    """When looking left lowers every vertical reading by 8 deg, level on the left is still level."""
    leaning = [(seconds, x, y - 8.0 if x > 0 else y) for seconds, x, y in H_PATTERN]
    assert positions(gaze_events(sweep(*leaning))) == list(CARDINAL)


def test_glance_is_not_a_hold():
    """0.2 s at the end of the way do not count."""
    trace = sweep((0.2, 20.0, 0.0), (0.8, -20.0, 0.0))
    assert positions(gaze_events(trace)) == ["right"]


def test_blink_does_not_end_a_hold():
    """A blink of 0.15 s amid 2 s to the right leaves one hold."""
    times, across, up = looking((1.0, 0.0, 0.0), (2.0, -20.0, 0.0))
    shut = (times > 2.0) & (times < 2.15)
    lids = (np.where(shut, 0.8, 0.1), np.where(shut, 0.03, 0.3))
    face = eyes(across, up, blink=(lids[0], lids[0]), ratio=(lids[1], lids[1]))
    trace = gaze_in_head(face_tracks(times, face))
    assert positions(gaze_events(trace)) == ["right"]
    near = (times > 2.0 - 0.1) & (times < 2.15 + 0.06)
    assert (trace["reason"].values[near] == Reason.EYES_CLOSED).all()


def test_turning_the_head_alone_is_no_gaze():
    """Irises seen from the side move by 0.0038 eye widths for each deg of yaw; that much is not the eyes' doing."""
    times, yaw, _ = looking((2.0, 0.0, 0.0), (2.0, 14.0, 0.0), (2.0, -14.0, 0.0), move_s=0.5)
    face = Face(look=(0.09, -0.29), iris=(0.006 + 0.0038 * yaw, 0.036), angles=(yaw, 0.0, 0.0))
    np.testing.assert_allclose(gaze_in_head(face_tracks(times, face)), 0.0, atol=0.15)


def test_hold_begins_where_the_gaze_settles():
    """A way of 1 s to 20 deg comes within 3 deg of it after 0.85 s."""
    times, across, up = looking((1.0, 0.0, 0.0), (1.0, 20.0, 0.0), (1.0, 0.0, 0.0), move_s=1.0)
    (hold,) = holds(times, np.stack([across, up], axis=1), Limits())
    assert (hold.run.onset_s, hold.run.offset_s) == pytest.approx((1.85, 3.15), abs=0.034)


def test_eyes_ahead_give_no_event_and_count_zero():
    """Staying in the centre is not a sweep."""
    trace = sweep((2.0, 0.0, 0.0))
    assert gaze_events(trace) == ()
    assert positions_reached(trace)[0].value == 0.0
    assert [estimate.value for estimate in gaze_extent(trace)] == [None, None]


def test_looking_straight_up_and_down_is_no_cardinal_position():
    """The six lie to the sides."""
    assert positions(gaze_events(sweep((1.0, 0.0, 15.0), (1.0, 0.0, -18.0)))) == []


def test_small_excursion_widens_the_interval_of_the_count():
    """9 deg to the left may or may not have been meant: counted, but the low end leaves it out."""
    (count,) = positions_reached(sweep((1.0, 9.0, 0.0)))
    assert (count.value, count.low) == (1.0, 0.0)


def test_positions_may_hide_where_nothing_was_seen():
    """Half a second without a face leaves the high end at six."""
    times, across, up = looking((1.0, 0.0, 0.0), (1.0, 20.0, 0.0), (2.0, 0.0, 0.0))
    tracks = face_tracks(times, eyes(across, up))
    tracks["face_state"][(times > 2.5) & (times < 3.2)] = NOT_FOUND
    (count,) = positions_reached(gaze_in_head(tracks))
    assert (count.value, count.low, count.high) == (1.0, 1.0, 6.0)
    assert Reason.FACE_NOT_FOUND in count.reasons


@pytest.mark.parametrize(("move_s", "kind"), [(1 / RATE_HZ, "jumped"), (1.0, "smooth")])
def test_way_between_positions_is_smooth_or_jumped(move_s: float, kind: str):
    """20 deg in one frame is a jump, in a second a smooth way."""
    times, across, up = looking((1.0, 0.0, 0.0), (1.0, 20.0, 0.0), move_s=move_s)
    ways = [event for event in gaze_events(gaze_in_head(face_tracks(times, eyes(across, up)))) if event.side is None]
    assert [event.kind for event in ways] == ["centre", kind]


def test_extent_holds_the_truth_of_a_smaller_eye():
    """Held at 24 deg by the scale: from 15 deg (0.75 x 24 - 3) to 36.6 deg (1.4 x 24 + 3)."""
    left, right = gaze_extent(sweep((1.0, 24.0, 0.0)))
    assert left.side == "left"
    assert (left.value, left.low, left.high) == pytest.approx((24.0, 15.0, 36.6), abs=0.3)
    assert (right.value, right.reasons) == (None, (Reason.NOT_SEEN,))


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        ({"width_px": MIN_FACE_PX - 1}, Reason.FACE_SMALL),
        ({"angles": (16.0, 0.0, 0.0)}, Reason.HEAD_TURNED),
        ({"angles": (-16.0, 0.0, 0.0)}, Reason.HEAD_TURNED),
        ({"blink": (0.8, 0.8), "ratio": (0.03, 0.03)}, Reason.EYES_CLOSED),
    ],
    ids=["small face", "turned left", "turned right", "eyes shut"],
)
def test_refuses_what_it_cannot_see(other: dict[str, object], reason: Reason):
    """No count, and the reason why."""
    (count,) = positions_reached(sweep((1.0, 20.0, 0.0), **other))
    assert (count.value, count.reasons) == (None, (reason,))


def test_level_of_three_dwelling_places_is_the_middle_one():
    """Places at 2, 15 and -16 deg: level 2, borders halfway."""
    vertical = np.repeat([2.0, 15.0, -16.0], 30)
    bands = vertical_bands(vertical, np.full(90, 1 / 30))
    assert (bands.level, bands.up, bands.down) == pytest.approx((2.0, 8.5, -7.0), abs=0.5)


def test_level_without_a_dwelling_place_near_it_is_that_of_the_centre():
    """Only up was held: it stays up."""
    bands = vertical_bands(np.full(30, 14.0), np.full(30, 1 / 30))
    assert (bands.level, bands.up) == pytest.approx((0.0, 7.0), abs=0.5)


@pytest.mark.parametrize("noise_deg", [1.0, 2.0])
def test_noise_of_the_readings_does_not_change_the_positions(noise_deg: float):
    """Jitter of up to 2 deg from frame to frame leaves the same six holds."""
    times, across, up = looking((1.0, 0.0, 0.0), *H_PATTERN)
    jitter = np.random.default_rng(11).normal(0, noise_deg, (len(times), 2))
    held = holds(times, np.stack([across, up], axis=1) + jitter, Limits())
    assert [hold.position for hold in held] == list(CARDINAL)


def covered(span: tuple[float, float], interval: Interval) -> float:
    """Share of `span` that `interval` covers."""
    return max(0.0, min(span[1], interval.offset_s) - max(span[0], interval.onset_s)) / (span[1] - span[0])


def test_rendered_sweep_is_told_position_by_position():
    """Each of the six at its true span, begun and ended within 0.2 s of it, and none from any other act."""
    events = [event for event in gaze_events(gaze_in_head(rendered_face())) if event.kind in CARDINAL]
    assert [event.kind for event in events] == list(SPANS)
    for event in events:
        span = SPANS[event.kind]
        assert covered(span, event.interval) > 0.9
        assert event.interval.onset_s > span[0] - 0.2
        assert event.interval.offset_s < span[1] + 0.2


@pytest.mark.parametrize(
    ("onset", "offset", "there"),
    [
        (0.0, 2.2, ["right"]),
        (2.2, 3.3, ["right_up"]),
        (1.2, 4.2, ["right", "right_up", "right_down"]),
        (4.5, 7.7, ["left", "left_up", "left_down"]),
        (5.6, 8.1, ["left_up", "left_down"]),
        (8.0, 15.0, []),
    ],
    ids=["right only", "up without level", "right side", "left side", "left without level", "smile, lids, brows, head"],
)
def test_rendered_part_shows_only_its_own_positions(onset: float, offset: float, there: list[str]):
    """What is not in the stretch is not reported, and head turns, smile and shut eyes are no gaze."""
    assert positions(gaze_events(gaze_in_head(cut(rendered_face(), onset, offset)))) == there


def test_rendered_gaze_angle_is_near_the_truth():
    """Horizontal within 3 deg, vertical within 5 deg root mean square where it is seen."""
    trace, truth = gaze_in_head(rendered_face()), rendered_readings()
    for direction, column, limit in (("horizontal", "across", 3.0), ("vertical", "up", 5.0)):
        apart = trace.sel(direction=direction).values - truth[f"true_gaze_{column}"]
        assert np.sqrt(np.nanmean(apart**2)) < limit


def test_declared_as_measures():
    """Both are found by name with their units."""
    assert (measure("gaze_sweep").unit, measure("gaze_extent").unit) == ("1", "deg")
