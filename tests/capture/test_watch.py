"""Which frames the body is followed in, and which of them the face is sought in."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np

from review.capture.head import Body
from review.capture.watch import HEAD_STAYS_S, Job, Watch

BODY = Body(np.zeros((33, 2)), np.ones(33), np.zeros((33, 3)))


class _Counting:
    """Answers with a body, or with none, and notes at which times it was asked."""

    def __init__(self, answer: Body | None) -> None:
        self.answer = answer
        self.asked_s: list[float] = []

    def pose(self, image: Any, time_s: float, size: tuple[int, int]) -> Body | None:
        self.asked_s.append(time_s)
        return self.answer


def _watch(detectors: _Counting) -> Watch:
    return Watch({}, (640, 360), detectors, 0, False)


def _job(time_s: float, *streams: str) -> Job:
    return Job(SimpleNamespace(time_s=time_s), None, None, frozenset(streams))


def test_for_a_face_alone_the_body_is_followed_now_and_then() -> None:
    """At 30 frames a second the body is followed in one frame of seven, and in all of them where it is wanted."""
    seldom, always = _Counting(BODY), _Counting(BODY)
    watch, other = _watch(seldom), _watch(always)
    for number in range(60):
        assert watch.body(_job(number / 30, "face")) is BODY
        assert other.body(_job(number / 30, "face", "pose")) is BODY
    assert len(always.asked_s) == 60
    assert np.diff(seldom.asked_s).min() > HEAD_STAYS_S
    assert len(seldom.asked_s) <= 10


def test_nobody_found_is_looked_for_in_every_frame() -> None:
    """A body that was not found says nothing of where the head is in the next frame."""
    nobody = _Counting(None)
    watch = _watch(nobody)
    for number in range(10):
        assert watch.body(_job(number / 30, "face")) is None
    assert len(nobody.asked_s) == 10


def test_hands_alone_need_no_body() -> None:
    """Nor does a face that fills the picture."""
    counting = _Counting(BODY)
    watch = _watch(counting)
    assert watch.body(_job(0.0, "hand")) is None
    watch.face_is_large = True
    assert watch.body(_job(0.1, "face")) is None
    assert counting.asked_s == []
