"""Eye closure: lids with known gaps, sides, edges and intervals."""

import numpy as np
import pytest

from review.domain.model import Event, Reason
from review.domain.tracks import NOT_FOUND, NOT_LOOKED, cut, empty_tracks
from review.measures import measure
from review.measures.eye_closure import (
    MIN_FACE_PX,
    closed_by_eye,
    closed_share,
    closures,
    eye_aspect_ratio,
    eye_events,
    longest_closure,
)
from tests.synthetic_face import Face, face_tracks, rendered_face, steps

TIMES = np.arange(0, 6, 1 / 30)


def face_shut(left: list[tuple[float, float]], right: list[tuple[float, float]]) -> Face:
    """Lids that are down, by weight and by aspect ratio, in the stretches given for each eye."""
    shut = [[(a, b) for a, b in stretches] for stretches in (left, right)]
    blink = tuple(steps(TIMES, 0.1, *((a, b, 0.8) for a, b in stretches)) for stretches in shut)
    ratio = tuple(steps(TIMES, 0.3, *((a, b, 0.03) for a, b in stretches)) for stretches in shut)
    return Face(blink=(blink[0], blink[1]), ratio=(ratio[0], ratio[1]))


def told(events: tuple[Event, ...]) -> list[tuple[str, str | None]]:
    """Kind and side alone."""
    return [(event.kind, event.side) for event in events]


@pytest.mark.parametrize(("half_gap", "ratio"), [(5.0, 0.3333), (2.0, 0.1333), (0.5, 0.0333)])
def test_eye_aspect_ratio_by_its_formula(half_gap: float, ratio: float):
    """Lids at +-h over a third and two thirds of an eye 30 wide give 4 h / 60 (Soukupova and Cech 2016)."""
    h = half_gap
    lids = [(0, 0), (10, h), (20, h), (30, 0), (20, -h), (10, -h)]
    assert eye_aspect_ratio(lids) == pytest.approx(ratio, abs=5e-5)


def test_aspect_ratio_does_not_change_with_size_or_tilt():
    """It is a ratio of lengths."""
    lids = np.array([(0, 0), (10, 4), (20, 5), (30, 0), (20, -3), (10, -4)])
    turn = np.radians(36)
    turned = 2.5 * lids @ [[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]] + 40
    assert eye_aspect_ratio(turned) == pytest.approx(eye_aspect_ratio(lids))


def test_closure_is_the_mean_of_the_two_readings():
    """Weight 0.6 and a ratio of 0.12 against an own open 0.3 give (0.6 + 0.6) / 2."""
    blink, ratio = steps(TIMES, 0.0, (3, 4, 0.6)), steps(TIMES, 0.3, (3, 4, 0.12))
    trace = closed_by_eye(face_tracks(TIMES, Face(blink=(blink, 0.0), ratio=(ratio, 0.3))))
    assert trace.attrs["units"] == "1"
    np.testing.assert_allclose(trace.sel(side="left", time=slice(3.01, 3.99)), 0.6, atol=1e-6)
    np.testing.assert_allclose(trace.sel(side="right"), 0.0, atol=1e-6)


@pytest.mark.parametrize("own_open", [0.2, 0.3, 0.4], ids=["narrow eyes", "usual eyes", "wide eyes"])
def test_open_is_the_persons_own(own_open: float):
    """The same share of the own opening reads the same closure, however wide the eyes are."""
    ratio = steps(TIMES, own_open, (3, 4, 0.4 * own_open))
    trace = closed_by_eye(
        face_tracks(TIMES, Face(blink=(steps(TIMES, 0.1, (3, 4, 0.6)), 0.1), ratio=(ratio, own_open)))
    )
    assert float(trace.sel(side="left").max()) == pytest.approx((0.6 + 0.6) / 2, abs=1e-6)


def test_eyes_shut_throughout_are_not_taken_for_open():
    """Without an open moment, shut lids are compared with an open ratio of 0.3: (0.6 + 1 - 0.09 / 0.3) / 2."""
    trace = closed_by_eye(face_tracks(TIMES, Face(blink=(0.6, 0.6), ratio=(0.09, 0.09))))
    np.testing.assert_allclose(trace, 0.65, atol=1e-6)
    (share,) = closed_share(trace)
    assert (share.value, share.high) == (1.0, 1.0)
    assert [estimate.value for estimate in longest_closure(trace)] == pytest.approx([TIMES[-1]] * 2)


def test_blink_held_closure_and_wink_are_told_apart_with_their_side():
    """0.2 s of both eyes is a blink in each, 1.5 s held, and one eye alone a wink of that eye."""
    both = [(1.0, 1.2), (2.0, 3.5)]
    events = eye_events(closed_by_eye(face_tracks(TIMES, face_shut([*both, (4.5, 5.0)], both))))
    assert told(events) == [
        ("blink", "left"),
        ("blink", "right"),
        ("held", "left"),
        ("held", "right"),
        ("wink", "left"),
    ]


def test_blink_inside_a_wink_stays_a_blink_of_the_other_eye():
    """The right eye is winked for 1 s; a 0.2 s closure of the left within it is a blink."""
    events = eye_events(closed_by_eye(face_tracks(TIMES, face_shut([(2.4, 2.6)], [(2.0, 3.0)]))))
    assert told(events) == [("wink", "right"), ("blink", "left")]


def test_blink_cut_off_before_the_other_eye_shut_is_no_wink():
    """The stretch ends in the frame in which the first of both eyes closes."""
    last = (TIMES[-1], TIMES[-1])
    assert told(eye_events(closed_by_eye(face_tracks(TIMES, face_shut([], [last]))))) == [("blink", "right")]


def test_other_eye_merely_narrower_is_not_closed():
    """During a wink the open eye narrows to two thirds with a weight of 0.31: no event of that eye."""
    face = Face(
        blink=(steps(TIMES, 0.1, (2, 3, 0.62)), steps(TIMES, 0.1, (2, 3, 0.31))),
        ratio=(steps(TIMES, 0.3, (2, 3, 0.12)), steps(TIMES, 0.3, (2, 3, 0.2))),
    )
    assert told(eye_events(closed_by_eye(face_tracks(TIMES, face)))) == [("wink", "left")]


def test_edges_lie_between_the_last_closed_and_the_first_open_frame():
    """A closure in the frames from 2 s to 3 s begins within one frame before 2 s and ends within one after 3 s."""
    (event, _) = eye_events(closed_by_eye(face_tracks(TIMES, face_shut([(2.0, 3.0)], [(2.0, 3.0)]))))
    assert 2.0 - 1 / 30 < event.interval.onset_s < 2.0
    assert 3.0 < event.interval.offset_s < 3.0 + 1 / 30


def test_slowly_opening_lid_counts_as_open_once_it_has_clearly_left():
    """A lid going from 0.8 to 0 over 1 s passes 0.5 at 0.375 s; 0.2 s before it is 0.66, so it leaves at 0.548."""
    times = np.arange(0, 4, 0.005)
    closed = np.interp(times, [0, 1, 1.05, 2, 3], [0, 0, 0.8, 0.8, 0.0])
    (run,) = closures(times, closed)
    assert run.offset_s == pytest.approx(2 + (0.8 - 0.548) / 0.8, abs=0.01)


def test_lapse_of_two_frames_does_not_end_a_closure():
    """A flicker of the reading is not an opening of the eye."""
    closed = np.where((TIMES > 1) & (TIMES < 3), 0.8, 0.1)
    closed[60:62] = 0.45
    assert len(closures(TIMES, closed)) == 1


def test_hole_in_the_film_ends_a_closure_but_widens_the_interval():
    """Shut before and after 2 s that nobody saw: value 1 s, but it may have been all of it."""
    tracks = face_tracks(TIMES, face_shut([(1.0, 4.0)], [(1.0, 4.0)]))
    tracks["face_state"][(TIMES > 2) & (TIMES < 3)] = NOT_FOUND
    left, _ = longest_closure(closed_by_eye(tracks))
    assert left.value == pytest.approx(1.0, abs=0.05)
    assert left.high == pytest.approx(3.0, abs=0.3)
    assert left.reasons == (Reason.FACE_NOT_FOUND,)


def test_longest_closure_lies_within_its_interval_and_names_its_moment():
    """The longest of two closures, 1.5 s, is what the number rests on."""
    left, right = longest_closure(closed_by_eye(face_tracks(TIMES, face_shut([(1, 1.2), (2, 3.5)], [(1, 1.2)]))))
    assert (left.side, right.side) == ("left", "right")
    assert left.low <= 1.5 <= left.high
    assert left.low > 1.3
    assert left.evidence[0].onset_s == pytest.approx(2.0, abs=0.034)
    assert right.high < 0.4


def test_open_eyes_give_zero_not_nothing():
    """Seen throughout and never shut is a value of 0."""
    for estimate in longest_closure(closed_by_eye(face_tracks(TIMES, Face()))):
        assert (estimate.value, estimate.low, estimate.usable) == (0.0, 0.0, 1.0)


def test_share_needs_both_eyes():
    """Both shut for 1 s of 6 s; the wink of 2 s does not count."""
    trace = closed_by_eye(face_tracks(TIMES, face_shut([(1.0, 2.0), (3.0, 5.0)], [(1.0, 2.0)])))
    (share,) = closed_share(trace)
    assert share.value == pytest.approx(31 / 180, abs=0.005)
    assert share.low < share.value < share.high


@pytest.mark.parametrize(
    ("face", "reason"),
    [
        (Face(width_px=MIN_FACE_PX - 1), Reason.FACE_SMALL),
        (Face(angles=(40.0, 0.0, 0.0)), Reason.HEAD_TURNED),
        (Face(angles=(-40.0, 0.0, 0.0)), Reason.HEAD_TURNED),
    ],
    ids=["small", "turned left", "turned right"],
)
def test_refuses_what_it_cannot_see(face: Face, reason: Reason):
    """No number, and the reason why."""
    for estimate in longest_closure(closed_by_eye(face_tracks(TIMES, face))):
        assert (estimate.value, estimate.reasons) == (None, (reason,))


def test_refuses_in_the_dark():
    """Lids in a nearly black picture are noise; brightness is measured only now and then."""
    tracks = face_tracks(TIMES, Face())
    tracks["brightness"][::6] = 0.09
    (share,) = closed_share(closed_by_eye(tracks))
    assert (share.value, share.reasons) == (None, (Reason.TOO_DARK,))


def test_film_nobody_looked_at_gives_no_number():
    """Not looked at is told apart from looked and not found."""
    (share,) = closed_share(closed_by_eye(empty_tracks(TIMES, 640, 480)))
    assert (share.value, share.reasons) == (None, (Reason.NOT_LOOKED,))


def test_frames_left_out_by_the_plan_do_not_break_a_closure():
    """Every second frame looked at gives the same closure as every frame, within one frame."""
    tracks = face_tracks(TIMES, face_shut([(2, 3)], [(2, 3)]))
    tracks["face_state"][1::2] = NOT_LOOKED
    (event, _) = eye_events(closed_by_eye(tracks))
    assert (event.interval.onset_s, event.interval.offset_s) == pytest.approx((2.0, 3.0), abs=1 / 15)


def test_rendered_face_blinks_three_times_and_shuts_once():
    """Rendered lids close fully at 0.53, 4.33 and 8.13 s and are shut tight from 9.5 to 10.5 s."""
    events = eye_events(closed_by_eye(rendered_face()))
    for side in ("left", "right"):
        own = [event for event in events if event.side == side]
        assert [event.kind for event in own] == ["blink", "blink", "blink", "held"]
        middles = [(event.interval.onset_s + event.interval.offset_s) / 2 for event in own]
        assert middles == pytest.approx([0.53, 4.33, 8.13, 10.0], abs=0.07)
        assert own[-1].interval.duration_s == pytest.approx(1.0, abs=0.14)


def test_rendered_stretch_of_shut_eyes_alone_is_closed():
    """The frames in which the rendered eyes are shut read closed also when no open frame is there to compare."""
    (share,) = closed_share(closed_by_eye(cut(rendered_face(), 9.6, 10.4)))
    assert share.value == 1.0


def test_declared_as_measures():
    """Both are found by name with their units."""
    assert measure("eye_closure").unit == "s"
    assert measure("eyes_closed_share").unit == "1"
