"""Sway with shut over open eyes of a drawn person: a quotient of two sines."""

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Estimate, Reason
from review.domain.tracks import NOT_FOUND, cut
from review.measures import measure
from tests.measures.test_postural_sway import HEIGHT_PX, PX_PER_MM
from tests.synthetic import clock, standing, with_face, with_picture

QUOTIENT = measure("sway_quotient")
SHUT_S = 25.0


def stood(
    open_mm: float, shut_mm: float, times: np.ndarray | None = None, noise_px: float = 0.3, **more: object
) -> xr.Dataset:
    """Draw a person who sways by one sine with the eyes open and from 25 s on by another with the eyes shut."""
    times = clock(50) if times is None else times

    def sway(time: np.ndarray) -> np.ndarray:
        return np.where(time < SHUT_S, open_mm, shut_mm) * PX_PER_MM * np.sin(2 * np.pi * 0.4 * time)

    drawn = {"height_px": HEIGHT_PX, "stance": 0.3, "noise_px": noise_px, "sway_px": sway, **more}
    return shutting(with_face(with_picture(standing(times, **drawn))), times >= SHUT_S)


def shutting(tracks: xr.Dataset, shut: np.ndarray) -> xr.Dataset:
    """Say of each frame whether both eyes are shut: by weight and by the shape of the lids."""
    tracks["head_angle"].values[:] = 0.0
    tracks["blendshape"].values[:] = 0.0
    for name in ("eyeBlinkLeft", "eyeBlinkRight"):
        tracks["blendshape"].loc[{"shape": name}] = 0.9 * shut
    tracks["face_xy"].values[:] = 100.0
    for corner, upper, lower, other in ((362, (385, 387), (373, 380), 263), (33, (160, 158), (153, 144), 133)):
        tracks["face_xy"].loc[{"face_point": other, "space": "x"}] = 130.0
        half = np.where(shut, 0.5, 5.0)
        for point in upper:
            tracks["face_xy"].loc[{"face_point": point, "space": "y"}] = 100 - half
        for point in lower:
            tracks["face_xy"].loc[{"face_point": point, "space": "y"}] = 100 + half
        tracks["face_xy"].loc[{"face_point": corner, "space": "x"}] = 100.0
    return tracks


def read(tracks: xr.Dataset) -> Estimate:
    """Return the quotient."""
    (estimate,) = QUOTIENT.summarise(QUOTIENT.trace(tracks))
    return estimate


@pytest.mark.parametrize(("open_mm", "shut_mm"), [(8, 8), (8, 16), (20, 10)])
@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
def test_quotient_of_two_sines(open_mm: float, shut_mm: float, rate_hz: float) -> None:
    """The quotient is that of the amplitudes, whatever the frame rate."""
    estimate = read(stood(open_mm, shut_mm, clock(50, rate_hz)))
    assert estimate.value == pytest.approx(shut_mm / open_mm, rel=0.08)
    assert estimate.low < shut_mm / open_mm < estimate.high
    assert estimate.reasons == ()


def test_neither_size_nor_mirroring_matters() -> None:
    """A person half as large, seen in a mirror, has the same quotient."""
    small = stood(16, 32, height_px=HEIGHT_PX / 2, noise_px=0.15)
    mirrored = small.copy(deep=True)
    mirrored["pose_xy"].loc[{"space": "x"}] = 1280 - small["pose_xy"].sel(space="x")
    assert read(small).value == pytest.approx(2, rel=0.08)
    assert read(mirrored).value == pytest.approx(read(small).value, rel=1e-4)


def test_lost_frames_cost_little() -> None:
    """With a fifth of the frames dropped the quotient is the same."""
    tracks = stood(8, 16)
    kept = np.flatnonzero(np.random.default_rng(4).random(tracks.sizes["time"]) > 0.2)
    assert read(tracks.isel(time=kept)).value == pytest.approx(2, rel=0.1)


def test_blinks_do_not_make_the_eyes_shut() -> None:
    """A blink of 0.2 s every three seconds leaves the open phase whole."""
    tracks = stood(8, 16)
    times = tracks["time"].values
    blinking = shutting(tracks, (times >= SHUT_S) | (times % 3 < 0.2))
    assert read(blinking).value == pytest.approx(2, rel=0.1)


@pytest.mark.parametrize(("onset_s", "offset_s"), [(10.0, 50.0), (0.0, 38.0), (0.0, 24.0)])
def test_less_than_twenty_seconds_of_either_is_refused(onset_s: float, offset_s: float) -> None:
    """Fifteen seconds, thirteen or none of one state give no quotient."""
    estimate = read(cut(stood(8, 16), onset_s, offset_s))
    assert estimate.value is None
    assert estimate.reasons[0] is Reason.TOO_SHORT


@pytest.mark.parametrize("noise_px", [0.3, 1.5])
def test_jitter_alone_has_no_quotient(noise_px: float) -> None:
    """A motionless person reads below what the film can show."""
    assert read(stood(0, 0, noise_px=noise_px)).reasons[0] is Reason.BELOW_NOISE


def test_without_a_face_there_is_none() -> None:
    """From behind nobody knows whether the eyes are shut."""
    tracks = stood(8, 16)
    tracks["face_state"].values[:] = NOT_FOUND
    tracks["blendshape"].values[:] = np.nan
    estimate = read(tracks)
    assert estimate.value is None
    assert estimate.reasons[0] is Reason.FACE_NOT_FOUND


def test_phases_are_told() -> None:
    """The open and the shut phase are events, the second after the lids fell in neither."""
    trace = QUOTIENT.trace(stood(8, 16))
    opened, shut = QUOTIENT.events(trace)
    assert (opened.kind, shut.kind) == ("eyes_open", "eyes_shut")
    assert opened.interval.offset_s == pytest.approx(SHUT_S, abs=0.1)
    assert shut.interval.onset_s == pytest.approx(SHUT_S + 1, abs=0.1)
