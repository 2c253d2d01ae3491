"""Gaze steadiness: refuses on usual films; on fast, close ones known wavering is found and nothing is named."""

import numpy as np
import pytest

from review.domain.model import Estimate, Event, Reason
from review.measures.gaze_steadiness import moments, steadiness, wavering
from review.measures.gaze_sweep import SCALES
from tests.synthetic_head import Head, head_tracks, mirrored, thinned

CLOSE = 320.0


def film(rate_hz: float = 60.0, amplitude_deg: float = 0.0, eye_px: float = CLOSE, noise_deg: float = 0.0):
    """Eyes held for 6 s; from 2 to 4 s they waver at 3 Hz by an amplitude from side to side."""
    times = np.arange(0, 6, 1 / rate_hz)
    gaze = amplitude_deg * np.sin(2 * np.pi * 3 * times) * ((times > 2) & (times < 4))
    gaze = gaze + np.random.default_rng(3).normal(0, noise_deg, len(times))
    across = gaze / SCALES["shape_across"]
    weights = {
        "eyeLookOutLeft": np.maximum(across, 0),
        "eyeLookInRight": np.maximum(across, 0),
        "eyeLookInLeft": np.maximum(-across, 0),
        "eyeLookOutRight": np.maximum(-across, 0),
    }
    return times, Head(weights=weights, closed=(0.1, 0.1), eye_px=eye_px)


def told(**how: float) -> tuple[Estimate, tuple[Event, ...]]:
    """Estimate and events of such a film."""
    trace = wavering(head_tracks(*film(**how)))
    return steadiness(trace)[0], moments(trace)


@pytest.mark.parametrize(
    ("how", "reason"),
    [
        ({"rate_hz": 30.0}, Reason.RATE_LOW),
        ({"rate_hz": 15.0}, Reason.RATE_LOW),
        ({"eye_px": 150.0}, Reason.FACE_SMALL),
    ],
    ids=["30 a second", "15 a second", "small face"],
)
def test_usual_films_are_refused(how: dict[str, float], reason: Reason) -> None:
    """Thirty frames a second or an iris of 20 px: no number, no moment, and why."""
    estimate, found = told(amplitude_deg=4.0, **how)
    assert (estimate.value, found) == (None, ())
    assert reason in estimate.reasons


def test_wavering_is_a_moment_to_look_again() -> None:
    """Two seconds of 3 Hz at 4 deg from side to side, half of it read by the irises that stay: found there alone."""
    estimate, (event,) = told(amplitude_deg=4.0, noise_deg=0.05)
    assert event.kind == "look_again"
    assert 1.4 < event.interval.onset_s < 2.3
    assert 3.7 < event.interval.offset_s < 4.6
    assert event.peak == pytest.approx(2 / np.sqrt(2), rel=0.15)
    assert estimate.low > 0


@pytest.mark.parametrize("noise_deg", [0.0, 0.3])
def test_still_eyes_are_left_alone(noise_deg: float) -> None:
    """With noise or without: no moment, and no number above what the film can show."""
    estimate, found = told(noise_deg=noise_deg)
    assert found == ()
    assert (estimate.value, estimate.reasons[0]) == (None, Reason.BELOW_NOISE)


def test_mirror_and_lost_frames_hardly_matter() -> None:
    """Mirrored or with a tenth of the frames dropped, the same stretch is found with the same height."""
    times, head = film(amplitude_deg=4.0, noise_deg=0.05)
    (plain,) = moments(wavering(head_tracks(times, head)))
    for tracks in (head_tracks(times, mirrored(head)), thinned(head_tracks(times, head), 0.1)):
        (event,) = moments(wavering(tracks))
        assert event.peak == pytest.approx(plain.peak, rel=0.1)
        assert event.interval.onset_s == pytest.approx(plain.interval.onset_s, abs=0.1)


def test_nothing_is_named() -> None:
    """A moment is a place to look, not a finding."""
    _, found = told(amplitude_deg=4.0)
    assert {event.kind for event in found} == {"look_again"}
