"""Jaw: known gaps and ways of a made-up head whose irises are 11.7 mm wide."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from review.domain.model import Estimate, Reason
from review.domain.tracks import FOUND
from review.measures import measure
from review.measures.jaw_movement import jaw_from_rest, jaw_opening, jaw_side
from review.measures.learned import learned_elsewhere
from review.signals.uncertainty import Bias
from tests.synthetic_head import EYE_MM, Head, head_tracks, held, mirrored, thinned

TIMES = np.arange(0, 8, 1 / 30)
PLAIN = dict.fromkeys(("jaw_opening", "jaw_side"), Bias(offset_sd=1.2))


@pytest.fixture(autouse=True)
def _plain_biases() -> Iterator[None]:
    """Measure as if the models had no bias: these heads have none, whatever was learned on rendered people."""
    with learned_elsewhere(PLAIN):
        yield


def acted(times: np.ndarray) -> Head:
    """Lips 36 mm apart from 1 to 3 s, the jaw 9 mm to own left after 4 s and 6 mm to own right after 6 s."""
    opened = held(times, 1, 3)
    jaw = 9 * held(times, 4, 5.5) - 6 * held(times, 6, 7.4)
    return Head(gap=36 / EYE_MM * opened, jaw=jaw / EYE_MM, weights={"jawOpen": 0.8 * opened}, closed=(0.1, 0.1))


def read(head: Head, times: np.ndarray = TIMES) -> list[float]:
    """Return opening, way to the left and way to the right."""
    trace = jaw_from_rest(head_tracks(times, head))
    return [estimate.value for estimate in (*jaw_opening(trace), *jaw_side(trace))]


def test_ways_are_told_in_mm_by_the_irises() -> None:
    """36 mm open, 9 mm to own left, 6 mm to own right, each to a millimetre."""
    assert read(acted(TIMES)) == pytest.approx([36, 9, 6], abs=1)


def test_learned_bias_is_taken_off_and_left_in_the_interval() -> None:
    """A gap that reads 0.75 of the truth is put right; irises that differ between people by 4.3 % keep it wide."""
    tracks = head_tracks(TIMES, acted(TIMES))
    with learned_elsewhere({"jaw_opening": Bias(scale=0.75)}):
        (wide,) = jaw_opening(jaw_from_rest(tracks))
    assert wide.value == pytest.approx(48, abs=1)
    assert wide.high - wide.value == pytest.approx(1.96 * 0.043 * 48, rel=0.2)


def test_lips_that_part_at_rest_do_not_count() -> None:
    """Lips 4 mm apart throughout: opening is counted from there."""
    head = acted(TIMES)
    assert read(replace(head, gap=np.asarray(head.gap) + 4 / EYE_MM))[0] == pytest.approx(36, abs=1)


@pytest.mark.parametrize("yaw_deg", [-15, 15])
def test_turned_head_reads_the_same(yaw_deg: float) -> None:
    """The jaw's depth is put right for the turn."""
    assert read(replace(acted(TIMES), angles=(yaw_deg, 0.0, 0.0))) == pytest.approx([36, 9, 6], abs=1)


def test_a_way_to_the_side_is_less_sure_seen_from_aside() -> None:
    """At 15 deg the interval of the way to the side is wide, that of the opening as wide as from the front."""
    front, aside = (jaw_from_rest(head_tracks(TIMES, replace(acted(TIMES), angles=(yaw, 0.0, 0.0)))) for yaw in (0, 15))

    def half(estimates: tuple[Estimate, ...]) -> float:
        return estimates[0].high - estimates[0].value

    assert half(jaw_side(aside)) > 9 * 1.5 * np.sin(np.radians(15)) * 1.9 > 1.8 * half(jaw_side(front))
    assert half(jaw_opening(aside)) == pytest.approx(half(jaw_opening(front)), rel=0.1)


def test_turning_and_tilting_the_head_moves_no_jaw() -> None:
    """Twelve degrees to either side, and a tilt of twenty: less than 1.5 mm to the sides, nothing opened."""
    head = Head(angles=(12 * (held(TIMES, 1, 3) - held(TIMES, 4, 6)), 0.0, 20 * held(TIMES, 6, 7.5)), closed=(0.1, 0.1))
    opened, *sides = read(head)
    assert opened < 0.5
    assert max(sides) < 1.5


def test_noise_opens_no_mouth() -> None:
    """A pixel of noise on every point: the low end stays 0 and the value below 3 mm."""
    trace = jaw_from_rest(head_tracks(TIMES, Head(noise_px=1.0, closed=(0.1, 0.1))))
    for estimate in (*jaw_opening(trace), *jaw_side(trace)):
        assert estimate.low == 0
        assert estimate.value < 3


def test_hand_over_the_mouth_is_refused_and_one_under_the_chin_is_not() -> None:
    """The examiner's hand that resists under the chin leaves the lips in view."""
    tracks = head_tracks(TIMES, acted(TIMES))
    tracks["hand_state"].values[::6] = FOUND
    for y, covered in ((425.0, True), (540.0, False)):
        tracks["other_hand_xy"].values[:, 0] = (640.0, y)
        (estimate,) = jaw_opening(jaw_from_rest(tracks))
        assert (estimate.value is None) == covered
        assert (Reason.HAND_OVER_FACE in estimate.reasons) == covered


def test_head_turned_too_far_is_refused() -> None:
    """Beyond 20 deg nothing is said."""
    for estimate in jaw_side(jaw_from_rest(head_tracks(TIMES, Head(angles=(25.0, 0.0, 0.0))))):
        assert (estimate.value, estimate.reasons) == (None, (Reason.HEAD_TURNED,))


@pytest.mark.parametrize("change", [{"eye_px": 90.0, "centre": (384.0, 180.0)}, {"centre": (900.0, 400.0)}])
def test_size_and_place_do_not_count(change: dict[str, object]) -> None:
    """The same movement smaller or elsewhere gives the same millimetres."""
    assert read(replace(acted(TIMES), **change)) == pytest.approx(read(acted(TIMES)), abs=0.1)


def test_in_a_mirror_the_sides_swap() -> None:
    """What was left is right, with the same numbers."""
    opened, left, right = read(acted(TIMES))
    assert read(mirrored(acted(TIMES))) == pytest.approx([opened, right, left], abs=0.1)


@pytest.mark.parametrize("rate_hz", [15, 30, 60])
def test_frame_rate_and_lost_frames_hardly_matter(rate_hz: int) -> None:
    """Other rates and a fifth of the frames dropped give the same numbers to a millimetre and a half."""
    times = np.arange(0, 8, 1 / rate_hz)
    trace = jaw_from_rest(thinned(head_tracks(times, acted(times))))
    kept = [estimate.value for estimate in (*jaw_opening(trace), *jaw_side(trace))]
    assert kept == pytest.approx([36, 9, 6], abs=1.5)


@pytest.mark.parametrize("name", ["jaw_opening", "jaw_side"])
def test_declared_in_millimetres(name: str) -> None:
    """Ways are in mm."""
    assert measure(name).unit == "mm"
