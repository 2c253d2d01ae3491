"""Sway of drawn people: sines whose root mean square, range and velocity are known."""

from collections.abc import Callable

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Estimate, Event, Reason
from review.domain.tracks import NOT_FOUND, cut
from review.measures import measure
from review.measures.learned import bias
from review.measures.postural_sway import feet_moving, postural_sway
from tests.synthetic import clock, shaken, standing, with_picture

HALF_MINUTE = clock(30)
HEIGHT_PX = 640.0
HEIGHT_MM = 1750.0
PX_PER_MM = HEIGHT_PX / HEIGHT_MM


def swaying(amplitude_mm: float, frequency_hz: float = 0.3) -> Callable[[np.ndarray], np.ndarray]:
    """Return a sideways sine of this amplitude, in px over time."""
    return lambda times: amplitude_mm * PX_PER_MM * np.sin(2 * np.pi * frequency_hz * times)


def read(name: str, tracks: xr.Dataset) -> Estimate:
    """Return the one estimate of a measure."""
    one = measure(name)
    (estimate,) = one.summarise(one.trace(tracks))
    return estimate


def drawn(
    amplitude_mm: float,
    noise_px: float = 0.5,
    times: np.ndarray = HALF_MINUTE,
    seen_by: str = "postural_sway_mm",
    **more: object,
) -> xr.Dataset:
    """Draw a person of known height who sways by a sine, as much too far as the models show it to one measure."""
    sway = swaying(bias(seen_by).scale * amplitude_mm)
    given = {"sway_px": sway, "height_px": HEIGHT_PX, "height_mm": HEIGHT_MM, **more}
    return with_picture(standing(times, stance=0.3, noise_px=noise_px, **given))


@pytest.mark.parametrize("amplitude_mm", [pytest.param(a, id=f"{a} mm") for a in (7, 14, 28)])
@pytest.mark.parametrize("noise_px", [pytest.param(n, id=f"jitter {n} px") for n in (0.0, 0.7, 2.0)])
def test_rms_of_a_sine(amplitude_mm: float, noise_px: float) -> None:
    """A sine of amplitude A has the root mean square A / sqrt(2), within a tenth whatever the jitter."""
    estimate = read("postural_sway_mm", drawn(amplitude_mm, noise_px))
    truth = amplitude_mm / np.sqrt(2)
    assert estimate.value == pytest.approx(truth, rel=0.1)
    assert estimate.low < truth < estimate.high


def test_percent_and_millimetres_say_the_same() -> None:
    """One percent of 1750 mm is 17.5 mm."""
    tracks = drawn(14)
    share, length = read("postural_sway", tracks), read("postural_sway_mm", tracks)
    assert length.value == pytest.approx(17.5 * share.value, rel=1e-3)
    assert length.low == pytest.approx(17.5 * share.low, rel=0.01)


def test_range_of_a_sine() -> None:
    """A sine of amplitude A ranges over 2 A."""
    estimate = read("sway_range_mm", drawn(14, seen_by="sway_range_mm"))
    assert estimate.value == pytest.approx(28, rel=0.1)
    assert estimate.low < 28 < estimate.high


def test_velocity_of_a_sine() -> None:
    """A sine of amplitude A and frequency f travels 4 A f a second, though jitter alone would travel far more."""
    estimate = read("sway_velocity_mm", drawn(14, noise_px=0.5, seen_by="sway_velocity_mm"))
    assert estimate.value == pytest.approx(4 * 14 * 0.3, rel=0.15)
    assert estimate.low < 4 * 14 * 0.3 < estimate.high


@pytest.mark.parametrize("noise_px", [pytest.param(n, id=f"jitter {n} px") for n in (0.0, 0.5, 2.0)])
@pytest.mark.parametrize("name", ["postural_sway", "sway_range", "sway_velocity"])
def test_a_motionless_person_is_below_the_noise(name: str, noise_px: float) -> None:
    """Jitter alone never becomes a number, and the moments it was looked for are still given."""
    estimate = read(name, drawn(0.0, noise_px))
    assert estimate.value is None
    assert estimate.reasons[0] is Reason.BELOW_NOISE
    assert estimate.evidence


def test_more_jitter_gives_a_wider_interval() -> None:
    """The same sway under stronger jitter is said with less certainty."""
    quiet, shaky = read("postural_sway", drawn(14, 0.5)), read("postural_sway", drawn(14, 3.0))
    assert shaky.high - shaky.low > quiet.high - quiet.low


def test_noise_floor_is_the_jitter_in_the_band() -> None:
    """White jitter of s px on two ankles leaves s / sqrt(2) times the root of the share of the band that passes."""
    estimate = read("sway_noise_floor", drawn(14, 2.0))
    share = (2.0 / 15.0) * 0.94
    expected = 100 * 2.0 / np.sqrt(2) * np.sqrt(share) / HEIGHT_PX
    assert estimate.value == pytest.approx(expected, rel=0.2)
    assert estimate.low < expected < estimate.high


def test_uneven_clock_gives_the_same() -> None:
    """Frames at uneven times read the same sway."""
    times = shaken(HALF_MINUTE)
    estimate = read("postural_sway_mm", drawn(14, times=times))
    assert estimate.value == pytest.approx(14 / np.sqrt(2), rel=0.05)


def test_a_step_is_left_out_and_does_not_count_as_sway() -> None:
    """Walking 40 px to the side in half a second gives no sway; the standing before and after is measured."""

    def walk(times: np.ndarray) -> np.ndarray:
        return 40 * np.clip((times - 15) / 0.5, 0, 1)

    tracks = drawn(14, walk_px=walk)
    moving = HALF_MINUTE[feet_moving(tracks)]
    assert 14.4 < moving.min() < 15
    assert 15.5 < moving.max() < 16.1
    estimate = read("postural_sway_mm", tracks)
    assert estimate.value == pytest.approx(14 / np.sqrt(2), rel=0.1)
    assert len(estimate.evidence) == 2


def test_standing_still_moves_no_feet() -> None:
    """Sway and jitter alone are no step."""
    assert not feet_moving(drawn(28, 2.0)).any()


def test_a_moving_camera_is_refused() -> None:
    """A camera that pans all the time gives no sway but its reason."""
    tracks = standing(HALF_MINUTE, sway_px=swaying(14), walk_px=lambda times: 20 * np.sin(2 * times))
    estimate = read("postural_sway", with_picture(tracks, shift_px=lambda times: 20 * np.sin(2 * times) + 30 * times))
    assert estimate.value is None
    assert estimate.reasons[0] is Reason.CAMERA_MOVED


def test_a_knocked_camera_costs_its_second_only() -> None:
    """One knock leaves the sway before and after it measurable."""

    def knock(times: np.ndarray) -> np.ndarray:
        return np.where(times > 12, 15.0, 0.0)

    tracks = with_picture(
        standing(HALF_MINUTE, sway_px=swaying(14), walk_px=knock, height_mm=HEIGHT_MM, noise_px=0.5), shift_px=knock
    )
    assert int(Reason.CAMERA_MOVED) in postural_sway(tracks)["reason"].values
    assert read("postural_sway_mm", tracks).value == pytest.approx(14 / np.sqrt(2), rel=0.1)


def test_a_blank_wall_gives_a_number_and_says_what_could_not_be_checked() -> None:
    """A background that cannot be followed is no sign of a moving camera; the number is marked."""
    tracks = drawn(14)
    tracks["background_shift"].values[:] = np.nan
    estimate = read("postural_sway_mm", tracks)
    assert estimate.value == pytest.approx(14 / np.sqrt(2), rel=0.1)
    assert estimate.reasons == (Reason.CAMERA_UNCHECKED,)


def test_a_hand_that_nothing_shows_is_found_in_the_feet() -> None:
    """A camera that sways with the person before a blank wall takes the feet along: never a number that is too sure."""
    shake = swaying(14, 0.41)
    tracks = drawn(14, walk_px=shake)
    tracks["background_shift"].values[:] = np.nan
    estimate = read("postural_sway_mm", tracks)
    assert estimate.reasons[0] in (Reason.BELOW_NOISE, Reason.CAMERA_UNCHECKED)
    assert estimate.value is None or estimate.low < 14 / np.sqrt(2) < estimate.high


def test_knocks_do_not_take_slow_sway_away() -> None:
    """Slow sway (a period of 25 s) keeps its root mean square though the camera is knocked every three seconds."""

    def knocks(times: np.ndarray) -> np.ndarray:
        return 12.0 * np.floor(times / 3)

    gain = bias("postural_sway_mm").scale
    sway = swaying(14 * gain, 1 / 25)
    tracks = with_picture(
        standing(clock(25), sway_px=sway, walk_px=knocks, height_px=HEIGHT_PX, height_mm=HEIGHT_MM, noise_px=0.3),
        shift_px=knocks,
    )
    estimate = read("postural_sway_mm", tracks)
    assert Reason.CAMERA_MOVED in estimate.reasons
    assert estimate.value == pytest.approx(14 / np.sqrt(2), rel=0.1)


@pytest.mark.parametrize(
    ("seconds", "reasons"),
    [
        pytest.param(2.0, (Reason.TOO_SHORT,), id="two seconds give none"),
        pytest.param(12.0, (Reason.TOO_SHORT,), id="twelve seconds are marked short"),
        pytest.param(29.0, (), id="twenty-nine seconds are enough"),
    ],
)
def test_short_stretches(seconds: float, reasons: tuple[Reason, ...]) -> None:
    """Below 3 s there is no number, below 20 s a warning."""
    estimate = read("postural_sway", cut(drawn(14), 0, seconds))
    assert estimate.reasons == reasons
    assert (estimate.value is None) == (seconds < 3)


def test_slow_film_is_marked() -> None:
    """Five frames a second still show slow sway, with a warning."""
    estimate = read("postural_sway_mm", drawn(14, times=clock(30, 5.0)))
    assert Reason.RATE_LOW in estimate.reasons
    assert estimate.value == pytest.approx(14 / np.sqrt(2), rel=0.1)


def test_millimetres_need_the_height() -> None:
    """Without a height there is no number in mm."""
    assert read("postural_sway_mm", drawn(14, height_mm=None)).reasons == (Reason.NO_SCALE,)


@pytest.mark.parametrize(
    ("state", "reason"),
    [pytest.param(NOT_FOUND, Reason.NOBODY_FOUND, id="nobody"), pytest.param(0, Reason.NOT_LOOKED, id="not looked")],
)
def test_nobody_seen(state: int, reason: Reason) -> None:
    """Without a person there is no sway, and no warning is raised on the way."""
    tracks = drawn(14)
    tracks["pose_state"].values[:] = state
    tracks["pose_xy"].values[:] = np.nan
    assert read("postural_sway", tracks).reasons == (reason,)
    assert read("sway_noise_floor", tracks).reasons == (reason,)


def pushed(tracks: xr.Dataset) -> Event:
    """Return the one event of the sway."""
    one = measure("postural_sway")
    assert one.events is not None
    (event,) = one.events(one.trace(tracks))
    return event


def bump(top_px: float) -> Callable[[np.ndarray], np.ndarray]:
    """Return a way aside from 10 to 14 s, highest at 12 s: a raised cosine."""
    return lambda times: top_px * np.where(np.abs(times - 12) < 2, (1 + np.cos(np.pi * (times - 12) / 2)) / 2, 0.0)


@pytest.mark.parametrize(("top_px", "side"), [(64.0, "left"), (-64.0, "right")])
def test_the_largest_excursion_is_found(top_px: float, side: str) -> None:
    """A raised cosine four seconds long is above a fifth of its height for 4 (1 - acos(0.6) / pi) = 2.819 s."""
    event = pushed(drawn(0.0, times=clock(30), sway_px=bump(top_px)))
    assert (event.kind, event.side) == ("largest_excursion", side)
    assert event.interval.onset_s == pytest.approx(12 - 2.819 / 2, abs=0.05)
    assert event.interval.offset_s == pytest.approx(12 + 2.819 / 2, abs=0.05)
    assert event.peak == pytest.approx(100 * 64 / HEIGHT_PX, rel=0.05)


def test_lost_balance_is_shown_where_no_number_can_be_said() -> None:
    """Feet that go about all the time give no sway, but the moment the body went aside is still told."""
    tracks = drawn(0.0, times=clock(30), sway_px=bump(64.0), walk_px=lambda times: 30 * np.sin(5 * times))
    assert read("postural_sway", tracks).reasons == (Reason.POSTURE_NOT_HELD,)
    assert pushed(tracks).interval.holds(12.0)


def test_the_side_is_the_persons_own_from_behind_too() -> None:
    """The picture of somebody seen from behind is that of the front turned over: the own left lies on its left."""
    tracks = drawn(0.0, times=clock(30), sway_px=bump(64.0))
    tracks["pose_xy"].values[..., 0] = tracks.attrs["width_px"] - tracks["pose_xy"].values[..., 0]
    assert pushed(tracks).side == "left"


@pytest.mark.parametrize("noise_px", [pytest.param(n, id=f"jitter {n} px") for n in (0.0, 0.5, 2.0)])
def test_jitter_is_no_excursion(noise_px: float) -> None:
    """A motionless person goes nowhere, whatever the jitter."""
    one = measure("postural_sway")
    assert one.events is not None
    assert one.events(one.trace(drawn(0.0, noise_px))) == ()


def test_true_sway_lies_inside_the_interval() -> None:
    """Over forty films with different jitter and sway, the truth is inside in at least nine of ten."""
    inside = 0
    for seed in range(40):
        amplitude, noise = 4 + seed % 8 * 3, 0.3 + seed % 5 * 0.4
        estimate = read("postural_sway_mm", drawn(amplitude, noise, seed=seed, times=clock(12)))
        inside += estimate.value is not None and estimate.low <= amplitude / np.sqrt(2) <= estimate.high
    assert inside >= 36
