"""Touches of a made face by a fingertip that goes to known places at known moments."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Estimate, Reason
from review.domain.tracks import NOT_FOUND, empty_tracks
from review.measures import measure
from review.measures.touch_sequence import PARTS, SITES
from tests.synthetic_hands import EYE_SHARE, Scene, hand_tracks, mirrored

AWAY = (1.6, 0.3)
ORDER = ("right_forehead", "left_forehead", "left_cheek", "right_cheek", "right_chin", "left_chin")
EASED = {share: share**3 * (10 - 15 * share + 6 * share**2) for share in np.linspace(0, 1, 13)}
"""Share of the time of a movement -> share of its way: a movement that begins and ends at rest."""

MOMENTS = (1.0, 2.1, 3.0, 4.4, 5.2, 6.6)


def touching(
    order: tuple[str, ...] = ORDER,
    moments: tuple[float, ...] = MOMENTS,
    scene: Scene | None = None,
    dwell_s: float = 0.25,
    off: tuple[float, float] = (0.0, 0.0),
    **other: object,
) -> xr.Dataset:
    """Return tracks of a fingertip that touches each place at its moment for `dwell_s` and withdraws between."""
    knots, where = [0.0], [AWAY]
    for site, moment in zip(order, moments, strict=True):
        x, y = SITES[site]
        spot = (x + off[0], y + off[1])
        aside = (AWAY[0] if x > 0 else -AWAY[0], y)
        for start, (first, last) in ((moment - 0.3, (aside, spot)), (moment + dwell_s, (spot, aside))):
            knots += [start + 0.3 * share for share in EASED]
            where += [tuple(a + (b - a) * step for a, b in zip(first, last, strict=True)) for step in EASED.values()]
    knots.append(moments[-1] + 1.5)
    where.append(AWAY)
    seen = scene or Scene()
    return hand_tracks(seen, np.array(knots), np.array(where), EYE_SHARE * seen.width_px, **other)


def told(tracks: xr.Dataset, name: str = "touch_sequence") -> Estimate:
    """Return what a measure of the touches says."""
    of = measure(name)
    return of.summarise(of.trace(tracks))[0]


def sites(tracks: xr.Dataset) -> tuple[str, ...]:
    """Return the places touched, in order."""
    of = measure("touch_sequence")
    return tuple(event.kind for event in of.events(of.trace(tracks)))


@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
@pytest.mark.parametrize("variable", ["other_hand_xy", "hand_xy"])
def test_six_places_are_told_in_order_with_their_moments(rate_hz: float, variable: str) -> None:
    """Whoever's hand it is and at any frame rate: six touches, each begun within 0.1 s of the truth."""
    tracks = touching(scene=Scene(rate_hz=rate_hz), variable=variable)
    of = measure("touch_sequence")
    events = of.events(of.trace(tracks))
    assert tuple(event.kind for event in events) == ORDER
    assert [event.side for event in events] == [site.split("_")[0] for site in ORDER]
    assert [event.interval.onset_s for event in events] == pytest.approx(MOMENTS, abs=0.1)
    assert (told(tracks).value, told(tracks).low, told(tracks).high) == (6.0, 6.0, 6.0)


@pytest.mark.parametrize("seed", range(10))
def test_places_in_any_order_are_told_right_where_the_finger_lands_beside_them(seed: int) -> None:
    """Sixty touches in random order, each a centimetre off in a random direction, with a pixel of noise: all right."""
    random = np.random.default_rng(seed)
    order = tuple(str(site) for site in random.permutation(PARTS))
    turn = random.uniform(0, 2 * np.pi)
    tracks = touching(order, off=(0.11 * np.cos(turn), 0.11 * np.sin(turn)), noise_px=1.0)
    assert sites(tracks) == order


@pytest.mark.parametrize(("width_px", "middle"), [(80.0, (300.0, 200.0)), (300.0, (450.0, 250.0))])
def test_size_and_place_of_the_face_change_nothing(width_px: float, middle: tuple[float, float]) -> None:
    """Touches are told in the face's own frame."""
    assert sites(touching(scene=Scene(width_px=width_px, middle_px=middle))) == ORDER


def test_mirror_swaps_the_sides() -> None:
    """In the mirrored film every left is a right."""
    swapped = tuple(site.replace("left", "other").replace("right", "left").replace("other", "right") for site in ORDER)
    assert sites(mirrored(touching())) == swapped


@pytest.mark.parametrize("missing", PARTS)
def test_place_left_out_is_not_reported(missing: str) -> None:
    """Five of six; that the sixth was made and left no mark is not ruled out."""
    kept = tuple(site for site in ORDER if site != missing)
    tracks = touching(kept, MOMENTS[:5])
    assert (sites(tracks), told(tracks).value, told(tracks).high) == (kept, 5.0, 6.0)


def test_dropped_frames_change_nothing() -> None:
    """Every fourth frame lost leaves the touches."""
    tracks = touching()
    assert sites(tracks.isel(time=np.flatnonzero(np.arange(tracks.sizes["time"]) % 4))) == ORDER


def test_hand_that_is_lost_during_touches_leaves_the_count_open() -> None:
    """The finger vanishes at the face for half a second: fewer are seen, and the high end is six."""
    tracks = touching(dwell_s=0.6)
    times = tracks["time"].values
    tracks["other_hand_xy"].values[(times > 4.25) & (times < 5.0)] = np.nan
    tracks["other_hand_xy"].values[times > 6.0] = np.nan
    count = told(tracks)
    assert (count.value, count.low, count.high) == (4.0, 4.0, 6.0)
    assert Reason.HAND_NOT_FOUND in count.reasons


def test_face_that_is_hidden_during_a_touch_is_remembered() -> None:
    """A hand over the face hides it from the face's model for half a second: the touch is told all the same."""
    tracks = touching()
    hidden = (tracks["time"].values > 2.9) & (tracks["time"].values < 3.4)
    tracks["face_state"].values[hidden] = NOT_FOUND
    for name in ("face_xy", "face_width", "head_angle"):
        tracks[name].values[hidden] = np.nan
    assert sites(tracks) == ORDER


def test_stroke_over_the_face_and_hand_beside_it_touch_nothing() -> None:
    """A quick stroke from forehead to chin, and a hand at rest beside the face."""
    knots = np.array([0.0, 1.0, 1.4, 3.0])
    stroke = np.array([[0.4, 1.8], [0.4, 1.8], [0.3, -2.4], [0.3, -2.4]])
    tracks = hand_tracks(Scene(), knots, stroke, EYE_SHARE * 160, noise_px=1.0)
    assert sites(tracks) == ()
    beside = hand_tracks(Scene(), knots, np.full((4, 2), AWAY), EYE_SHARE * 160, noise_px=1.0)
    assert (sites(beside), told(beside).value, told(beside).high) == ((), 0.0, 1.0)


def test_rhythm_is_the_variation_of_the_times_between_onsets() -> None:
    """Times of 1.1, 0.9, 1.4, 0.8 and 1.4 s: their standard deviation over their mean."""
    gaps = np.diff(MOMENTS)
    truth = float(np.std(gaps) / np.mean(gaps))
    said = told(touching(), "touch_rhythm")
    assert said.value == pytest.approx(truth, abs=0.03)
    assert said.low < truth < said.high


def test_a_finger_that_hovers_leaves_the_rhythm_open() -> None:
    """Touches every 1.5 s, before three of which the finger stops over the place, 8 % nearer to the camera.

    The stops are taken for the beginning of the touches; the interval holds the even rhythm all the same.
    """
    skin, hovers = np.arange(1.5, 10.0, 1.5), np.array([0.0, 0.4, 0.0, 0.3, 0.0, 0.4])
    tracks = touching(moments=tuple(skin - hovers), dwell_s=0.65)
    hand, times = tracks["other_hand_xy"].values[:, 0], tracks["time"].values
    for moment, hover in zip(skin, hovers, strict=True):
        before = (times >= moment - hover - 0.3) & (times < moment) if hover else np.zeros(len(times), bool)
        hand[before] = hand[before, 8:9] + 1.08 * (hand[before] - hand[before, 8:9])
    said = told(tracks, "touch_rhythm")
    assert said.value > 0.1
    assert said.low == 0.0


def test_even_rhythm_is_near_zero() -> None:
    """A touch every second is predictable: below 0.05, and 0 is within the interval."""
    said = told(touching(moments=(1.0, 2.0, 3.0, 4.0, 5.0, 6.0)), "touch_rhythm")
    assert said.value < 0.05
    assert said.low == 0.0


def test_three_touches_have_no_rhythm() -> None:
    """Two times between touches say nothing of regularity."""
    said = told(touching(ORDER[:3], MOMENTS[:3]), "touch_rhythm")
    assert (said.value, said.reasons[0]) == (None, Reason.NOT_SEEN)


def test_refusals_say_why() -> None:
    """No hand, no face, a small face, a face turned away, too few looks, and not looked at yet."""
    tracks = touching()
    handless, faceless = tracks.copy(deep=True), tracks.copy(deep=True)
    handless["other_hand_xy"].values[:] = np.nan
    faceless["face_state"].values[:] = NOT_FOUND
    for name in ("face_xy", "face_width", "head_angle"):
        faceless[name].values[:] = np.nan
    asked = {
        Reason.HAND_NOT_FOUND: handless,
        Reason.FACE_NOT_FOUND: faceless,
        Reason.FACE_SMALL: touching(scene=Scene(width_px=50.0)),
        Reason.HEAD_TURNED: touching(scene=replace(Scene(), yaw_deg=40.0)),
        Reason.RATE_LOW: tracks.isel(time=slice(None, None, 6)),
        Reason.NOT_LOOKED: empty_tracks([0.0, 0.1], 64, 48),
    }
    for reason, one in asked.items():
        assert (told(one).value, told(one).reasons[0]) == (None, reason)
