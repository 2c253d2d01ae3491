"""A fingertip led through six places before a made face, by a sphere whose radius is known."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Estimate, Reason
from review.domain.tracks import NOT_FOUND, empty_tracks
from review.measures import measure
from review.measures.gaze_positions import CARDINAL
from review.measures.learned import learned_elsewhere
from review.measures.target_path import DISTANCE_MM, FACE_MM
from review.signals.uncertainty import Bias
from tests.synthetic_hands import Scene, hand_tracks, mirrored, way

H_SHAPE = (
    (0.6, 0.0, 0.0),
    (0.8, 22.0, 0.0),
    (0.8, 22.0, 14.0),
    (0.8, 22.0, -14.0),
    (0.3, 22.0, 0.0),
    (0.8, -22.0, 0.0),
    (0.8, -22.0, 14.0),
    (0.8, -22.0, -14.0),
    (0.6, 0.0, 0.0),
)
"""An H: seconds, deg to own left, deg up."""

ORDER = ["left", "left_up", "left_down", "left", "right", "right_up", "right_down"]
"""Its ends; coming back to level before crossing over is one of its own."""


def led(
    *places: tuple[float, float, float], scene: Scene | None = None, move_s: float = 0.8, **other: object
) -> xr.Dataset:
    """Return tracks of a fingertip led through directions from the eyes, beginning and ending in the middle."""
    knots, deg = way(*places, move_s=move_s)
    mm = DISTANCE_MM * np.sin(np.radians(deg))
    seen = scene or Scene()
    return hand_tracks(seen, knots, mm, seen.width_px / FACE_MM, **other)


def told(tracks: xr.Dataset, name: str = "target_path") -> Estimate:
    """Return what a measure of the target says."""
    of = measure(name)
    return of.summarise(of.trace(tracks))[0]


def ends(tracks: xr.Dataset) -> list[str]:
    """Return the ends reached, in order."""
    of = measure("target_path")
    return [event.kind for event in of.events(of.trace(tracks)) if event.kind != "centre"]


@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
def test_letter_h_reaches_six_ends_in_order(rate_hz: float) -> None:
    """The six ends of an H, seen from the examined person, at any frame rate."""
    tracks = led(*H_SHAPE, scene=Scene(rate_hz=rate_hz))
    assert ends(tracks) == ORDER
    count = told(tracks)
    assert (count.value, count.low, count.high) == (6.0, 6.0, 6.0)


@pytest.mark.parametrize(("width_px", "middle"), [(80.0, (300.0, 200.0)), (240.0, (500.0, 400.0))])
def test_size_and_place_of_the_face_change_nothing(width_px: float, middle: tuple[float, float]) -> None:
    """The same path before a smaller face elsewhere in the picture has the same ends and pace."""
    tracks = led(*H_SHAPE, scene=Scene(width_px=width_px, middle_px=middle))
    assert ends(tracks) == ORDER
    assert told(tracks, "target_pace").value == pytest.approx(told(led(*H_SHAPE), "target_pace").value, rel=0.02)


def test_mirror_swaps_the_sides() -> None:
    """In the mirrored film every left is a right."""
    swapped = [
        end.replace("left", "other").replace("right", "left").replace("other", "right") for end in ends(led(*H_SHAPE))
    ]
    assert ends(mirrored(led(*H_SHAPE))) == swapped


@pytest.mark.parametrize("missing", range(6), ids=CARDINAL)
def test_end_left_out_is_not_reported(missing: int) -> None:
    """A star of five ends has these five."""
    places = {
        "left": (22.0, 0.0),
        "left_up": (22.0, 14.0),
        "left_down": (22.0, -14.0),
        "right": (-22.0, 0.0),
        "right_up": (-22.0, 14.0),
        "right_down": (-22.0, -14.0),
    }
    kept = [name for name in CARDINAL if name != CARDINAL[missing]]
    star = [place for name in kept for place in ((0.8, *places[name]), (0.3, 0.0, 0.0))]
    tracks = led((0.6, 0.0, 0.0), *star)
    assert set(ends(tracks)) == set(kept)
    assert told(tracks).value == 5.0


def test_trembling_and_dropped_frames_change_nothing() -> None:
    """Two pixels of noise and every fifth frame lost leave the ends."""
    tracks = led(*H_SHAPE, noise_px=2.0)
    kept = tracks.isel(time=np.flatnonzero(np.arange(tracks.sizes["time"]) % 5))
    assert set(ends(kept)) == set(CARDINAL)


def test_face_that_is_turned_to_the_side_keeps_its_ends() -> None:
    """Seen 20 deg from the side, a target straight before the face appears beside it; its ends stay."""
    turned = [(seconds, across + 20.0, up) for seconds, across, up in H_SHAPE]
    assert ends(led(*turned, scene=Scene(yaw_deg=20.0))) == ORDER


def test_hand_hidden_on_the_way_may_have_reached_more() -> None:
    """A hand lost for half a second leaves the high end at six."""
    tracks = led((0.6, 0.0, 0.0), (0.8, 22.0, 0.0), (1.5, 0.0, 0.0), (0.8, -22.0, 0.0), (0.6, 0.0, 0.0))
    times = tracks["time"].values
    tracks["other_hand_xy"].values[(times > 3.3) & (times < 3.9)] = np.nan
    count = told(tracks)
    assert (count.value, count.low, count.high) == (2.0, 2.0, 6.0)


def test_hand_at_rest_reaches_no_end_and_has_no_pace() -> None:
    """A hand that stays before the face, trembling by a pixel."""
    tracks = led((4.0, 3.0, 2.0), noise_px=1.0)
    assert told(tracks).value == 0.0
    assert (told(tracks, "target_pace").value, told(tracks, "target_pace").reasons) == (None, (Reason.NOT_SEEN,))


@pytest.mark.parametrize("deg_per_s", [12.0, 25.0, 40.0])
def test_pace_is_that_of_the_way(deg_per_s: float) -> None:
    """A target that goes 25 deg out and back evenly has that pace within a fifth, and the interval holds it."""
    stops = ((1.0, 0.0, 0.0), (1.0, 25.0, 0.0), (1.0, 0.0, 0.0), (1.0, -25.0, 0.0), (1.0, 0.0, 0.0))
    with learned_elsewhere({"target_pace": Bias(offset_sd=1.0, scale_sd=0.25)}):
        said = told(led(*stops, move_s=25.0 / deg_per_s), "target_pace")
    assert said.value == pytest.approx(deg_per_s, rel=0.2)
    assert said.low < deg_per_s < said.high


def test_refusals_say_why() -> None:
    """No hand, no face, a small face, too few looks, and not looked at yet."""
    tracks = led(*H_SHAPE)
    handless, faceless = tracks.copy(deep=True), tracks.copy(deep=True)
    handless["other_hand_xy"].values[:] = np.nan
    faceless["face_state"].values[:] = NOT_FOUND
    for name in ("face_xy", "face_width", "head_angle"):
        faceless[name].values[:] = np.nan
    rare = tracks.isel(time=slice(None, None, 6))
    asked = [handless, faceless, led(*H_SHAPE, scene=Scene(width_px=40.0)), rare, empty_tracks([0.0, 0.1], 64, 48)]
    assert [told(one).value for one in asked] == [None] * 5
    assert [told(one).reasons[0] for one in asked] == [
        Reason.HAND_NOT_FOUND,
        Reason.FACE_NOT_FOUND,
        Reason.FACE_SMALL,
        Reason.RATE_LOW,
        Reason.NOT_LOOKED,
    ]
    assert told(faceless, "target_pace").reasons[0] == Reason.NO_SCALE
