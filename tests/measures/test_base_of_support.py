"""Steps of drawn feet: each found with its side and onset, none where the feet stay."""

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as some

from review.domain.model import Estimate, Event, Reason
from review.domain.tracks import NOT_FOUND
from review.measures import measure
from tests.synthetic import clock, standing, with_picture

STEPS = measure("base_of_support")
HEIGHT_PX, HEIGHT_CM = 640.0, 175.0
PX_PER_CM = HEIGHT_PX / HEIGHT_CM


def stepped(
    tracks: xr.Dataset, side: str, at_s: float, cm: float, *, down_cm: float = 0.0, back: bool = False, scale: float = 1
) -> xr.Dataset:
    """Move one foot over 0.5 s from `at_s` on, outwards for positive `cm`; with `back` it returns within the time."""
    times = tracks["time"].values
    share = np.clip((times - at_s) / 0.5, 0, 1)
    course = np.sin(np.pi * share) ** 2 if back else (1 - np.cos(np.pi * share)) / 2
    outwards = 1 if side == "left" else -1
    for part in ("ankle", "heel", "foot_index"):
        place = tracks["pose_xy"].sel(pose_point=f"{side}_{part}").values
        place[:, 0] += outwards * cm * PX_PER_CM * scale * course
        place[:, 1] += down_cm * PX_PER_CM * scale * course
        tracks["pose_xy"].loc[{"pose_point": f"{side}_{part}"}] = place
    return tracks


def quiet(times: np.ndarray | None = None, noise_px: float = 0.5, **more: object) -> xr.Dataset:
    """Draw a person who stands with jitter and sways by 2 cm."""
    drawn = {
        "stance": 0.5,
        "height_px": HEIGHT_PX,
        "noise_px": noise_px,
        "sway_px": lambda time: 2 * PX_PER_CM * np.sin(2 * np.pi * 0.4 * time),
        **more,
    }
    return with_picture(standing(clock(6) if times is None else times, **drawn))


def read(tracks: xr.Dataset) -> tuple[Estimate, tuple[Event, ...]]:
    """Return the number of steps, and the steps."""
    trace = STEPS.trace(tracks)
    (estimate,) = STEPS.summarise(trace)
    return estimate, STEPS.events(trace)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("cm", [-5.0, 5.0, 12.0, 40.0])
@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
def test_every_step_is_found(side: str, cm: float, rate_hz: float) -> None:
    """A foot that goes 5 cm or more is a step of its side, told within 0.2 s."""
    estimate, (event,) = read(stepped(quiet(clock(6, rate_hz), stance=0.9), side, 3.0, cm))
    assert estimate.value == 1
    assert estimate.low <= 1 <= estimate.high
    assert (event.kind, event.side) == ("step", side)
    assert event.interval.onset_s == pytest.approx(3.0, abs=0.2)
    assert event.peak == pytest.approx(100 * abs(cm) / HEIGHT_CM, rel=0.15)


@pytest.mark.parametrize("noise_px", [0.0, 0.5, 1.0, 2.0])
@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
def test_quiet_standing_has_no_step(noise_px: float, rate_hz: float) -> None:
    """Sway and jitter for twenty seconds are no step."""
    estimate, events = read(quiet(clock(20, rate_hz), noise_px))
    assert events == ()
    assert (estimate.value, estimate.low) == (0, 0)


def test_a_foot_lifted_and_put_back_is_a_step() -> None:
    """A foot that comes up by 8 cm and goes back to its place has stepped."""
    _, (event,) = read(stepped(quiet(), "right", 2.0, 0.0, down_cm=-8.0, back=True))
    assert event.side == "right"


def test_feet_one_after_the_other_are_two_steps() -> None:
    """A stance widened by both feet in turn is two steps in order."""
    _, events = read(stepped(stepped(quiet(), "left", 2.0, 10.0), "right", 3.5, 10.0))
    assert [event.side for event in events] == ["left", "right"]


def test_both_feet_at_once_are_one_event_without_a_side() -> None:
    """A jump moves both feet at a time."""
    _, events = read(stepped(stepped(quiet(), "left", 2.0, 10.0), "right", 2.0, 10.0))
    assert [event.side for event in events] == [None]


def test_a_foot_that_only_seems_to_follow_is_none() -> None:
    """When one foot goes 20 cm, 6 cm that the model shows of the other at the same time are not believed."""
    _, events = read(stepped(stepped(quiet(), "left", 2.0, 20.0), "right", 2.05, 6.0))
    assert [event.side for event in events] == ["left"]


@settings(max_examples=10, deadline=None)
@given(scale=some.floats(0.4, 1.0), right=some.floats(-150, 150), seed=some.integers(0, 99))
def test_size_and_place_do_not_matter(scale: float, right: float, seed: int) -> None:
    """The same step is found whatever the size of the person and the place in the picture."""
    tracks = quiet(height_px=HEIGHT_PX * scale, noise_px=0.3, seed=seed, walk_px=lambda time: np.full(len(time), right))
    estimate, (event,) = read(stepped(tracks, "left", 3.0, 8.0, scale=scale))
    assert estimate.value == 1
    assert event.peak == pytest.approx(100 * 8 / HEIGHT_CM, rel=0.15)


@pytest.mark.parametrize("seed", range(3))
def test_lost_frames_cost_little(seed: int) -> None:
    """With a fifth of the frames dropped the step is still found."""
    tracks = stepped(quiet(), "left", 3.0, 6.0)
    kept = np.flatnonzero(np.random.default_rng(seed).random(tracks.sizes["time"]) > 0.2)
    _, (event,) = read(tracks.isel(time=kept))
    assert event.interval.onset_s == pytest.approx(3.0, abs=0.2)


def test_mirrored_the_sides_change() -> None:
    """The mirror image of a step of the left foot is one of the right foot."""
    tracks = stepped(quiet(), "left", 3.0, 8.0)
    mirrored = tracks.copy(deep=True)
    for side, other in (("left", "right"), ("right", "left")):
        for name in ("shoulder", "hip", "knee", "ankle", "eye"):
            place = tracks["pose_xy"].sel(pose_point=f"{other}_{name}").values.copy()
            place[:, 0] = 1280 - place[:, 0]
            mirrored["pose_xy"].loc[{"pose_point": f"{side}_{name}"}] = place
    assert [event.side for event in read(mirrored)[1]] == ["right"]


def test_a_moving_camera_is_no_step() -> None:
    """A camera that is knocked moves both feet in the picture, and is told instead."""

    def knock(times: np.ndarray) -> np.ndarray:
        return 30 * np.clip((times - 3) / 0.3, 0, 1)

    tracks = with_picture(standing(clock(6), stance=0.5, walk_px=knock), shift_px=knock)
    estimate, events = read(tracks)
    assert events == ()
    assert Reason.CAMERA_MOVED in estimate.reasons
    assert estimate.high >= 1


def test_refusals() -> None:
    """Feet out of the picture, a side view, nobody there and less than a second have no number but a reason."""
    assert read(quiet(height_px=900.0))[0].reasons == (Reason.FEET_OUT_OF_VIEW,)
    assert read(quiet(turn_deg=70.0))[0].reasons == (Reason.OBLIQUE_VIEW,)
    assert read(quiet(clock(0.8)))[0].reasons == (Reason.TOO_SHORT,)
    tracks = quiet()
    tracks["pose_state"].values[:] = NOT_FOUND
    assert read(tracks)[0].reasons == (Reason.NOBODY_FOUND,)
