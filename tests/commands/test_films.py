"""Adding films from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from review.__main__ import main
from review.store.home import find_home
from review.store.repository import Job, repository
from review.store.trackstore import TrackStore
from tests.films import even_times, make_film
from tests.store.made import WHEN
from tests.synthetic import standing, with_picture


def test_a_refused_film_does_not_keep_the_others_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of four files the two films are added and printed; both refusals are told in the end, with exit code 2."""
    first = make_film(tmp_path / "first.mp4", even_times(6))
    last = make_film(tmp_path / "last.mp4", even_times(9))
    empty = tmp_path / "empty.mp4"
    empty.touch()
    order = ["add", first, empty, tmp_path / "nowhere.mp4", last, "--json", "--home", tmp_path / "home"]
    assert main([str(part) for part in order]) == 2
    told = capsys.readouterr()
    assert [json.loads(line)["frames"] for line in told.out.splitlines()] == [6, 9]
    assert "2 of 4 films were refused" in told.err
    assert "empty.mp4: the file is empty" in told.err
    assert "nowhere.mp4: there is no such file" in told.err


def test_a_single_refused_film_is_told_in_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One film, one refusal, no count."""
    assert main(["add", str(tmp_path / "nowhere.mp4"), "--home", str(tmp_path / "home")]) == 2
    told = capsys.readouterr().err
    assert "nowhere.mp4: there is no such file" in told
    assert "of 1" not in told


def test_a_slow_motion_that_no_camera_has_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A film faster than life is refused with what was expected; a slowed one is kept as said."""
    film = make_film(tmp_path / "slow.mp4", even_times(6))
    home = ["--home", str(tmp_path / "home")]
    assert main(["add", str(film), "--slow-motion", "0.5", *home]) == 2
    assert "expected 1 (an ordinary film) to 40" in capsys.readouterr().err
    assert main(["add", str(film), "--slow-motion", "8", "--json", *home]) == 0
    assert json.loads(capsys.readouterr().out)["slow_motion"] == 8.0


def test_values_end_with_what_to_do_better(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """After the values of a dark film its fault is told, with what to do next time and the steps it spoils."""
    times, home = even_times(60), ["--home", str(tmp_path / "home")]
    film = make_film(tmp_path / "dark.mp4", times)
    assert main(["add", str(film), "--checklist", "balance_only", "--json", *home]) == 0
    kept = json.loads(capsys.readouterr().out)["id"]
    tracks = with_picture(standing(np.array(times)), brightness=0.05)
    store = TrackStore(find_home(tmp_path / "home"), kept)
    store.create(tracks)
    store.write(0, tracks, ["pose", "picture"])
    store.mark_done("all")
    with repository(find_home(tmp_path / "home")) as repo:
        repo.put_job(Job(kept, "done", 1, 1, "", WHEN, None))
    assert main(["values", kept, *home]) == 0
    told = capsys.readouterr().out
    assert "Capture check: 1 thing to do better next time\n  The picture is too dark. Switch on the room light" in told
    assert "Hard to see when grading: every step of the checklist (6)." in told
