"""Reading in a process of its own: the same answers, and whatever happens to that process is one sentence."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import psutil
import pytest

from review.capture import intake
from review.capture.apart import Apart, Limits
from review.domain.errors import FilmRefused
from tests.films import even_times, make_film

needs_signals = pytest.mark.skipif(sys.platform == "win32", reason="a process there has no signals to stop it with")


@pytest.fixture(scope="module")
def reader() -> Iterator[Apart]:
    """Give one process to the tests that do it no harm."""
    with Apart() as apart:
        yield apart


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """Write a film of a second that needs a new encoding, in a folder of its own."""
    (tmp_path / "films").mkdir()
    return make_film(tmp_path / "films" / "phone.webm", even_times(30), codec="libvpx")


def _copies(folder: Path) -> Path:
    (folder / "copies").mkdir()
    return folder / "copies" / "playback.mp4"


def test_the_other_process_answers_as_this_one_would(reader: Apart, film: Path, tmp_path: Path) -> None:
    """Facts, times, copy and stills are the same, and all progress is heard."""
    facts, times = reader.probe(film)
    assert facts == intake.probe(film)[0]
    np.testing.assert_array_equal(times, intake.probe(film)[1])
    shares: list[float] = []
    copy = _copies(tmp_path)
    reader.make_playback(film, facts, copy, shares.append)
    intake.make_playback(film, facts, tmp_path / "here.mp4")
    assert copy.read_bytes() == (tmp_path / "here.mp4").read_bytes()
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert reader.stills(film, [0.1, 0.9], 48) == intake.stills(film, [0.1, 0.9], 48)


def test_one_process_serves_a_whole_intake(reader: Apart, film: Path) -> None:
    """The process is started once and goes on after a refusal."""
    reader.probe(film)
    number = reader.pid
    with pytest.raises(FilmRefused, match="no such file"):
        reader.probe(film.with_name("gone.mp4"))
    reader.probe(film)
    assert reader.pid == number


def test_a_refusal_is_the_same_sentence(reader: Apart, tmp_path: Path) -> None:
    """What this process would say of a file that is no film is what the other one says."""
    text = tmp_path / "notes.mp4"
    text.write_text("feet together\n" * 50)
    with pytest.raises(FilmRefused) as here:
        intake.probe(text)
    with pytest.raises(FilmRefused) as there:
        reader.probe(text)
    assert str(there.value) == str(here.value)


def _kill_at(apart: Apart, number: int) -> Callable[[float], None]:
    def hear(share: float) -> None:
        if share < 1 and apart.pid is not None:
            os.kill(apart.pid, number)

    return hear


@needs_signals
@pytest.mark.parametrize("name", ["SIGSEGV", "SIGABRT", "SIGKILL"])
def test_a_death_over_a_film_is_a_refusal_and_leaves_nothing(film: Path, tmp_path: Path, name: str) -> None:
    """A crash of the decoders, or a kill for want of memory, half-way through the copy is said in one sentence."""
    copy = _copies(tmp_path)
    with Apart() as apart:
        facts, _ = apart.probe(film)
        with pytest.raises(FilmRefused, match=f"ended before its time .{name}.") as refusal:
            apart.make_playback(film, facts, copy, _kill_at(apart, getattr(signal, name)))
        assert list(copy.parent.iterdir()) == []
        assert "\n" not in str(refusal.value)
        apart.make_playback(film, facts, copy)
    assert list(copy.parent.iterdir()) == [copy]


@needs_signals
def test_a_hang_is_ended_at_the_limit(film: Path, tmp_path: Path) -> None:
    """A process that stands still is killed when its seconds are over; the refusal names them."""
    copy = _copies(tmp_path)
    with Apart(Limits(make_s=2, make_s_per_second=0, patience=1)) as apart:
        facts, _ = apart.probe(film)
        with pytest.raises(FilmRefused, match="took longer than 2 seconds"):
            apart.make_playback(film, facts, copy, _kill_at(apart, signal.SIGSTOP))
        assert apart.pid is None
    assert list(copy.parent.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="computing cannot be limited there")
def test_computing_without_end_is_ended_at_the_limit(tmp_path: Path) -> None:
    """What keeps the decoders or encoders busy for longer than is allowed is ended, however long that takes."""
    film = make_film(tmp_path / "busy.mkv", even_times(600), size=(640, 480), pixels="yuv444p")
    copy = _copies(tmp_path)
    with Apart(Limits(make_s=0.01, make_s_per_second=0, patience=1e5)) as apart:
        facts, _ = apart.probe(film)
        with pytest.raises(FilmRefused, match="took longer than"):
            apart.make_playback(film, facts, copy)
    assert list(copy.parent.iterdir()) == []


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux keeps a limit of memory")
def test_a_film_that_wants_too_much_memory_is_refused(tmp_path: Path) -> None:
    """A film that does not fit into the memory allowed is refused and leaves nothing; with more it is taken."""
    film = make_film(tmp_path / "large.mp4", even_times(3), size=(3840, 2160), pixels="yuv444p")
    copy = _copies(tmp_path)
    facts, _ = intake.probe(film)
    with (
        Apart(Limits(memory_bytes=300_000_000)) as apart,
        pytest.raises(FilmRefused, match=r"GB of memory|decoders gave up|ended before its time"),
    ):
        apart.make_playback(film, facts, copy)
    assert list(copy.parent.iterdir()) == []
    with Apart() as apart:
        apart.make_playback(film, facts, copy)
    assert list(copy.parent.iterdir()) == [copy]


def test_a_listener_that_gives_up_ends_the_work(film: Path, tmp_path: Path) -> None:
    """What the listener raises comes through as it is; the process is ended and no part stays."""
    copy = _copies(tmp_path)

    def stop(share: float) -> None:
        raise KeyboardInterrupt

    with Apart() as apart:
        facts, _ = apart.probe(film)
        with pytest.raises(KeyboardInterrupt):
            apart.make_playback(film, facts, copy, stop)
        assert apart.pid is None
    assert list(copy.parent.iterdir()) == []


def test_it_ends_with_its_parent(film: Path) -> None:
    """When the parent is killed outright, the process that reads ends by itself."""
    code = (
        "import pathlib, sys, time; from review.capture.apart import Apart; apart = Apart();"
        "apart.probe(pathlib.Path(sys.argv[1])); print(apart.pid, flush=True); time.sleep(60)"
    )
    parent = subprocess.Popen([sys.executable, "-c", code, str(film)], stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    reader = psutil.Process(int(parent.stdout.readline()))
    assert reader.is_running()
    parent.kill()
    parent.communicate()
    psutil.wait_procs([reader], timeout=30)
    assert not reader.is_running() or reader.status() == psutil.STATUS_ZOMBIE


def test_it_ends_with_its_block(film: Path) -> None:
    """After the block the process is gone and no pipe is left open."""
    with Apart() as apart:
        apart.probe(film)
        reader = psutil.Process(apart.pid)
    assert not reader.is_running()
    assert apart.pid is None


@pytest.mark.skipif(sys.platform != "linux", reason="limits are read from /proc")
def test_it_has_limits(film: Path) -> None:
    """The process may write no core, has a limit of memory, and goes first when the machine runs out of it."""
    with Apart(Limits(memory_bytes=3 << 30)) as apart:
        apart.probe(film)
        folder = Path(f"/proc/{apart.pid}")
        rows = {line[:26].strip(): line[26:].split()[:2] for line in (folder / "limits").read_text().splitlines()}
        assert rows["Max core file size"] == ["0", "0"]
        assert rows["Max data size"] == [str(3 << 30)] * 2
        assert (folder / "oom_score_adj").read_text().strip() == "1000"
        assert "Seccomp:\t2" in (folder / "status").read_text()  # see test_confined.py
