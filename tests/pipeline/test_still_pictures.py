"""Stills are made once and kept, whoever asks for them."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

from review.actions.recordings import add
from review.pipeline.stills import still_pictures
from tests.films import even_times, make_film
from tests.homes import learners_home


def test_two_may_ask_for_the_same_fresh_still_at_once(tmp_path: Path) -> None:
    """Both make it, both are given it, and nothing half made is left."""
    home, learner = learners_home(tmp_path / "home")
    recording = add(home, learner, make_film(tmp_path / "film.mp4", even_times(20, 10)))
    both = Barrier(2, timeout=30)

    def look(film: Path, times_s: Sequence[float], height_px: int, mirrored: bool) -> list[bytes]:
        both.wait()
        return [b"a picture of %d ms" % round(1000 * time_s) for time_s in times_s]

    times_s = [0.1 + place / 1000 for place in range(400)]
    with ThreadPoolExecutor(2) as pool:
        asked = [pool.submit(still_pictures, home, recording, times_s, 33, look) for _ in range(2)]
        given = [one.result() for one in asked]
    assert given[0] == given[1] == [b"a picture of %d ms" % round(1000 * time_s) for time_s in times_s]
    assert not list(home.media.rglob("*.part"))
