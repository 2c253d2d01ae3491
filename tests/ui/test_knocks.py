"""Addresses from which many wrong passwords come wait, longer each time."""

from __future__ import annotations

from ui.knocks import FREE, WINDOW_S, Knocks


class Clock:
    """A clock that a test sets."""

    now = 1000.0

    def __call__(self) -> float:
        """Tell the seconds."""
        return self.now


def test_an_address_waits_longer_each_time() -> None:
    """The first sixty are free, then it is 1, 2, 4 s and so on up to five minutes; other addresses do not wait."""
    clock = Clock()
    knocks = Knocks(clock)
    for _ in range(FREE - 1):
        knocks.failed("192.0.2.1")
    assert knocks.waits_s("192.0.2.1") == 0.0
    waits = []
    for _ in range(11):
        knocks.failed("192.0.2.1")
        waits.append(knocks.waits_s("192.0.2.1"))
        clock.now += waits[-1]
        assert knocks.waits_s("192.0.2.1") == 0.0
    assert waits == [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0, 300.0, 300.0]
    assert knocks.waits_s("192.0.2.2") == 0.0


def test_signing_in_and_time_forget_wrong_ones() -> None:
    """After a right password, or ten minutes without a wrong one, counting begins anew."""
    clock = Clock()
    knocks = Knocks(clock)
    for _ in range(FREE):
        knocks.failed("192.0.2.1")
    assert knocks.waits_s("192.0.2.1") == 1.0
    knocks.came_in("192.0.2.1")
    assert knocks.waits_s("192.0.2.1") == 0.0
    for _ in range(FREE):
        knocks.failed("192.0.2.1")
    clock.now += WINDOW_S
    knocks.failed("192.0.2.1")
    assert knocks.waits_s("192.0.2.1") == 0.0
