"""Faults of films drawn with one fault each, and none in a good one."""

import numpy as np
import pytest
import xarray as xr

from review.capture.picture import light_of
from review.domain.model import Estimate, Reason
from review.domain.tracks import NOT_FOUND, empty_tracks
from review.measures import measure
from review.measures.capture_faults import capture_faults
from review.measures.capture_quality import camera_moves, camera_moving, camera_speed, frame_gaps, frame_rate
from tests.synthetic import clock, standing, with_face, with_picture

TEN_SECONDS = clock(10)


def good() -> xr.Dataset:
    """Draw a film without faults."""
    return with_face(with_picture(standing(TEN_SECONDS)))


def read(name: str, tracks: xr.Dataset) -> Estimate:
    """Return the one estimate of a measure."""
    one = measure(name)
    (estimate,) = one.summarise(one.trace(tracks))
    return estimate


def kinds(tracks: xr.Dataset, *view: str) -> list[str]:
    """Return the kinds of the faults named."""
    return [fault.kind for fault in capture_faults(tracks, view)]


def test_a_good_film_has_no_fault() -> None:
    """Light, sharp, still, whole: nothing is named, and no measure has an event."""
    tracks = good()
    assert kinds(tracks, "face", "whole_body", "feet") == []
    for name in (
        "capture_light",
        "capture_contrast",
        "capture_sharpness",
        "capture_camera_still",
        "capture_frame_rate",
    ):
        one = measure(name)
        assert one.events is not None
        assert one.events(one.trace(tracks)) == ()


@pytest.mark.parametrize(
    ("changes", "kind"),
    [
        pytest.param({"brightness": 0.09}, "too_dark", id="dark room"),
        pytest.param({"brightness": 0.95}, "too_bright", id="against the window"),
        pytest.param({"contrast": 0.04}, "flat", id="haze on the lens"),
        pytest.param({"brightness": 0.09, "contrast": 0.04}, "too_dark", id="dark and therefore flat"),
        pytest.param({"brightness": 0.95, "contrast": 0.04}, "too_bright", id="bright and therefore flat"),
        pytest.param({"sharpness": 5.0}, "blurred", id="out of focus"),
        pytest.param({"shift_px": lambda times: 20 * times}, "camera_moved", id="panning"),
    ],
)
def test_each_fault_of_the_picture_is_named(changes: dict[str, object], kind: str) -> None:
    """One fault gives that one name, with words and where it shows."""
    (fault,) = capture_faults(with_face(with_picture(standing(TEN_SECONDS), **changes)))
    assert fault.kind == kind
    assert fault.what.endswith(".")
    assert fault.advice.endswith(".")
    assert sum(stretch.duration_s for stretch in fault.where) > 9


def test_a_short_dip_of_light_is_no_fault_of_the_film() -> None:
    """A second of darkness in ten is an event, not a fault."""
    tracks = good()
    tracks["brightness"].values[30:60] = 0.05
    light = measure("capture_light")
    assert light.events is not None
    assert [event.kind for event in light.events(light.trace(tracks))] == ["too_dark"]
    assert kinds(tracks) == []


def test_nobody_in_the_film() -> None:
    """A film without a person says so."""
    tracks = with_picture(empty_tracks(TEN_SECONDS, 1280, 720))
    tracks["pose_state"].values[:] = NOT_FOUND
    tracks["face_state"].values[:] = NOT_FOUND
    assert kinds(tracks) == ["nobody"]


def test_a_film_that_was_not_looked_at_has_no_known_fault() -> None:
    """Nothing is blamed on a film before it was looked at."""
    assert kinds(empty_tracks(TEN_SECONDS, 1280, 720)) == []


def test_face_and_body_are_asked_for_by_the_step_only() -> None:
    """A small face is a fault for a step on the face, a body cut off for a step on the stance."""
    small = with_face(with_picture(standing(TEN_SECONDS)), width_px=25)
    assert kinds(small) == []
    assert kinds(small, "face") == ["face_small"]
    cut_off = with_face(with_picture(standing(TEN_SECONDS, height_px=900)))
    assert kinds(cut_off, "face") == []
    assert kinds(cut_off, "feet") == ["body_cut_off"]
    faceless = with_picture(standing(TEN_SECONDS))
    faceless["face_state"].values[:] = NOT_FOUND
    assert kinds(faceless, "face") == ["face_missing"]


def test_typical_light_with_its_interval() -> None:
    """The median of an even light is that light, with an interval of no width."""
    estimate = read("capture_light", good())
    assert (estimate.value, estimate.low, estimate.high) == pytest.approx((0.5, 0.5, 0.5))
    assert estimate.usable == 1.0


def test_contrast_of_half_black_and_half_white() -> None:
    """A picture half of it black, half of it white, has the greatest contrast there is: 0.5, and no event."""
    halves = np.zeros((96, 128), np.uint8)
    halves[:, 64:] = 255
    measured = light_of(halves)
    assert measured.contrast == pytest.approx(0.5)
    tracks = with_picture(standing(TEN_SECONDS), contrast=measured.contrast)
    assert read("capture_contrast", tracks).value == pytest.approx(0.5)


def test_median_interval_holds_the_true_median() -> None:
    """In a hundred noisy films the true brightness lies inside the interval in at least ninety."""
    inside = 0
    for seed in range(100):
        tracks = good()
        tracks["brightness"].values[:] += np.random.default_rng(seed).normal(0, 0.05, len(TEN_SECONDS))
        estimate = read("capture_light", tracks)
        inside += estimate.low <= 0.5 <= estimate.high
    assert inside >= 90


def test_body_in_view_counts_points() -> None:
    """With the feet below the picture six of eight points are left."""
    assert read("capture_body_in_view", standing(TEN_SECONDS)).value == 1.0
    assert read("capture_body_in_view", standing(TEN_SECONDS, height_px=900)).value == pytest.approx(0.75)


def test_face_size_is_the_width() -> None:
    """The face is as wide as it was drawn; without one there is no number."""
    assert read("capture_face_size", good()).value == pytest.approx(200)
    missing = with_picture(standing(TEN_SECONDS))
    missing["face_state"].values[:] = NOT_FOUND
    assert read("capture_face_size", missing).reasons == (Reason.FACE_NOT_FOUND,)


def test_camera_speed_is_in_widths_a_second() -> None:
    """12.8 px a second in a picture 1280 px wide is one percent a second, at any rate of looking."""
    for rate_hz in (5.0, 30.0):
        tracks = with_picture(standing(clock(10, rate_hz)), shift_px=lambda times: 12.8 * times)
        assert read("capture_camera_still", tracks).value == pytest.approx(1.0, rel=1e-4)


def test_a_plain_wall_cannot_show_whether_the_camera_moved() -> None:
    """Without anything to follow in the background there is no number, and the camera counts as still."""
    tracks = with_picture(standing(TEN_SECONDS))
    tracks["background_shift"].values[:] = np.nan
    assert read("capture_camera_still", tracks).reasons == (Reason.NOT_SEEN,)
    assert not camera_moving(tracks).any()


def test_a_knock_is_placed_in_time() -> None:
    """A camera knocked at 4 s is moving from the look before to the look after."""
    tracks = with_picture(standing(clock(10, 5.0)), shift_px=lambda times: np.where(times >= 4, 10.0, 0.0))
    (event,) = camera_moves(camera_speed(tracks))
    assert (event.interval.onset_s, event.interval.offset_s) == pytest.approx((3.8, 4.0))
    assert np.flatnonzero(camera_moving(tracks)).tolist() == [19, 20]


def test_frame_rate_is_counted_from_the_times() -> None:
    """Frames over seconds, exactly; fewer than twelve a second are marked and named."""
    assert read("capture_frame_rate", good()).value == pytest.approx(30.0)
    slow = with_picture(standing(clock(10, 5.0)))
    assert read("capture_frame_rate", slow).reasons == (Reason.RATE_LOW,)
    assert kinds(slow) == ["rate_low"]


def test_gap_between_frames_is_found() -> None:
    """Half a second without a frame is a gap with these edges, and a fault."""
    times = TEN_SECONDS[(TEN_SECONDS <= 4) | (TEN_SECONDS >= 4.5)]
    tracks = with_picture(standing(times))
    (gap,) = frame_gaps(frame_rate(tracks))
    assert (gap.interval.onset_s, gap.interval.offset_s) == pytest.approx((4.0, 4.5))
    assert read("capture_frame_rate", tracks).reasons == (Reason.FRAME_GAP,)
    assert kinds(tracks) == ["frame_gap"]


def test_one_frame_has_no_rate() -> None:
    """A single picture has no frames a second."""
    assert read("capture_frame_rate", standing(clock(1 / 30))).value is None
