"""A process that is killed while it adds a film leaves nothing that stays."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest

from review.actions import recordings
from review.store.home import Home
from review.store.leftovers import sweep
from review.store.repository import reading
from tests.films import even_times, make_film
from tests.homes import learners_home

MAKING = ".playback.mp4.*.part"


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a film that no browser plays as it is, long enough to be killed over."""
    return make_film(tmp_path_factory.mktemp("film") / "long.mkv", even_times(900), size=(640, 480), pixels="yuv444p")


def listing(home: Home) -> list[str]:
    """Return everything below a home's films and tracks but locks."""
    found = [*home.media.rglob("*"), *home.tracks.rglob("*"), *home.incoming.rglob("*")]
    return sorted(path.relative_to(home.root).as_posix() for path in found if not path.name.endswith(".lock"))


def test_kill_while_the_copy_is_made(tmp_path: Path, film: Path) -> None:
    """After a SIGKILL in the middle of the copy the next start sweeps all of it away, and the film can be added."""
    home, learner = learners_home(tmp_path / "home")
    order = [sys.executable, "-m", "review", "add", str(film), "--quiet", "--home", str(home.root)]
    with subprocess.Popen(order, stdout=subprocess.DEVNULL) as adding:
        while not list(home.media.rglob(MAKING)):
            assert adding.poll() is None, "the film was added before it could be killed"
            time.sleep(0.005)
        sweep(home)
        assert list(home.media.rglob(MAKING)), "a film that was being added was swept away"
        adding.kill()
    assert listing(home) != []
    sweep(home)
    assert listing(home) == []
    added = recordings.add(home, learner, film)
    assert (home.root / added.playback).name == "playback.mp4"
    assert list(home.media.rglob(MAKING)) == list(home.media.rglob("unfinished")) == []
    with reading(home) as repo:
        assert [each.id for each in repo.recordings()] == [added.id]
