"""Neck motion: head against trunk, with known turns, bends and nods to known sides."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from review.domain.model import Reason
from review.domain.tracks import NOT_FOUND
from review.measures import measure
from review.measures.learned import learned_elsewhere
from review.measures.neck_motion import (
    neck_extension,
    neck_flexion,
    neck_from_rest,
    neck_rotation,
    rotations,
    side_bends,
)
from review.signals.uncertainty import Bias
from tests.synthetic_head import Head, head_tracks, held, mirrored, thinned

TIMES = np.arange(0, 8, 1 / 30)
LEFT, RIGHT = held(TIMES, 1, 3), held(TIMES, 4, 6)
ROTATION = 40 * LEFT - 25 * RIGHT
NAMES = ("neck_rotation", "neck_flexion", "neck_extension", "neck_side_bend")
PLAIN = dict.fromkeys(NAMES, Bias(offset_sd=1.5, scale_sd=0.04))


@pytest.fixture(autouse=True)
def _plain_biases() -> Iterator[None]:
    """Measure as if the models had no bias: these heads have none, whatever was learned on rendered people."""
    with learned_elsewhere(PLAIN):
        yield


def read(head: Head, name: str, times: np.ndarray = TIMES) -> list[float | None]:
    """Values of a measure, in the order of its estimates."""
    one = measure(name)
    return [estimate.value for estimate in one.summarise(one.trace(head_tracks(times, head)))]


def test_rotation_is_told_to_each_side_from_rest() -> None:
    """40 deg to own left and 25 to own right of a rest at 8 deg, each in its interval."""
    left, right = neck_rotation(neck_from_rest(head_tracks(TIMES, Head(angles=(8 + ROTATION, 0.0, 0.0)))))
    assert (left.side, right.side) == ("left", "right")
    assert (left.value, right.value) == pytest.approx((40, 25), abs=1)
    assert left.low < 40 < left.high < 50
    assert right.low < 25 < right.high < 32


def test_long_turn_is_a_turn_and_not_a_new_rest() -> None:
    """Turned for six of eight seconds, with half a second of rest at either end."""
    left, right = read(Head(angles=(held(TIMES, 0.6, 7.3, 35), 0.0, 0.0)), "neck_rotation")
    assert left == pytest.approx(35, abs=1)
    assert right < 1


def test_nods_are_told_apart() -> None:
    """30 deg down and 20 deg up."""
    trace = neck_from_rest(head_tracks(TIMES, Head(angles=(0.0, -30 * LEFT + 20 * RIGHT, 0.0))))
    (flexion,), (extension,) = neck_flexion(trace), neck_extension(trace)
    assert (flexion.value, extension.value) == pytest.approx((30, 20), abs=1)
    assert [event.kind for event in measure("neck_flexion").events(trace)] == ["flexion"]
    assert [event.kind for event in measure("neck_extension").events(trace)] == ["extension"]


def test_lean_of_the_shoulders_is_taken_off_a_bend() -> None:
    """A head tilted by 30 deg over shoulders that lean by 8 deg the same way is a bend of 22 deg."""
    left, right = read(Head(angles=(0.0, 0.0, 30 * LEFT), trunk=(0.0, 8 * LEFT)), "neck_side_bend")
    assert left == pytest.approx(22, abs=1)
    assert right < 1


def test_turn_of_the_trunk_is_taken_off_and_said() -> None:
    """A head turned by 40 deg on a trunk that turned by 25 deg is a rotation of 15 deg (to 3 deg), and wider known."""
    (turned, _), (still, _) = (
        neck_rotation(neck_from_rest(head_tracks(TIMES, Head(angles=(40 * LEFT, 0.0, 0.0), trunk=(trunk, 0.0)))))
        for trunk in (25 * LEFT, 0.0)
    )
    assert turned.value == pytest.approx(15, abs=3)
    assert Reason.TRUNK_TURNED in turned.reasons
    assert Reason.TRUNK_TURNED not in still.reasons
    assert turned.high - turned.low > 1.5 * (still.high - still.low)


def test_depth_that_the_model_invents_turns_no_trunk() -> None:
    """The pose model has the shoulders follow the head in depth; in the picture they stay as wide as they were."""
    tracks = head_tracks(TIMES, Head(angles=(40 * LEFT, 0.0, 0.0)))
    tracks["pose_world"].loc[{"pose_point": "left_shoulder", "space3": "z"}] = 0.17 * np.tan(np.radians(15 * LEFT))
    left, _ = neck_rotation(neck_from_rest(tracks))
    assert left.value == pytest.approx(40, abs=1.5)
    assert Reason.TRUNK_TURNED not in left.reasons


def test_turn_beyond_the_face_model_is_read_from_the_body() -> None:
    """Turned by 70 deg, where no face is found any more: nose and ears tell it, within 5 deg."""
    yaw = 70 * LEFT
    tracks = head_tracks(TIMES, Head(angles=(yaw, 0.0, 0.0)))
    lost = yaw > 50
    tracks["face_state"].values[lost] = NOT_FOUND
    tracks["head_angle"].values[lost] = np.nan
    left, _ = neck_rotation(neck_from_rest(tracks))
    assert left.value == pytest.approx(70, abs=5)
    assert left.low < 70 < left.high


def test_turned_far_without_a_body_is_refused() -> None:
    """Beyond 50 deg the face model is not believed alone; with nobody's points beside it nothing is said there."""
    tracks = head_tracks(TIMES, Head(angles=(held(TIMES, -1, 9, 65), 0.0, 0.0)))
    tracks["pose_state"].values[:] = NOT_FOUND
    for estimate in neck_rotation(neck_from_rest(tracks)):
        assert (estimate.value, estimate.reasons) == (None, (Reason.HEAD_TURNED,))


def test_shoulders_out_of_the_picture_are_said() -> None:
    """Without shoulders the trunk counts as still, and that is a reason for doubt."""
    tracks = head_tracks(TIMES, Head(angles=(40 * LEFT, 0.0, 0.0)))
    tracks["pose_visibility"].loc[{"pose_point": ["left_shoulder", "right_shoulder"]}] = 0.1
    left, _ = neck_rotation(neck_from_rest(tracks))
    assert left.value == pytest.approx(40, abs=1)
    assert Reason.BODY_OUT_OF_VIEW in left.reasons


def test_movements_are_told_in_order_from_their_beginning() -> None:
    """Kinds, sides and onsets where they cross 10 deg."""
    trace = neck_from_rest(head_tracks(TIMES, Head(angles=(ROTATION, 0.0, 20 * LEFT - 20 * RIGHT))))
    turned, bent = rotations(trace), side_bends(trace)
    assert [(event.kind, event.side) for event in turned] == [("rotation_left", "left"), ("rotation_right", "right")]
    assert [(event.kind, event.side) for event in bent] == [("side_bend_left", "left"), ("side_bend_right", "right")]
    assert [event.interval.onset_s for event in turned] == pytest.approx([1.133, 4.174], abs=0.03)


def test_noise_invents_no_movement() -> None:
    """A still head with a pixel of noise on every point moves by less than 2 deg and makes no event."""
    tracks = head_tracks(TIMES, Head(noise_px=1.0))
    tracks["head_angle"][:] = np.random.default_rng(1).normal(0, 0.5, tracks["head_angle"].shape)
    for name in NAMES:
        one = measure(name)
        trace = one.trace(tracks)
        assert one.events(trace) == ()
        assert max(estimate.value for estimate in one.summarise(trace)) < 2


MOVING = Head(angles=(ROTATION, -20 * held(TIMES, 6.2, 7.4), 15 * LEFT - 20 * RIGHT), trunk=(0.0, 5 * LEFT))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    "head",
    [replace(MOVING, eye_px=60.0, centre=(256.0, 120.0)), replace(MOVING, centre=(900.0, 500.0))],
    ids=["smaller", "elsewhere"],
)
def test_size_and_place_in_the_picture_do_not_count(name: str, head: Head) -> None:
    """The same movement elsewhere or smaller gives the same numbers."""
    assert read(head, name) == pytest.approx(read(MOVING, name), abs=0.3)


@pytest.mark.parametrize("name", ["neck_rotation", "neck_side_bend"])
def test_in_a_mirror_the_sides_swap(name: str) -> None:
    """What was left is right, with the same numbers."""
    assert read(mirrored(MOVING), name) == pytest.approx(read(MOVING, name)[::-1], abs=0.2)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("rate_hz", [15, 30, 60])
def test_frame_rate_and_lost_frames_hardly_matter(name: str, rate_hz: int) -> None:
    """Other rates and a fifth of the frames dropped give the numbers of the whole film, to 2 deg."""
    times = np.arange(0, 8, 1 / rate_hz)
    left, right = held(times, 1, 3), held(times, 4, 6)
    yaw = 40 * left - 25 * right
    roll = 15 * left - 20 * right
    head = Head(angles=(yaw, -20 * held(times, 6.2, 7.4), roll), trunk=(0.0, 5 * left))
    one = measure(name)
    kept = [estimate.value for estimate in one.summarise(one.trace(thinned(head_tracks(times, head))))]
    assert kept == pytest.approx(read(MOVING, name), abs=2)


@pytest.mark.parametrize("name", NAMES)
def test_declared_in_degrees(name: str) -> None:
    """Angles are in deg."""
    assert measure(name).unit == "deg"
