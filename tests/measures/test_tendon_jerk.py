"""Jerks of drawn limbs whose angles are known, and the refusals of what cannot be judged."""

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as some

from review.domain.model import Estimate, Event, Reason
from review.domain.tracks import NOT_FOUND
from review.measures import measure
from review.measures.learned import learned_elsewhere
from review.signals.uncertainty import Bias
from tests.synthetic import clock, standing
from tests.synthetic_limbs import pulse, seated

JOINTS = ("elbow", "wrist", "knee")
"""Those whose jerks are sized."""
FOUR_SECONDS = clock(4, 30)


def read(joint: str, tracks: xr.Dataset) -> tuple[dict[str, Estimate], tuple[Event, ...]]:
    """Return the estimates by side as they are read, no bias taken off, and the events."""
    one = measure(f"{joint}_jerk")
    trace = one.trace(tracks)
    with learned_elsewhere({one.name: Bias(0.0, 1.5, 1.0, 0.06)}):
        return {str(estimate.side): estimate for estimate in one.summarise(trace)}, one.events(trace)


def struck(
    joint: str, size_deg: float, times: np.ndarray = FOUR_SECONDS, at_s: float = 1.5, **more: object
) -> xr.Dataset:
    """Draw a left limb whose joint jerks from 100 deg."""
    return seated(times, {joint: 100 + pulse(times, at_s, size_deg)}, **more)


@pytest.mark.parametrize("joint", JOINTS)
@pytest.mark.parametrize("size_deg", [-14.0, 30.0])
@pytest.mark.parametrize("rate_hz", [30.0, 60.0])
def test_size_side_and_onset(joint: str, size_deg: float, rate_hz: float) -> None:
    """The change is read to 3 deg or a fifth, its onset to a frame of a thirtieth, and the other side is quiet."""
    times = clock(4, rate_hz)
    found, events = read(joint, struck(joint, size_deg, times, noise_px=0.1))
    left = found["left"]
    assert left.value == pytest.approx(size_deg, abs=max(3.0, 0.2 * abs(size_deg)))
    assert left.low < size_deg < left.high
    assert found["right"].value == 0.0
    (event,) = events
    assert (event.kind, event.side) == ("jerk", "left")
    assert event.interval.onset_s == pytest.approx(1.5, abs=0.04)
    assert event.peak == left.value


@pytest.mark.parametrize("noise_px", [0.0, 1.5])
@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
@pytest.mark.parametrize("joint", JOINTS)
def test_jitter_alone_is_no_jerk(joint: str, rate_hz: float, noise_px: float) -> None:
    """A limb that hangs still reads 0, and what could have gone unseen is its interval."""
    found, events = read(joint, seated(clock(20, rate_hz), noise_px=noise_px))
    assert events == ()
    assert [one.value for one in found.values()] == [0.0, 0.0]
    assert all(one.low <= -3 and one.high >= 3 for one in found.values())


@settings(max_examples=10, deadline=None)
@given(
    size=some.floats(0.5, 1.0),
    right=some.floats(-60, 200),
    down=some.floats(-100, 20),
    mirrored=some.booleans(),
    seed=some.integers(0, 99),
)
def test_place_size_and_mirror_do_not_matter(size: float, right: float, down: float, mirrored: bool, seed: int) -> None:
    """A jerk is the same anywhere, at any size; mirrored, it is that of the other side."""
    at = (250.0 + right, 180.0 + down)
    found, _ = read("knee", struck("knee", 20.0, noise_px=0.1, size=size, at=at, mirrored=mirrored, seed=seed))
    own, other = ("right", "left") if mirrored else ("left", "right")
    assert found[own].value == pytest.approx(20, abs=1.5)
    assert found[other].value in (0.0, None)


@pytest.mark.parametrize("seed", range(5))
def test_lost_frames_cost_little(seed: int) -> None:
    """With a fifth of the frames dropped the jerk is still there."""
    times = clock(4, 60)
    kept = np.random.default_rng(seed).random(len(times)) > 0.2
    found, events = read("knee", struck("knee", 20.0, times).isel(time=np.flatnonzero(kept)))
    assert found["left"].value == pytest.approx(20, abs=2)
    assert events[0].interval.onset_s == pytest.approx(1.5, abs=0.05)


def test_few_frames_a_second_are_marked() -> None:
    """At 15 frames a second the number is weak."""
    found, _ = read("knee", struck("knee", 25.0, clock(4, 15)))
    assert found["left"].reasons == (Reason.RATE_LOW,)


def test_a_limb_that_was_moving_is_marked() -> None:
    """A drift of 4.5 deg in the 0.3 s before makes the number weak."""
    drift = 15 * np.clip(FOUR_SECONDS, 0, 1.6)
    found, _ = read("knee", seated(FOUR_SECONDS, {"knee": 80 + drift + pulse(FOUR_SECONDS, 1.5, 30.0)}))
    assert found["left"].reasons == (Reason.LIMB_NOT_RELAXED,)


@pytest.mark.parametrize("view_deg", [-55.0, 55.0])
def test_an_oblique_view_keeps_that_it_moved(view_deg: float) -> None:
    """Turned out of the picture plane there is no angle, but the jerk is still told, without a size."""
    found, events = read("knee", struck("knee", 30.0, view_deg=view_deg))
    assert found["left"].value is None
    assert found["left"].reasons == (Reason.OBLIQUE_VIEW,)
    assert [(event.kind, event.side, event.peak) for event in events] == [("jerk", "left", None)]


def test_a_foreshortened_limb_is_oblique_whatever_the_guessed_depth() -> None:
    """A thigh that looks half as long as the shank points at the camera, even where the model sees no depth."""
    tracks = struck("knee", 30.0, view_deg=65.0)
    tracks["pose_world"].values[..., 2] = 0.0
    assert read("knee", tracks)[0]["left"].reasons == (Reason.OBLIQUE_VIEW,)


def test_a_small_turn_is_allowed() -> None:
    """Turned by 20 deg the change is still within a fifth."""
    assert read("knee", struck("knee", 30.0, view_deg=20.0))[0]["left"].value == pytest.approx(30, rel=0.2)


def test_a_limb_out_of_the_picture() -> None:
    """A knee outside the picture is refused on its side only."""
    tracks = struck("knee", 20.0)
    tracks["pose_xy"].loc[{"pose_point": "right_ankle", "space": "y"}] = 900.0
    found, _ = read("knee", tracks)
    assert found["right"].reasons == (Reason.LIMB_OUT_OF_VIEW,)
    assert found["left"].value == pytest.approx(20, abs=1)


def test_a_limb_behind_the_other_is_not_judged() -> None:
    """What seems to move in a leg that the struck one covers is not told."""
    tracks = struck("knee", 20.0)
    for part in ("hip", "knee", "ankle"):
        tracks["pose_xy"].loc[{"pose_point": f"right_{part}"}] = tracks["pose_xy"].sel(pose_point=f"left_{part}") + 5
        tracks["pose_visibility"].loc[{"pose_point": f"right_{part}"}] = 0.7
    found, events = read("knee", tracks)
    assert found["right"].reasons == (Reason.LIMB_OUT_OF_VIEW,)
    assert {event.side for event in events} == {"left"}


@pytest.mark.parametrize("joint", ["knee", "ankle"])
def test_a_leg_that_stands_is_not_judged(joint: str) -> None:
    """Whoever stands on the foot shows no reflex of the leg."""
    found, _ = read(joint, standing(FOUR_SECONDS))
    assert found["left"].value is None
    assert Reason.POSTURE_NOT_HELD in found["left"].reasons


def test_nobody_and_too_little() -> None:
    """Nobody found, and a stretch too short to say that nothing moved, have no number."""
    assert read("knee", seated(clock(0.3)))[0]["left"].value is None
    tracks = seated(FOUR_SECONDS)
    tracks["pose_state"].values[:] = NOT_FOUND
    assert read("knee", tracks)[0]["left"].reasons == (Reason.NOBODY_FOUND,)


def with_slack(tracks: xr.Dataset) -> xr.Dataset:
    """Return what the body's model makes of a quick hand: its wrist and knuckles stay where they were at first."""
    slack = tracks.copy(deep=True)
    for part in ("wrist", "index", "pinky"):
        place = slack["pose_xy"].sel(pose_point=f"left_{part}").values
        slack["pose_xy"].loc[{"pose_point": f"left_{part}"}] = np.broadcast_to(place[:1], place.shape)
    return slack


@pytest.mark.parametrize("joint", ["elbow", "wrist"])
def test_the_hand_is_followed_where_the_body_lags(joint: str) -> None:
    """The body's wrist does not move at all: the hand model's points tell the whole jerk."""
    found, (event,) = read(joint, with_slack(struck(joint, 20.0, noise_px=0.1)))
    assert found["left"].value == pytest.approx(20, abs=2)
    assert event.peak == found["left"].value


def test_the_ankle_moves_without_a_number() -> None:
    """The model follows the foot too loosely to say by how many degrees: the movement is told, its size is not."""
    found, events = read("ankle", struck("ankle", 30.0, noise_px=0.1))
    assert [(one.value, one.reasons[0]) for one in found.values()] == [(None, Reason.MODEL_BLIND)] * 2
    assert [(event.kind, event.side) for event in events] == [("jerk", "left")]


@pytest.mark.parametrize("slot", [("hand_xy", 1), ("other_hand_xy", 0), ("other_hand_xy", 1)])
def test_a_hand_taken_for_another_one_is_used(slot: tuple[str, int]) -> None:
    """From the side a hand may be taken for the other one or for somebody else's: the one at the wrist counts."""
    tracks = struck("elbow", 20.0)
    variable, number = slot
    tracks[variable].values[:, number] = tracks["hand_xy"].values[:, 0]
    tracks["hand_xy"].values[:, 0] = np.nan
    assert read("elbow", tracks)[0]["left"].value == pytest.approx(20, abs=2)


def test_two_hands_at_one_wrist_tell_nothing() -> None:
    """Where another hand lies a quarter of a forearm beside the wrist, even for two frames, neither tells an angle.

    One hand that is found twice, a few pixels apart, does not count as two.
    """
    tracks = struck("elbow", 20.0)
    tracks["other_hand_xy"].values[50:52, 0] = tracks["hand_xy"].values[50:52, 0] - [38.0, 0.0]
    left = read("elbow", tracks)[0]["left"]
    assert (left.value, left.reasons) == (None, (Reason.HAND_NOT_FOUND,))
    tracks["other_hand_xy"].values[50:52, 0] = tracks["hand_xy"].values[50:52, 0] - [10.0, 0.0]
    assert read("elbow", tracks)[0]["left"].value == pytest.approx(20, abs=2)


def test_without_a_hand_an_elbow_only_moves_and_a_wrist_is_not_told() -> None:
    """Where the hand was looked for in vain the body's wrist tells that an elbow jerked, not how far."""
    for joint, kinds in (("elbow", ["jerk"]), ("wrist", [])):
        tracks = struck(joint, 25.0, noise_px=0.1)
        tracks["hand_xy"].values[:] = np.nan
        tracks["hand_state"].values[:] = NOT_FOUND
        found, events = read(joint, tracks)
        assert (found["left"].value, found["left"].reasons) == (None, (Reason.HAND_NOT_FOUND,))
        assert [(event.kind, event.peak) for event in events] == [(kind, None) for kind in kinds]


def test_a_wrist_that_passes_the_straight_line_goes_on() -> None:
    """From 170 deg by 25: the hand passes the line of the forearm, and the whole change is told."""
    found, _ = read("wrist", seated(FOUR_SECONDS, {"wrist": 170 + pulse(FOUR_SECONDS, 1.5, 25.0)}))
    assert found["left"].value == pytest.approx(25, abs=2)


def test_angle_is_that_drawn() -> None:
    """All four joints show the angle they were drawn with."""
    drawn = {"elbow": 70.0, "wrist": 160.0, "knee": 110.0, "ankle": 85.0}
    for joint, angle in drawn.items():
        trace = measure(f"{joint}_jerk").trace(seated(FOUR_SECONDS, drawn))
        assert trace.sel(side="left").values == pytest.approx(angle, abs=1e-3)
