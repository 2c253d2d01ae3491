"""Stance width of drawn people whose true stance is known."""

import numpy as np
import pytest

from review.domain.model import Reason
from review.domain.tracks import FOUND, NOT_FOUND, NOT_LOOKED, POSE_POINTS, empty_tracks
from review.measures import measure
from review.measures.stance_width import feet_together, shoulder_turn_deg, stance_width
from tests.synthetic import SHOULDER_WIDTH, clock, standing

RATIO, MM = measure("stance_width"), measure("stance_width_mm")
FIVE_SECONDS = clock(5)


@pytest.mark.parametrize(
    "stance",
    [pytest.param(0.3, id="together"), pytest.param(0.9, id="shoulder wide"), pytest.param(1.6, id="widened")],
)
@pytest.mark.parametrize("height_px", [pytest.param(300.0, id="small"), pytest.param(640.0, id="tall")])
def test_ratio_of_a_drawn_stance(stance: float, height_px: float) -> None:
    """The ratio is that of the joint centres, whatever the size in the picture, and lies inside its interval."""
    (estimate,) = RATIO.summarise(RATIO.trace(standing(FIVE_SECONDS, stance=stance, height_px=height_px)))
    assert estimate.value == pytest.approx(stance, abs=1e-3)
    assert estimate.low < stance < estimate.high
    assert estimate.usable == 1.0
    assert estimate.reasons == ()


@pytest.mark.parametrize("turn_deg", [pytest.param(angle, id=f"{angle} deg") for angle in (-15, 0, 15)])
def test_a_small_turn_shortens_both_alike(turn_deg: float) -> None:
    """Feet in line with the shoulders keep their ratio when the person turns a little."""
    (estimate,) = RATIO.summarise(RATIO.trace(standing(FIVE_SECONDS, stance=0.8, turn_deg=turn_deg)))
    assert estimate.value == pytest.approx(0.8, abs=1e-3)


def test_millimetres_come_from_the_height() -> None:
    """A stance of 0.9 shoulder widths of 0.21 heights of 1750 mm is 331 mm."""
    (estimate,) = MM.summarise(MM.trace(standing(FIVE_SECONDS, stance=0.9, height_mm=1750)))
    assert estimate.value == pytest.approx(0.9 * SHOULDER_WIDTH * 1750, rel=1e-3)
    assert estimate.low < 331 < estimate.high


def test_millimetres_need_the_height() -> None:
    """Without a height there is no number and no guess."""
    (estimate,) = MM.summarise(MM.trace(standing(FIVE_SECONDS)))
    assert estimate.value is None
    assert estimate.reasons == (Reason.NO_SCALE,)


def test_noise_widens_the_interval_but_does_not_move_the_median() -> None:
    """Three pixels of jitter leave the ratio where it is."""
    quiet, shaky = (
        RATIO.summarise(RATIO.trace(standing(FIVE_SECONDS, stance=0.9, noise_px=noise)))[0] for noise in (0.0, 3.0)
    )
    assert shaky.value == pytest.approx(0.9, abs=0.02)
    assert shaky.high - shaky.low > quiet.high - quiet.low


def refused(tracks: object) -> tuple[Reason, ...]:
    """Return the reasons for a missing number."""
    (estimate,) = RATIO.summarise(RATIO.trace(tracks))
    assert (estimate.value, estimate.low, estimate.high) == (None, None, None)
    assert estimate.usable == 0.0
    return estimate.reasons


def test_feet_below_the_picture() -> None:
    """Feet cut off by the lower edge are refused."""
    tracks = standing(FIVE_SECONDS, height_px=900.0)
    assert refused(tracks) == (Reason.FEET_OUT_OF_VIEW,)


def test_feet_guessed_but_not_seen() -> None:
    """Feet inside the picture that the model itself doubts are refused."""
    tracks = standing(FIVE_SECONDS)
    tracks["pose_visibility"].loc[{"pose_point": "left_ankle"}] = 0.2
    assert refused(tracks) == (Reason.FEET_OUT_OF_VIEW,)


def test_side_view() -> None:
    """A shoulder line turned by more than 20 deg is refused."""
    assert refused(standing(FIVE_SECONDS, turn_deg=30)) == (Reason.OBLIQUE_VIEW,)
    assert shoulder_turn_deg(standing(FIVE_SECONDS, turn_deg=-30)) == pytest.approx(30, abs=0.1)


def test_seen_from_the_back() -> None:
    """From behind left and right change places in the picture, and the width stays what it is."""
    tracks = standing(FIVE_SECONDS, stance=0.8, turn_deg=180)
    (estimate,) = RATIO.summarise(RATIO.trace(tracks))
    assert estimate.value == pytest.approx(0.8, abs=1e-3)


def test_nobody_and_not_looked() -> None:
    """Nobody found and not looked at are two different refusals."""
    tracks = empty_tracks(FIVE_SECONDS, 1280, 720)
    assert refused(tracks) == (Reason.NOT_LOOKED,)
    tracks["pose_state"].values[:] = NOT_FOUND
    assert refused(tracks) == (Reason.NOBODY_FOUND,)


def test_trace_is_missing_where_the_person_is() -> None:
    """The trace has NaN exactly where nobody was found, and the share of usable frames says so."""
    tracks = standing(FIVE_SECONDS, stance=0.9)
    gone = FIVE_SECONDS < 1
    tracks["pose_state"].values[gone] = NOT_FOUND
    trace = stance_width(tracks)
    assert np.array_equal(np.isnan(trace.values), gone)
    (estimate,) = RATIO.summarise(trace)
    assert estimate.usable == pytest.approx(0.8)
    assert estimate.reasons == (Reason.NOBODY_FOUND,)


def test_frames_that_were_not_asked_for_do_not_count() -> None:
    """Looking at every sixth frame gives the same number and a usable share of one."""
    tracks = standing(FIVE_SECONDS, stance=0.9)
    tracks["pose_state"].values[:] = NOT_LOOKED
    tracks["pose_state"].values[::6] = FOUND
    (estimate,) = RATIO.summarise(stance_width(tracks))
    assert estimate.value == pytest.approx(0.9, abs=1e-3)
    assert estimate.usable == 1.0


def test_together_and_apart_are_told_in_time() -> None:
    """Feet together from 2 s to 4 s give one event with these edges."""
    stance = np.where((FIVE_SECONDS >= 2) & (FIVE_SECONDS <= 4), 0.3, 0.9)
    (event,) = feet_together(stance_width(standing(FIVE_SECONDS, stance=stance)))
    assert event.kind == "feet_together"
    assert event.interval.onset_s == pytest.approx(2, abs=0.034)
    assert event.interval.offset_s == pytest.approx(4, abs=0.034)
    assert event.peak == pytest.approx(0.3, abs=1e-3)


def test_drawing_covers_every_point() -> None:
    """The drawn person has all points of the body model."""
    assert np.isfinite(standing(FIVE_SECONDS)["pose_xy"].values).all()
    assert len(POSE_POINTS) == 33
