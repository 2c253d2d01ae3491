"""Pictures that several ask for at once: made in one going, each gets its own, and an error reaches all."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from review.domain.errors import FilmRefused
from review.pipeline.together import Together

PATIENCE_S = 20.0


class Film:
    """What makes pictures; the first going waits until it is let go."""

    def __init__(self, error: Exception | None = None) -> None:
        self.error = error
        self.goings: list[list[float]] = []
        self.begun, self.go_on = threading.Event(), threading.Event()

    def look(self, path: Path, times_s: Sequence[float], height_px: int, mirrored: bool) -> list[bytes]:
        """Tell film, time, height and flip as the picture."""
        self.goings.append(list(times_s))
        self.begun.set()
        assert self.go_on.wait(PATIENCE_S)
        if self.error is not None:
            raise self.error
        return [f"{path} {time_s} {height_px} {mirrored}".encode() for time_s in times_s]


def test_what_is_asked_for_meanwhile_is_made_in_one_going() -> None:
    """Ten ask while a film is gone through: one more going makes them all, each time once."""
    film, path = Film(), Path("film.mp4")
    together = Together(film.look)
    with ThreadPoolExecutor(11) as asking:
        first = asking.submit(together, path, [9.0], 120, False)
        assert film.begun.wait(PATIENCE_S)
        others = [asking.submit(together, path, [1.0 + number % 5, 0.5], 120, False) for number in range(10)]
        while len(together._waiting.get((path, 120, False), {})) < 6:
            threading.Event().wait(0.01)
        film.go_on.set()
        assert first.result(PATIENCE_S) == [b"film.mp4 9.0 120 False"]
        for number, other in enumerate(others):
            expected = [f"film.mp4 {1.0 + number % 5} 120 False".encode(), b"film.mp4 0.5 120 False"]
            assert other.result(PATIENCE_S) == expected
    assert film.goings == [[9.0], [0.5, 1.0, 2.0, 3.0, 4.0, 5.0]]
    assert together._waiting == {}


def test_other_heights_and_flips_are_other_pictures() -> None:
    """Nobody gets a picture of another height, or a flipped one, for being in one going."""
    film, path = Film(), Path("film.mp4")
    film.go_on.set()
    together = Together(film.look)
    assert together(path, [1.0], 120, False) != together(path, [1.0], 480, False) != together(path, [1.0], 480, True)
    assert len(film.goings) == 3


def test_an_error_reaches_all_and_the_next_can_go() -> None:
    """A film that cannot be read is refused to each who asked, and asked for anew the next time."""
    film, path = Film(FilmRefused("no film")), Path("film.mp4")
    together = Together(film.look)
    film.go_on.set()
    with ThreadPoolExecutor(4) as asking:
        for one in [asking.submit(together, path, [float(number)], 120, False) for number in range(4)]:
            with pytest.raises(FilmRefused, match="no film"):
                one.result(PATIENCE_S)
    film.error = None
    assert together(path, [7.0], 120, False) == [b"film.mp4 7.0 120 False"]
