"""Ctrl-C while work goes on."""

import signal
import threading

import pytest

from review.pipeline.presses import ctrl_c


def test_first_press_is_a_wish_and_the_second_interrupts() -> None:
    """The first press only changes the answer; afterwards Ctrl-C is what it was."""
    before = signal.getsignal(signal.SIGINT)
    with ctrl_c() as pressed:
        assert not pressed()
        signal.raise_signal(signal.SIGINT)
        assert pressed()
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before


def test_other_threads_hear_of_no_press() -> None:
    """Where no signal can be caught nothing is caught."""
    said: list[bool] = []

    def ask() -> None:
        with ctrl_c() as pressed:
            said.append(pressed())

    thread = threading.Thread(target=ask)
    thread.start()
    thread.join()
    assert said == [False]
