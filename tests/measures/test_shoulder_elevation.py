"""Shrugs of drawn people: found, told in time, and of the right side."""

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
from tests.synthetic import HEIGHTS, clock, standing

RISE = measure("shoulder_elevation")
TRUNK = HEIGHTS["shoulder"] - HEIGHTS["hip"]
HEIGHT_PX = 640.0


def held(times: np.ndarray, onset_s: float = 2.0, offset_s: float = 4.0, ramp_s: float = 0.4) -> np.ndarray:
    """Up over `ramp_s` from the onset, held, and down again by the offset; 0 to 1."""
    up = np.clip((times - onset_s) / ramp_s, 0, 1)
    down = np.clip((offset_s - times) / ramp_s, 0, 1)
    return (1 - np.cos(np.pi * np.minimum(up, down))) / 2


def shrugging(
    left: float, right: float, times: np.ndarray | None = None, height_px: float = HEIGHT_PX, **more: object
) -> xr.Dataset:
    """Draw a person whose shoulders rise by these shares of the trunk from 2 to 4 s."""
    times = clock(6) if times is None else times
    tracks = standing(times, height_px=height_px, **{"noise_px": 0.3, **more})
    for side, share in (("left", left), ("right", right)):
        rise = share * TRUNK * height_px * held(times)
        tracks["pose_xy"].loc[{"pose_point": f"{side}_shoulder", "space": "y"}] -= rise
    return tracks


def read(tracks: xr.Dataset) -> tuple[dict[str, Estimate], tuple[Event, ...]]:
    """Return the rises by side as they are read, no bias taken off, and the shrugs."""
    trace = RISE.trace(tracks)
    with learned_elsewhere({"shoulder_elevation": Bias(0.0, 0.01, 1.0, 0.1)}):
        return {str(one.side): one for one in RISE.summarise(trace)}, RISE.events(trace)


@pytest.mark.parametrize("share", [0.05, 0.10, 0.15])
@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
def test_both_shoulders_rise(share: float, rate_hz: float) -> None:
    """The rise is that drawn on both sides, its onset within 0.2 s, and its length the time held."""
    found, (event,) = read(shrugging(share, share, clock(6, rate_hz)))
    for one in found.values():
        assert one.value == pytest.approx(share, abs=0.012)
        assert one.low < share < one.high
    assert (event.kind, event.side) == ("shrug", None)
    assert event.interval.onset_s == pytest.approx(2.0, abs=0.2)
    assert event.interval.offset_s == pytest.approx(4.0, abs=0.2)


@pytest.mark.parametrize(("left", "right"), [(0.12, 0.04), (0.04, 0.12), (0.12, 0.0), (0.0, 0.12)])
def test_sides_are_told_apart(left: float, right: float) -> None:
    """One shoulder that rises more, or alone, is read on its own side."""
    found, _ = read(shrugging(left, right))
    assert found["left"].value == pytest.approx(left, abs=0.02)
    assert found["right"].value == pytest.approx(right, abs=0.02)


def test_what_the_model_reads_too_low_is_put_right() -> None:
    """With the bias learned, a rise that reads two thirds of the truth gives the truth."""
    trace = RISE.trace(shrugging(0.08, 0.08))
    with learned_elsewhere({"shoulder_elevation": Bias(0.0, 0.01, 2 / 3, 0.1)}):
        assert RISE.summarise(trace)[0].value == pytest.approx(0.12, abs=0.015)


@pytest.mark.parametrize("noise_px", [0.0, 1.0, 3.0])
@pytest.mark.parametrize("rate_hz", [15.0, 60.0])
def test_no_shrug_is_invented(noise_px: float, rate_hz: float) -> None:
    """Swaying, rising on the toes and jitter are no shrug; the number is 0 and its interval what went unseen."""

    def lean(times: np.ndarray) -> np.ndarray:
        return 30 * np.sin(2 * np.pi * 0.3 * times)

    tracks = shrugging(0.0, 0.0, clock(20, rate_hz), noise_px=noise_px, sway_px=lean)
    tracks["pose_xy"].loc[{"space": "y"}] -= 20 * held(tracks["time"].values)[:, None]
    found, events = read(tracks)
    assert events == ()
    assert all((one.value, one.low) == (0.0, 0.0) and one.high >= 0.018 for one in found.values())


def test_two_shrugs_are_two() -> None:
    """Shoulders that go down in between have shrugged twice."""
    times = clock(12)
    tracks = shrugging(0.1, 0.1, times)
    again = 0.08 * TRUNK * HEIGHT_PX * held(times, 7.0, 9.0)
    for side in ("left", "right"):
        tracks["pose_xy"].loc[{"pose_point": f"{side}_shoulder", "space": "y"}] -= again
    assert [round(event.interval.onset_s) for event in read(tracks)[1]] == [2, 7]


@settings(max_examples=10, deadline=None)
@given(
    scale=some.floats(0.4, 1.0), right=some.floats(-150, 150), turn_deg=some.floats(-25, 25), seed=some.integers(0, 99)
)
def test_size_place_and_a_small_turn_do_not_matter(scale: float, right: float, turn_deg: float, seed: int) -> None:
    """The same shrug reads the same whatever the size, the place and a small turn."""
    drawn = shrugging(
        *(0.1, 0.06),
        height_px=HEIGHT_PX * scale,
        noise_px=0.2,
        turn_deg=turn_deg,
        seed=seed,
        walk_px=lambda time: np.full(len(time), right),
    )
    found, events = read(drawn)
    assert len(events) == 1
    assert found["left"].value == pytest.approx(0.1, abs=0.015)
    assert found["right"].value == pytest.approx(0.06, abs=0.015)


def test_seen_from_the_back() -> None:
    """From behind the sides stay the person's own."""
    found, _ = read(shrugging(0.12, 0.04, turn_deg=180))
    assert found["left"].value > found["right"].value + 0.05


@pytest.mark.parametrize("seed", range(3))
def test_lost_frames_cost_little(seed: int) -> None:
    """With a fifth of the frames dropped the shrug is still read."""
    tracks = shrugging(0.1, 0.1)
    kept = np.flatnonzero(np.random.default_rng(seed).random(tracks.sizes["time"]) > 0.2)
    found, (event,) = read(tracks.isel(time=kept))
    assert found["left"].value == pytest.approx(0.1, abs=0.012)
    assert event.interval.onset_s == pytest.approx(2.0, abs=0.2)


def test_without_hips_the_scale_is_less_sure() -> None:
    """In a picture of the upper body the trunk's length is guessed from the shoulders."""
    tracks = shrugging(0.12, 0.12)
    whole, _ = read(tracks)
    tracks["pose_visibility"].loc[{"pose_point": ["left_hip", "right_hip"]}] = 0.1
    found, (event,) = read(tracks)
    assert event.interval.onset_s == pytest.approx(2.0, abs=0.2)
    assert found["left"].high - found["left"].low > whole["left"].high - whole["left"].low


def test_a_nod_is_no_shrug() -> None:
    """Ears that come down to shoulders which stay where they are have nodded."""
    tracks = shrugging(0.0, 0.0)
    ears = {"pose_point": ["left_ear", "right_ear"], "space": "y"}
    tracks["pose_xy"].loc[ears] += 0.12 * TRUNK * HEIGHT_PX * held(tracks["time"].values)[:, None]
    assert read(tracks)[1] == ()


def test_raised_arms_are_no_shrug() -> None:
    """While an elbow is above its shoulder nothing is said of the shoulders."""
    tracks = shrugging(0.15, 0.15)
    lifted = held(tracks["time"].values, 1.8, 4.2) > 0.05
    tracks["pose_xy"].loc[{"pose_point": "left_elbow", "space": "y"}] -= 300 * lifted
    found, events = read(tracks)
    assert events == ()
    assert Reason.POSTURE_NOT_HELD in found["left"].reasons


def test_refusals() -> None:
    """A side view, shoulders out of the picture, too short a stretch and nobody have no number but a reason."""
    assert read(shrugging(0.1, 0.1, turn_deg=75))[0]["left"].reasons == (Reason.OBLIQUE_VIEW,)
    assert read(shrugging(0.1, 0.1, clock(0.8)))[0]["left"].reasons == (Reason.TOO_SHORT,)
    tracks = shrugging(0.1, 0.1)
    tracks["pose_visibility"].loc[{"pose_point": "left_shoulder"}] = 0.1
    assert read(tracks)[0]["left"].reasons == (Reason.BODY_OUT_OF_VIEW,)
    tracks["pose_state"].values[:] = NOT_FOUND
    assert read(tracks)[0]["left"].reasons == (Reason.NOBODY_FOUND,)
