"""Head stillness: angles with a known rest and known movements to known sides."""

import numpy as np
import pytest

from review.domain.model import Event, Reason
from review.measures import measure
from review.measures.head_stillness import (
    head_events,
    head_from_rest,
    pitch_range,
    resting_angle,
    roll_extent,
    still_share,
    tilts,
    turns,
    yaw_extent,
)
from tests.synthetic_face import Face, face_tracks, rendered_face, rendered_readings

TIMES = np.arange(0, 10, 1 / 30)


def move(onset: float, offset: float, angle: float) -> np.ndarray:
    """Angle that is held from `onset` to `offset`, with a second of raised cosine on both sides."""
    up = np.clip(TIMES - (onset - 1), 0, 1)
    down = np.clip((offset + 1) - TIMES, 0, 1)
    return angle * (1 - np.cos(np.pi * np.minimum(up, down))) / 2


def told(events: tuple[Event, ...]) -> list[tuple[str, str | None]]:
    """Kind and side alone."""
    return [(event.kind, event.side) for event in events]


def test_rest_is_what_is_kept_longest_not_the_mean():
    """Six of ten seconds at 4 deg and four at 25 deg: rest is 4."""
    assert resting_angle([4.0] * 60 + [25.0] * 40) == pytest.approx(4.0, abs=0.06)


def test_head_held_aside_for_long_is_not_taken_for_rest():
    """Held at 40 deg twice as long as at 0: with rest expected near the camera's direction it is still 0."""
    angles = [0.0] * 60 + [40.0] * 120
    assert resting_angle(angles) == pytest.approx(40.0, abs=0.06)
    assert resting_angle(angles, facing_deg=30.0) == pytest.approx(0.0, abs=0.06)


def test_rest_of_nothing_is_unknown():
    """No sample, no rest."""
    assert np.isnan(resting_angle([np.nan, np.nan]))


def test_a_constant_offset_of_the_model_is_taken_off():
    """A camera from below and a model that reads 5 deg low leave nothing."""
    trace = head_from_rest(face_tracks(TIMES, Face(angles=(3.0, -5.0, 1.0))))
    assert trace.attrs["units"] == "deg"
    np.testing.assert_allclose(trace, 0.0, atol=0.06)


@pytest.mark.parametrize(
    ("angles", "kind", "side"),
    [
        ((30.0, 0.0, 0.0), "turned", "left"),
        ((-30.0, 0.0, 0.0), "turned", "right"),
        ((0.0, 0.0, 30.0), "tilted", "left"),
        ((0.0, 0.0, -30.0), "tilted", "right"),
        ((0.0, 30.0, 0.0), "raised", None),
        ((0.0, -30.0, 0.0), "lowered", None),
    ],
    ids=["own left", "own right", "tilt left", "tilt right", "up", "down"],
)
def test_movement_is_told_with_its_way_and_its_peak(angles: tuple[float, float, float], kind: str, side: str | None):
    """30 deg one way between 4 and 5 s, crossing 10 deg at a known moment of the raised cosine."""
    curve = [move(4, 5, angle) for angle in angles]
    (event,) = head_events(head_from_rest(face_tracks(TIMES, Face(angles=(curve[0], curve[1], curve[2])))))
    assert (event.kind, event.side) == (kind, side)
    assert event.peak == pytest.approx(30.0, abs=0.1)
    crossing = np.arccos(1 - 2 * 10 / 30) / np.pi
    assert event.interval.onset_s == pytest.approx(3 + crossing, abs=0.02)
    assert event.interval.offset_s == pytest.approx(6 - crossing, abs=0.02)


def test_movements_of_less_than_ten_degrees_are_no_events():
    """Small movement costs stillness but is not listed."""
    trace = head_from_rest(face_tracks(TIMES, Face(angles=(move(4, 6, 8.0), 0.0, 0.0))))
    assert head_events(trace) == ()
    assert still_share(trace)[0].value < 0.8


def test_still_share_is_the_time_within_five_degrees_of_rest():
    """Turned by 20 deg for 2 s and on the way beyond 5 deg for two known parts of a second, of 10 s."""
    (share,) = still_share(head_from_rest(face_tracks(TIMES, Face(angles=(move(4, 6, 20.0), 0.0, 0.0)))))
    away = 2 + 2 * (1 - np.arccos(1 - 2 * 5 / 20) / np.pi)
    assert share.value == pytest.approx(1 - away / TIMES[-1], abs=0.01)
    assert share.low < share.value < share.high


def test_still_head_is_still():
    """A quarter of a degree of jitter leaves the whole time still, and so does the low end of the interval."""
    jitter = np.random.default_rng(3).normal(0, 0.25, (3, len(TIMES)))
    (share,) = still_share(head_from_rest(face_tracks(TIMES, Face(angles=(jitter[0], jitter[1], jitter[2])))))
    assert (share.value, share.high) == (1.0, 1.0)
    assert share.low > 0.95


def test_extent_to_each_side_is_measured_from_rest():
    """40 deg to own left and 25 deg to own right of a rest at 3 deg."""
    yaw = 3 + move(2, 3, 37.0) + move(7, 8, -25.0)
    left, right = yaw_extent(head_from_rest(face_tracks(TIMES, Face(angles=(yaw, 0.0, 0.0)))))
    assert (left.side, right.side) == ("left", "right")
    assert (left.value, right.value) == pytest.approx((37.0, 25.0), abs=0.3)
    assert left.low < 37.0 < left.high < 43.0
    assert left.evidence[0].onset_s == pytest.approx(2.5, abs=0.6)


def test_tilt_extent_uses_roll():
    """Tilting alone gives no turn."""
    trace = head_from_rest(face_tracks(TIMES, Face(angles=(0.0, 0.0, move(2, 3, -20.0)))))
    assert [round(estimate.value) for estimate in roll_extent(trace)] == [0, 20]
    assert [round(estimate.value) for estimate in yaw_extent(trace)] == [0, 0]
    assert told(tilts(trace)) == [("tilted", "right")]
    assert turns(trace) == ()


def test_nodding_range_goes_from_the_lowest_to_the_highest():
    """15 deg up and 20 deg down span 35 deg."""
    pitch = move(2, 3, 15.0) + move(7, 8, -20.0)
    (span,) = pitch_range(head_from_rest(face_tracks(TIMES, Face(angles=(0.0, pitch, 0.0)))))
    assert span.value == pytest.approx(35.0, abs=0.3)
    assert span.low < 35.0 < span.high


def test_smile_that_reads_as_a_nod_is_within_the_interval():
    """The model reads a smile as 4.5 deg of nodding: a head that did not nod stays possible."""
    (span,) = pitch_range(head_from_rest(face_tracks(TIMES, Face(angles=(0.0, move(4, 6, -4.5), 0.0)))))
    assert span.value == pytest.approx(4.5, abs=0.2)
    assert span.low == 0.0


def test_turn_out_of_sight_leaves_the_upper_end_open():
    """Beyond 45 deg nothing can be read: the number stays below, its upper end goes to 90 deg on that side only."""
    left, right = yaw_extent(head_from_rest(face_tracks(TIMES, Face(angles=(move(4, 6, 70.0), 0.0, 0.0)))))
    assert left.value < 46
    assert left.high == 90.0
    assert right.high < 5
    assert Reason.HEAD_TURNED in left.reasons


def test_long_turn_is_a_turn_and_not_a_new_rest():
    """Turned to own left for 6 of 10 s: what is reported is that turn, not one to the right at the ends."""
    trace = head_from_rest(face_tracks(TIMES, Face(angles=(move(2, 8, 40.0), 0.0, 0.0))))
    assert told(turns(trace)) == [("turned", "left")]


def test_small_face_makes_the_interval_wider():
    """A face of 50 px is known less well than one of 200 px."""
    wide, narrow = (
        yaw_extent(head_from_rest(face_tracks(TIMES, Face(width_px=width))))[0].high for width in (50.0, 200.0)
    )
    assert wide > 1.3 * narrow


def test_face_never_found_gives_no_number():
    """No face, no angle, and the reason."""
    tracks = face_tracks(TIMES, Face())
    tracks["face_state"][:] = 1
    trace = head_from_rest(tracks)
    for estimate in (*still_share(trace), *yaw_extent(trace), *pitch_range(trace)):
        assert (estimate.value, estimate.reasons) == (None, (Reason.FACE_NOT_FOUND,))


def test_refuses_in_the_dark():
    """Angles read in a nearly black picture are not believed."""
    tracks = face_tracks(TIMES, Face())
    tracks["brightness"][::6] = 0.09
    (share,) = still_share(head_from_rest(tracks))
    assert (share.value, share.reasons) == (None, (Reason.TOO_DARK,))


def test_rendered_head_reads_within_a_degree_and_a_half():
    """Root mean square against the angles that the clip was rendered from, for yaw and roll."""
    trace = head_from_rest(rendered_face())
    truth = rendered_readings()
    for angle in ("yaw", "roll"):
        apart = trace.sel(angle=angle).values - truth[f"true_{angle}"]
        assert np.sqrt(np.mean(apart**2)) < 1.5


def test_rendered_head_movements_are_told_in_order():
    """Rendered: 30 deg to own left, 30 deg to own right, 15 deg of tilt to own left; all within their intervals."""
    trace = head_from_rest(rendered_face())
    assert told(head_events(trace)) == [("turned", "left"), ("turned", "right"), ("tilted", "left")]
    for estimate in yaw_extent(trace):
        assert estimate.low < 30.0 < estimate.high
    tilted, _ = roll_extent(trace)
    assert tilted.low < 15.0 < tilted.high


@pytest.mark.parametrize("name", ["head_yaw_range", "head_pitch_range", "head_roll_range"])
def test_declared_in_degrees(name: str):
    """Extents are in deg."""
    assert measure(name).unit == "deg"
