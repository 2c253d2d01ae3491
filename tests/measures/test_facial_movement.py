"""Movements of the face: known ones of a made-up head, with known sides, in a known order."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from review.domain.model import Estimate, Reason
from review.domain.tracks import FOUND
from review.measures import measure
from review.measures.facial_movement import movement_events, movements, movements_made
from review.measures.learned import learned_elsewhere
from review.signals.uncertainty import Bias
from tests.synthetic_head import Head, head_tracks, held, mirrored, thinned

ORDER = ("smile", "brows_up", "frown", "eyes_shut_tight", "lips_pursed")
PLAIN = dict.fromkeys(("smile_asymmetry", "brow_asymmetry"), Bias(offset_sd=0.06))


@pytest.fixture(autouse=True)
def _plain_biases() -> Iterator[None]:
    """Measure as if the models had no bias: these heads have none, whatever was learned on rendered people."""
    with learned_elsewhere(PLAIN):
        yield


def acted(times: np.ndarray, left: float = 1.0, right: float = 1.0, yaw_deg: float = 0.0) -> Head:
    """All five movements, one every two seconds from 1 s on; smile and brows as strong as told on each side."""
    smile, brows, frown, tight, pursed = (held(times, 1 + 2 * place, 2.5 + 2 * place) for place in range(5))
    corners = tuple((0.06 * share * smile - 0.06 * pursed, 0.07 * share * smile) for share in (left, right))
    return Head(
        angles=(yaw_deg, 0.0, 0.0),
        corners=(corners[0], corners[1]),
        brows=(0.07 * left * brows - 0.04 * (frown + tight), 0.07 * right * brows - 0.04 * (frown + tight)),
        brows_in=0.015 * (frown + tight),
        closed=(0.1 + 0.8 * tight, 0.1 + 0.8 * tight),
        weights={
            "mouthSmileLeft": 0.8 * left * smile,
            "mouthSmileRight": 0.8 * right * smile,
            "browInnerUp": 0.4 + 0.4 * brows,
            "browOuterUpLeft": 0.3 + 0.4 * left * brows,
            "browOuterUpRight": 0.3 + 0.4 * right * brows,
            "eyeSquintLeft": 0.3 + 0.5 * tight,
            "eyeSquintRight": 0.3 + 0.5 * tight,
            "mouthPucker": 0.1 + 0.7 * pursed,
        },
    )


TIMES = np.arange(0, 11.5, 1 / 30)


def index(name: str, head: Head, times: np.ndarray = TIMES) -> Estimate:
    """Return the one estimate of an asymmetry."""
    one = measure(name)
    (estimate,) = one.summarise(one.trace(head_tracks(times, head)))
    return estimate


def test_each_movement_is_found_in_order_with_its_onset() -> None:
    """Five movements whose half height lies 0.2 s after 1, 3, 5, 7 and 9 s."""
    trace = movements(head_tracks(TIMES, acted(TIMES)))
    events = movement_events(trace)
    assert tuple(event.kind for event in events) == ORDER
    assert [event.interval.onset_s for event in events] == pytest.approx([1.2, 3.2, 5.2, 7.2, 9.2], abs=0.15)
    (made,) = movements_made(trace)
    assert (made.value, made.low, made.high) == (5, 5, 5)


def test_cheeks_are_never_claimed() -> None:
    """Whatever the face does, it is said that puffed cheeks leave no mark."""
    (made,) = movements_made(movements(head_tracks(TIMES, acted(TIMES))))
    assert Reason.MODEL_BLIND in made.reasons
    assert "cheeks_puffed" not in measure("facial_movement").parts


@pytest.mark.parametrize("name", ["smile_asymmetry", "brow_asymmetry"])
@pytest.mark.parametrize("yaw_deg", [-15, -8, 0, 8, 15])
def test_symmetric_movement_reads_symmetric_up_to_fifteen_degrees(name: str, yaw_deg: float) -> None:
    """Both sides alike: the index stays below 0.1, with the head turned to either side."""
    estimate = index(name, acted(TIMES, yaw_deg=yaw_deg))
    assert abs(estimate.value) < 0.1
    assert estimate.low < 0 < estimate.high


@pytest.mark.parametrize("name", ["smile_asymmetry", "brow_asymmetry"])
def test_side_that_moves_more_is_told(name: str) -> None:
    """A right side at half the way of the left: (1 - 0.5) / (1 + 0.5); a still one: 1."""
    half = index(name, acted(TIMES, right=0.5))
    assert half.value == pytest.approx(1 / 3, abs=0.05)
    assert half.low < 1 / 3 < half.high
    assert index(name, acted(TIMES, right=0.0)).value == pytest.approx(1, abs=0.05)


def test_smile_of_one_side_alone_is_a_smile() -> None:
    """A face that smiles on the left only has made the movement."""
    events = movement_events(movements(head_tracks(TIMES, acted(TIMES, right=0.0))))
    assert "smile" in {event.kind for event in events}


@pytest.mark.parametrize("name", ["facial_movement", "smile_asymmetry", "brow_asymmetry"])
def test_head_turned_beyond_twenty_degrees_is_refused(name: str) -> None:
    """No number, and why."""
    estimate = index(name, acted(TIMES, yaw_deg=24))
    assert (estimate.value, estimate.reasons) == (None, (Reason.HEAD_TURNED,))


@pytest.mark.parametrize("whose", ["hand_xy", "other_hand_xy"])
def test_hand_over_the_face_is_refused(whose: str) -> None:
    """A finger of either person on the cheek throughout: no number; beside the face: as if it were not there."""
    tracks = head_tracks(TIMES, acted(TIMES))
    tracks["hand_state"].values[::6] = FOUND
    for x, reason in ((700.0, Reason.HAND_OVER_FACE), (900.0, None)):
        tracks[whose].values[:, 0] = (x, 360.0)
        (estimate,) = measure("smile_asymmetry").summarise(measure("smile_asymmetry").trace(tracks))
        assert (estimate.value is None) == (reason is not None)
        assert reason is None or estimate.reasons == (reason,)


def test_hand_for_a_while_leaves_the_rest_judged() -> None:
    """Covered while the brows go up: four movements are found, and a fifth is not ruled out."""
    tracks = head_tracks(TIMES, acted(TIMES))
    tracks["hand_state"].values[::6] = FOUND
    tracks["other_hand_xy"].values[(TIMES > 2.9) & (TIMES < 4.6)] = (640.0, 300.0)
    (made,) = movements_made(movements(tracks))
    assert (made.value, made.high) == (4, 5)
    assert Reason.HAND_OVER_FACE in made.reasons


def test_noise_invents_no_movement_and_no_asymmetry() -> None:
    """A still face with a pixel of noise on every point."""
    head = Head(noise_px=1.0, closed=(0.1, 0.1))
    assert movement_events(movements(head_tracks(TIMES, head))) == ()
    for name in ("smile_asymmetry", "brow_asymmetry"):
        estimate = index(name, head)
        assert (estimate.value, estimate.reasons) == (None, (Reason.NOT_SEEN,))


def test_shutting_the_eyes_lightly_is_not_shutting_them_tight() -> None:
    """Lids down, brows still."""
    shut = held(TIMES, 2, 5)
    assert movement_events(movements(head_tracks(TIMES, Head(closed=(0.1 + 0.8 * shut, 0.1 + 0.8 * shut))))) == ()


def test_nodding_is_no_movement_of_the_face() -> None:
    """Ten degrees up and down again lift no brow and purse no lips."""
    nod = 10 * (held(TIMES, 1, 4) - held(TIMES, 6, 9))
    assert movement_events(movements(head_tracks(TIMES, Head(angles=(0.0, nod, 0.0), closed=(0.1, 0.1))))) == ()


@pytest.mark.parametrize("name", ["smile_asymmetry", "brow_asymmetry"])
@pytest.mark.parametrize("change", [{"eye_px": 80.0, "centre": (320.0, 150.0)}, {"centre": (900.0, 450.0)}])
def test_size_and_place_do_not_count(name: str, change: dict[str, object]) -> None:
    """The same face smaller or elsewhere gives the same index."""
    plain = acted(TIMES, right=0.6)
    assert index(name, replace(plain, **change)).value == pytest.approx(index(name, plain).value, abs=0.01)


@pytest.mark.parametrize("name", ["smile_asymmetry", "brow_asymmetry"])
def test_in_a_mirror_the_index_changes_its_sign(name: str) -> None:
    """What the left did the right does."""
    head = acted(TIMES, right=0.6, yaw_deg=10)
    assert index(name, mirrored(head)).value == pytest.approx(-index(name, head).value, abs=0.01)


@pytest.mark.parametrize("rate_hz", [15, 30, 60])
def test_frame_rate_and_lost_frames_hardly_matter(rate_hz: int) -> None:
    """Other rates and a fifth of the frames dropped: the same movements, the same index to 0.03."""
    times = np.arange(0, 11.5, 1 / rate_hz)
    tracks = thinned(head_tracks(times, acted(times, right=0.6)))
    events = movement_events(movements(tracks))
    assert tuple(event.kind for event in events) == ORDER
    assert [event.interval.onset_s for event in events] == pytest.approx([1.2, 3.2, 5.2, 7.2, 9.2], abs=0.2)
    for name in ("smile_asymmetry", "brow_asymmetry"):
        (estimate,) = measure(name).summarise(measure(name).trace(tracks))
        assert estimate.value == pytest.approx(0.25, abs=0.03)
