"""How long drawn people hold feet together with the eyes shut."""

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Estimate, Reason
from review.domain.tracks import FACE_POINTS, FOUND, NOT_FOUND, NOT_LOOKED
from review.measures import measure
from review.measures.hold_time import hold_time, together
from tests.synthetic import clock, standing, with_face

HOLD = measure("hold_time")
TWENTY_SECONDS = clock(20)

LIDS = {"right": (33, 160, 158, 133, 153, 144), "left": (362, 385, 387, 263, 373, 380)}


def posed(
    together_s: tuple[float, float], shut_s: tuple[float, float], times: np.ndarray = TWENTY_SECONDS
) -> xr.Dataset:
    """Draw a person whose feet are together and whose eyes are shut within these seconds."""
    inside = (times >= together_s[0]) & (times <= together_s[1])
    tracks = with_face(standing(times, stance=np.where(inside, 0.3, 0.9)))
    tracks["head_angle"].values[:] = 0.0
    shut = (times >= shut_s[0]) & (times <= shut_s[1])
    tracks["blendshape"].values[:] = 0.0
    for shape, side in (("eyeBlinkLeft", "left"), ("eyeBlinkRight", "right")):
        tracks["blendshape"].loc[{"shape": shape}] = np.where(shut, 0.9, 0.05)
        draw_lids(tracks, side, np.where(shut, 0.5, 5.0))
    return tracks


def draw_lids(tracks: xr.Dataset, side: str, half_gap: np.ndarray) -> None:
    """Draw an eye 30 px wide whose lids lie this far above and below its middle."""
    for index, (x, lift) in zip(LIDS[side], [(0, 0), (10, 1), (20, 1), (30, 0), (20, -1), (10, -1)], strict=True):
        place = FACE_POINTS.index(index)
        tracks["face_xy"].values[:, place, 0] = 600 + x
        tracks["face_xy"].values[:, place, 1] = 100 + lift * half_gap


def read(tracks: xr.Dataset) -> Estimate:
    """Return the one estimate."""
    (estimate,) = HOLD.summarise(HOLD.trace(tracks))
    return estimate


@pytest.mark.parametrize(
    ("feet", "eyes", "onset", "offset"),
    [
        pytest.param((2, 18), (5, 15), 5, 15, id="eyes decide"),
        pytest.param((5, 15), (2, 18), 5, 15, id="feet decide"),
        pytest.param((2, 12), (5, 18), 5, 12, id="eyes begin, feet end"),
        pytest.param((-1, 21), (-1, 21), 0, 20, id="throughout"),
    ],
)
def test_hold_is_what_both_have_in_common(
    feet: tuple[float, float], eyes: tuple[float, float], onset: float, offset: float
) -> None:
    """The hold lasts while both conditions hold, to a tenth of a second, and is its own evidence."""
    estimate = read(posed(feet, eyes))
    assert estimate.value == pytest.approx(offset - onset, abs=0.1)
    assert estimate.low <= offset - onset <= estimate.high
    assert estimate.high - estimate.low < 0.6
    (stretch,) = estimate.evidence
    assert (stretch.onset_s, stretch.offset_s) == pytest.approx((onset, offset), abs=0.1)


def test_never_taken_up_is_zero_with_its_reason() -> None:
    """Feet together first and eyes shut later, never both: no hold, and the posture is said not to be held."""
    estimate = read(posed((2, 8), (10, 18)))
    assert (estimate.value, estimate.low, estimate.high) == (0.0, 0.0, 0.0)
    assert estimate.reasons == (Reason.POSTURE_NOT_HELD,)
    assert estimate.evidence == ()


def test_opening_the_eyes_ends_the_hold() -> None:
    """Half a second of open eyes parts a hold; the longer part counts, and both are events."""
    tracks = posed((0, 20), (2, 18))
    peek = (TWENTY_SECONDS > 8) & (TWENTY_SECONDS < 8.5)
    for shape, side in (("eyeBlinkLeft", "left"), ("eyeBlinkRight", "right")):
        tracks["blendshape"].loc[{"shape": shape}] = np.where(
            peek, 0.05, tracks["blendshape"].sel(shape=shape, drop=True)
        )
        shut = (TWENTY_SECONDS >= 2) & (TWENTY_SECONDS <= 18) & ~peek
        draw_lids(tracks, side, np.where(shut, 0.5, 5.0))
    assert read(tracks).value == pytest.approx(9.5, abs=0.1)
    assert HOLD.events is not None
    assert [event.interval.duration_s for event in HOLD.events(hold_time(tracks))] == pytest.approx([6, 9.5], abs=0.1)


def test_a_short_hole_in_the_tracks_does_not_end_the_hold() -> None:
    """A face lost for 0.3 s is bridged; one lost for 3 s leaves open how long the hold was."""
    for lost_s, value, most in ((0.3, 10.0, 10.5), (3.0, 4.0, 10.5)):
        tracks = posed((0, 20), (5, 15))
        lost = np.abs(TWENTY_SECONDS - 9 - lost_s / 2) < lost_s / 2
        tracks["face_state"].values[lost] = NOT_FOUND
        for name in ("face_xy", "blendshape", "face_width", "head_angle"):
            tracks[name].values[lost] = np.nan
        estimate = read(tracks)
        assert estimate.value == pytest.approx(value, abs=0.15)
        assert 10.0 <= estimate.high <= most


def test_streams_looked_at_in_different_frames() -> None:
    """Pose in every sixth frame and face in every second one read the same hold."""
    tracks = posed((5, 15), (2, 18))
    for stream, names, step in (
        ("pose", ("pose_xy", "pose_visibility", "pose_world"), 6),
        ("face", ("face_xy", "blendshape", "face_width", "head_angle"), 2),
    ):
        skipped = np.arange(len(TWENTY_SECONDS)) % step != 0
        tracks[f"{stream}_state"].values[:] = np.where(skipped, NOT_LOOKED, FOUND)
        for name in names:
            tracks[name].values[skipped] = np.nan
    assert read(tracks).value == pytest.approx(10, abs=0.3)


@pytest.mark.parametrize(
    ("stream", "reason"),
    [
        pytest.param("pose", Reason.NOBODY_FOUND, id="no body"),
        pytest.param("face", Reason.FACE_NOT_FOUND, id="no face"),
    ],
)
def test_a_part_that_is_never_seen_is_the_reason(stream: str, reason: Reason) -> None:
    """Without a body or without a face there is no number, and what is missing is said."""
    tracks = posed((5, 15), (2, 18))
    tracks[f"{stream}_state"].values[:] = NOT_FOUND
    estimate = read(tracks)
    assert estimate.value is None
    assert estimate.reasons == (reason,)


def test_trembling_about_one_level_is_no_step() -> None:
    """A ratio between the two levels keeps the state it had."""
    times = np.arange(6.0)
    assert together(times, [0.5, 0.44, 0.5, 0.54, 0.56, 0.5]).tolist() == [0, 1, 1, 1, 0, 0]
    assert np.isnan(together(times[:2], [np.nan, 0.3])[0])
