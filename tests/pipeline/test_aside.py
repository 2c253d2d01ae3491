"""Pictures made in a process beside: the same ones, refusals as they are, and one that ended is replaced."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import psutil
import pytest

from review.capture.intake import stills
from review.domain.errors import FilmRefused
from review.pipeline.aside import Aside
from tests.films import even_times, make_film


def test_pictures_of_a_process_beside_are_those_made_here(tmp_path: Path) -> None:
    """Byte for byte; and what cannot be read is refused with the same words."""
    film = make_film(tmp_path / "film.mp4", even_times(30, 10.0))
    aside, times_s = Aside(), [2.5, 0.0, 1.234]
    assert aside(film, times_s, 120, True) == stills(film, times_s, 120, True)
    (tmp_path / "none.mp4").write_bytes(b"no film at all")
    with pytest.raises(FilmRefused) as here:
        stills(tmp_path / "none.mp4", [0.0], 120, False)
    with pytest.raises(FilmRefused) as beside:
        aside(tmp_path / "none.mp4", [0.0], 120, False)
    assert str(beside.value) == str(here.value)


def test_where_that_process_ended_the_next_has_a_new_one(tmp_path: Path) -> None:
    """Whoever asked meets one clear refusal; the next picture comes."""
    film = make_film(tmp_path / "film.mp4", even_times(30, 10.0))
    aside = Aside()
    made = aside(film, [1.0], 120, False)
    for worker in aside._pool._processes.values():
        assert os.getpriority(os.PRIO_PROCESS, worker.pid) > os.getpriority(os.PRIO_PROCESS, 0)
        os.kill(worker.pid, signal.SIGKILL)
        worker.join()
    with pytest.raises(FilmRefused, match=r"film\.mp4 could not be made: what reads the film ended"):
        aside(film, [2.0], 120, False)
    assert aside(film, [1.0], 120, False) == made
    (worker,) = aside._pool._processes.values()
    aside.close()
    assert not worker.is_alive()
    aside.close()


def test_that_process_does_not_grow_by_the_pictures_it_made() -> None:
    """What decoded a film is given back at once; else it grows from 90 to 250 MB."""
    film, aside = Path(__file__).parents[2] / "sample_clips" / "romberg.mp4", Aside()
    aside(film, [1.0], 120, False)
    (number,) = aside._pool._processes
    before = psutil.Process(number).memory_info().rss
    for start in range(34):
        aside(film, [2 * (start % 17) + later for later in (0.0, 6.0, 12.0)], 120, False)
    assert psutil.Process(number).memory_info().rss - before < 50e6
    aside.close()
