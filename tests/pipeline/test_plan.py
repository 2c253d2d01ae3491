"""What must be looked at: rates, thinning on irregular clocks, chunks that cover every frame once."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.domain.measure import Filmed, Need
from review.pipeline.plan import BASE_NEEDS, SURVEY, Span, plan, plan_marked, rates, thin

PHONE = Filmed(has_sound=True, rate_hz=30.0)


class _Asking:
    def __init__(self, *needs: Need) -> None:
        self.needs = needs


def test_the_highest_rate_anybody_needs_is_taken() -> None:
    """Two measures that need the same stream at different rates are both served."""
    both = [_Asking(Need("pose", 10.0), Need("face", 30.0)), _Asking(Need("pose", 25.0))]
    asked = rates(both, PHONE)
    assert asked["pose"] == 25.0
    assert asked["face"] == 30.0


def test_every_film_is_looked_at_for_the_capture_check() -> None:
    """With no measure at all the base needs remain."""
    assert rates([], PHONE, BASE_NEEDS) == {need.stream: need.rate_hz for need in BASE_NEEDS}


@pytest.mark.parametrize(
    ("filmed", "asked"),
    [
        (PHONE, {"face": 30.0}),
        (Filmed(has_sound=True, rate_hz=59.94), {"face": 60.0}),
        (Filmed(has_sound=False, rate_hz=30.0), {"face": 30.0, "hand": 30.0}),
    ],
    ids=["30 a second with sound", "60 a second", "without sound"],
)
def test_a_film_is_not_looked_at_for_what_it_has_not_got(filmed: Filmed, asked: dict[str, float]) -> None:
    """Hands that stand in for the sound are sought in silent films, and 60 a second only where they are."""
    of = _Asking(Need("face", 30.0), Need("face", 60.0, from_hz=50.0), Need("hand", 30.0, silent_only=True))
    assert rates([of], filmed) == asked


@pytest.mark.parametrize(
    ("fps", "rate", "share"),
    [(30.0, 30.0, 1.0), (29.97, 30.0, 1.0), (30.0, 5.0, 1 / 6), (60.0, 30.0, 0.5), (240.0, 30.0, 0.125)],
    ids=["same rate", "ntsc", "one in six", "one in two", "slow motion film"],
)
def test_thinning_keeps_the_asked_share(fps: float, rate: float, share: float) -> None:
    """A film of constant rate is thinned to the asked rate."""
    chosen = thin(np.arange(1200) / fps, rate)
    assert len(chosen) / 1200 == pytest.approx(share, abs=0.002)


def test_thinning_follows_time_not_index() -> None:
    """Where a phone dropped to 5 frames a second, none of those frames is left out."""
    fast, slow = np.arange(60) / 60.0, 1.0 + np.arange(10) / 5.0
    chosen = thin(np.concatenate([fast, slow]), 10.0)
    assert set(range(60, 70)) <= set(chosen.tolist())
    assert len(chosen) == 20


@given(
    gaps=st.lists(st.floats(0.001, 0.6), min_size=1, max_size=400),
    rate=st.floats(1.0, 60.0),
)
def test_chunks_cover_every_frame_once(gaps: list[float], rate: float) -> None:
    """Whatever the clock, the chunks are a partition and each wanted frame lies in its chunk."""
    times = np.concatenate([[0.0], np.cumsum(gaps)])
    chunks = plan(times, {"pose": rate})
    assert [chunk.first for chunk in chunks[1:]] == [chunk.stop for chunk in chunks[:-1]]
    assert (chunks[0].first, chunks[-1].stop) == (0, len(times))
    wanted = [i for chunk in chunks for _, index in chunk.wanted for i in index]
    assert wanted == thin(times, rate).tolist()
    assert all(chunk.first <= i < chunk.stop for chunk in chunks for _, index in chunk.wanted for i in index)


def test_a_minute_makes_six_chunks_with_keys_of_their_own() -> None:
    """Chunks are about ten seconds long, and their keys tell frames and rates."""
    chunks = plan(np.arange(1800) / 30.0, {"pose": 30.0, "hand": 5.0})
    assert [chunk.frames for chunk in chunks] == [300] * 6
    assert chunks[1].key == "300-600:hand@5+pose@30"


def test_marked_stretch_takes_its_surroundings_along() -> None:
    """Where a step is marked, what the capture check needs is looked at in the same pass; elsewhere it is left."""
    times = np.arange(1800) / 30.0
    (chunk,) = plan_marked(times, [Span(12.0, 14.0, {"pose": 30.0})])
    wanted = dict(chunk.wanted)
    assert (chunk.first, chunk.stop) == (300, 600)
    assert set(range(360, 421)) <= set(wanted["pose"])
    for stream, rate in SURVEY.items():
        around = [i for i in thin(times, rate) if 300 <= i < 600 and not 360 <= i <= 420]
        assert [i for i in wanted[stream] if not 360 <= i <= 420] == around
