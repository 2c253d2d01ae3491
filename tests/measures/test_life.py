"""What lives and what does not: made people who move as little as people do, and pictures and dummies with noise."""

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Reason
from review.domain.tracks import FOUND, NOT_FOUND, OF_A_BODY, cut
from review.measures import registry
from review.measures.capture_faults import capture_faults
from review.measures.life import LEAST_SEEN_S, lifeless
from tests.synthetic import clock, standing, with_picture
from tests.synthetic_face import steps
from tests.synthetic_head import Head, head_tracks

TIMES = clock(14, 15)
EYE_PX = 150.0


def noisy(tracks: xr.Dataset, px: float = 0.6, seed: int = 3) -> xr.Dataset:
    """Add what a landmark model's jitter adds to a face that keeps still."""
    random = np.random.default_rng(seed)
    tracks["face_xy"].values[:] += random.normal(0, px, tracks["face_xy"].shape)
    tracks["blendshape"].values[:] += random.normal(0, 0.01, tracks["blendshape"].shape)
    return tracks


def face_alone(head: Head, times: np.ndarray = TIMES) -> xr.Dataset:
    """Return the tracks of a close-up: no body is found in it."""
    tracks = head_tracks(times, head)
    tracks["pose_state"].values[:] = NOT_FOUND
    return tracks


def shaken(times: np.ndarray, size: float) -> np.ndarray:
    """Return how a hand that holds the camera moves the picture."""
    return size * (np.sin(2 * np.pi * 0.7 * times) + 0.5 * np.sin(2 * np.pi * 1.9 * times + 1))


def test_a_picture_of_a_face_does_not_live() -> None:
    """A smiling face that never changes, with the jitter of the model: a picture."""
    assert lifeless(noisy(face_alone(Head(corners=((0.06, 0.07), (0.06, 0.07))))))


def test_a_picture_in_a_shaking_hand_does_not_live() -> None:
    """It moves through the picture as a whole, turns and grows: still a picture."""
    tracks = noisy(face_alone(Head()))
    place = tracks["face_xy"].values
    turn, grown = np.radians(shaken(TIMES, 2.0)), 1 + shaken(TIMES + 3, 0.02)
    x, y = place[..., 0] - 640, place[..., 1] - 300
    cos, sin = (grown * np.cos(turn))[:, None], (grown * np.sin(turn))[:, None]
    place[..., 0] = 640 + cos * x - sin * y + shaken(TIMES, 14)[:, None]
    place[..., 1] = 300 + sin * x + cos * y + shaken(TIMES + 1, 9)[:, None]
    assert lifeless(tracks)


@pytest.mark.parametrize(
    "head",
    [
        pytest.param(Head(closed=(steps(TIMES, 0.1, (5.0, 5.15, 0.9)),) * 2), id="blinks once"),
        pytest.param(Head(gap=0.03 * np.clip(np.sin(2 * np.pi * 0.4 * TIMES), 0, 1)), id="lips part by 3 mm"),
        pytest.param(Head(angles=(4 * np.sin(2 * np.pi * 0.1 * TIMES), 0.0, 0.0)), id="head turns by 4 deg"),
        pytest.param(Head(brows=(steps(TIMES, 0.0, (4.0, 6.0, 0.06)),) * 2), id="brows once up"),
    ],
)
def test_a_living_face_lives(head: Head) -> None:
    """One blink, small movements of the lips, of the head or of the brows are enough."""
    assert not lifeless(noisy(face_alone(head)))


@pytest.mark.parametrize("noise_px", [0.0, 0.5, 1.5])
def test_a_dummy_does_not_live(noise_px: float) -> None:
    """A body without any movement, whatever the jitter; camera and dummy may be shifted against each other."""
    assert lifeless(standing(TIMES, noise_px=noise_px))
    assert lifeless(standing(TIMES, noise_px=noise_px, walk_px=lambda times: shaken(times, 10)))


@pytest.mark.parametrize("noise_px", [0.0, 0.5, 1.5])
def test_a_body_that_sways_lives(noise_px: float) -> None:
    """People who stand still sway by some millimetres: here 4 mm of a person of 1.75 m."""
    tracks = standing(TIMES, noise_px=noise_px, sway_px=lambda times: 2.1 * np.sin(2 * np.pi * 0.2 * times))
    assert not lifeless(tracks)


def test_a_short_film_is_not_judged() -> None:
    """For less than `LEAST_SEEN_S` a living person may keep still."""
    assert not lifeless(standing(clock(LEAST_SEEN_S - 1, 15)))


def test_nobody_is_not_lifeless() -> None:
    """Where nothing was found there is nothing to judge."""
    tracks = standing(TIMES)
    tracks["pose_state"].values[:] = NOT_FOUND
    assert not lifeless(tracks)


def test_a_body_that_sways_with_a_still_face_lives() -> None:
    """A body that moves lives, whatever its face does: a mask, or a face too small to move."""
    tracks = noisy(head_tracks(TIMES, Head()))
    swaying = standing(TIMES, noise_px=0.5, sway_px=lambda times: 2.1 * np.sin(2 * np.pi * 0.2 * times))
    for name in ("pose_xy", "pose_visibility", "pose_world"):
        tracks[name].values[:] = swaying[name].values
    assert not lifeless(tracks.assign_attrs(width_px=1280, height_px=720))


OF_BODIES = [name for name, one in registry().items() if {need.stream for need in one.needs} & {*OF_A_BODY}]


@pytest.mark.parametrize("name", OF_BODIES)
def test_no_measure_reads_what_does_not_live(name: str) -> None:
    """Of tracks known to be of a picture or a dummy no measure gives a number or an event, and each says why."""
    tracks = with_picture(noisy(head_tracks(clock(9, 60), Head()))).assign_attrs(lifeless=True, height_mm=1700.0)
    tracks["hand_state"].values[:] = FOUND
    one = registry()[name]
    trace = one.trace(cut(tracks, 1.0, 8.0))
    for estimate in one.summarise(trace):
        assert (estimate.value, Reason.LIFELESS in estimate.reasons) == (None, True)
    assert (one.events(trace) if one.events else ()) == ()


def test_the_capture_check_says_so() -> None:
    """What never moves is the fault, and not that nobody was found."""
    tracks = with_picture(head_tracks(TIMES, Head())).assign_attrs(lifeless=True)
    kinds = {fault.kind for fault in capture_faults(tracks)}
    assert "lifeless" in kinds
    assert "nobody" not in kinds
