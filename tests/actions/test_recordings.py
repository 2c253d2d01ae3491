"""Adding and erasing films: what is kept, what is refused, and that nothing is left behind."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from threading import Barrier

import psutil
import pytest

from review.__main__ import main
from review.actions import checklists, courses, marks, people, recordings
from review.actions.erasing import erase
from review.domain.course import Course, CourseRole, Membership
from review.domain.errors import EntryRefused, FilmRefused, InputError, NotAllowed
from review.domain.model import Person, Role
from review.store.home import Home, find_home
from review.store.media import load_times
from review.store.repository import reading, repository
from review.store.room import SPARE_BYTES
from review.store.settings import SETTINGS_FILE
from tests.films import even_times, make_film


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make an empty home with the packaged sheets."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
    return home


def person(home: Home, code: str = "L-07", role: Role = Role.LEARNER) -> Person:
    """Make a person known."""
    with repository(home) as repo:
        return people.ensure(repo, code, role)


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """Write a film of two seconds."""
    return make_film(tmp_path / "attempt.mp4", even_times(60))


def files(home: Home) -> list[Path]:
    """Return every file below the home but the database's own and the settings."""
    own = {home.database.name, f"{home.database.name}-wal", f"{home.database.name}-shm", SETTINGS_FILE}
    found = (path for path in home.root.rglob("*") if path.is_file() and path.name not in own)
    return sorted(path for path in found if not path.name.endswith(".lock"))


def test_film_is_kept_unchanged_with_its_facts(home: Home, film: Path) -> None:
    """The original is a read-only copy, the clock is kept in float64, and stills are made."""
    said: list[str] = []
    kept = recordings.add(home, person(home), film, progress=lambda stage, share: said.append(stage))
    original = home.root / kept.original
    assert original.read_bytes() == film.read_bytes()
    assert not os.access(original, os.W_OK) or os.geteuid() == 0
    assert (kept.frames, kept.attempt, kept.checklist_id) == (60, 1, "neuro_screening")
    assert load_times(home, kept.sha256) == pytest.approx(even_times(60), abs=1e-9)
    assert len(list((original.parent / "stills").iterdir())) == 5
    assert said[-1] == "Added"


def test_same_film_is_one_recording(home: Home, film: Path, tmp_path: Path) -> None:
    """A copy under another name is the recording that is here already, and no file is written again."""
    first = recordings.add(home, person(home), film)
    before = files(home)
    copy = tmp_path / "copy.mp4"
    copy.write_bytes(film.read_bytes())
    assert recordings.add(home, person(home), copy) == first
    assert files(home) == before


def test_same_film_added_twice_at_once_is_one_recording_with_its_files(
    home: Home, film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two that add one film at the same moment get the same recording, and neither takes the other's files away."""
    both = Barrier(2, timeout=30)
    taken = recordings.fingerprint

    def at_once(path: Path, *told: Callable[[float], None]) -> str:
        sha256 = taken(path, *told)
        both.wait()
        return sha256

    monkeypatch.setattr(recordings, "fingerprint", at_once)
    learner = person(home)
    with ThreadPoolExecutor(2) as pool:
        first, second = pool.map(lambda _: recordings.add(home, learner, film), range(2))
    assert first == second
    assert (home.root / first.original).read_bytes() == film.read_bytes()
    assert load_times(home, first.sha256) == pytest.approx(even_times(60), abs=1e-9)


def test_attempts_are_counted_by_learner_and_sheet(home: Home, film: Path, tmp_path: Path) -> None:
    """The second film of a learner on a sheet is attempt 2; another learner begins at 1."""
    second = make_film(tmp_path / "second.mp4", even_times(45))
    third = make_film(tmp_path / "third.mp4", even_times(30))
    one, other = person(home), person(home, "L-12")
    attempts = [recordings.add(home, one, film), recordings.add(home, one, second), recordings.add(home, other, third)]
    assert [recording.attempt for recording in attempts] == [1, 2, 1]


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"", "empty"), (b"hello\n" * 50, "no film"), (None, "no such file")],
    ids=["zero bytes", "text", "missing"],
)
def test_what_is_no_film_leaves_nothing(home: Home, tmp_path: Path, content: bytes | None, words: str) -> None:
    """A refusal is one sentence, and neither a file nor a row stays."""
    path = tmp_path / "thing.mp4"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(FilmRefused, match=words):
        recordings.add(home, person(home), path)
    assert files(home) == []
    with reading(home) as repo:
        assert repo.recordings() == ()


def test_no_room_is_said_before_anything_is_copied(home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A film that needs a copy is refused with what each part needs, and no byte of it was written."""
    film = make_film(tmp_path / "attempt.mkv", even_times(60), codec="libvpx")
    learner, before = person(home), files(home)
    usage = shutil.disk_usage(home.root)._replace(free=SPARE_BYTES + 1_000_000)
    monkeypatch.setattr(shutil, "disk_usage", lambda path: usage)
    monkeypatch.setattr(recordings, "keep_original", None)
    with pytest.raises(
        InputError, match=r"no room for attempt.mkv \(original .* MB, copy for the browser .* MB, tracks .* MB"
    ):
        recordings.add(home, learner, film)
    assert files(home) == before


def test_a_course_without_room_is_said_before_anything_is_copied(
    home: Home, film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of two courses only the one that the film is for counts; a film that is here already is not refused."""
    with repository(home) as repo:
        courses.start(repo, "balance", "Balance lab", "I-01")
        repo.courses().put(Course("nerves", "Nerves", datetime.now(UTC), quota_bytes=100_000))
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        for course in ("balance", "nerves"):
            repo.courses().put_member(Membership(course, learner.id, CourseRole.LEARNER))
        learner = repo.person("L-07")
    before = files(home)
    with monkeypatch.context() as broken:
        broken.setattr(recordings, "keep_original", None)
        with pytest.raises(
            InputError,
            match=r"^attempt.mp4 needs .* MB, and 0\.1 MB are left of the 0\.0001 GB .* Nerves: .* Nothing was",
        ):
            recordings.add(home, learner, film, course_id="nerves")
    assert files(home) == before
    kept = recordings.add(home, learner, film, course_id="balance")
    with repository(home) as repo:
        courses.set_quota(repo, repo.person("I-01"), "balance", 1e-6)
    assert recordings.add(home, learner, film, course_id="balance") == kept


def test_failure_half_way_leaves_nothing(home: Home, film: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When stills cannot be made after the original was kept, the original goes as well."""

    def broken(*given: object, **named: object) -> list[bytes]:
        raise OSError("no space left")

    monkeypatch.setattr(recordings, "still_pictures", broken)
    with pytest.raises(OSError, match="no space left"):
        recordings.add(home, person(home), film)
    assert files(home) == []


@pytest.mark.skipif(sys.platform == "win32", reason="a process there cannot be killed by a signal")
def test_death_of_the_process_that_reads_is_a_refusal(home: Home, tmp_path: Path) -> None:
    """When the decoders crash over a film while its copy is made, that is one sentence, and nothing stays."""
    film = make_film(tmp_path / "attempt.webm", even_times(60), codec="libvpx")
    learner = person(home)

    readers: list[psutil.Process] = []

    def crash(stage: str, share: float) -> None:
        if "copy" in stage and not readers:
            running = psutil.Process().children()
            readers.extend(child for child in running if "review.capture.reader" in child.cmdline())
            readers[0].send_signal(signal.SIGSEGV)

    with pytest.raises(FilmRefused, match=r"attempt\.webm: the process that read it ended before its time \(SIGSEGV\)"):
        recordings.add(home, learner, film, progress=crash)
    assert files(home) == []
    assert recordings.add(home, learner, film).frames == 60


@pytest.mark.parametrize("height_mm", [17.4, 174000.0, -1720.0], ids=["in decimetres", "far too tall", "negative"])
def test_height_of_nobody_is_refused(home: Home, film: Path, height_mm: float) -> None:
    """A height in another unit is met with the expected range."""
    with pytest.raises(EntryRefused, match="expected 500 to 2500 mm"):
        recordings.add(home, person(home), film, partner_height_mm=height_mm)


def test_peer_adds_nothing(home: Home, film: Path) -> None:
    """A peer may grade but not bring or erase films."""
    kept = recordings.add(home, person(home), film)
    peer = person(home, "L-12", Role.PEER)
    with pytest.raises(NotAllowed):
        recordings.add(home, peer, film)
    with pytest.raises(NotAllowed):
        erase(home, peer, kept.id)


def test_erasing_tells_what_went_and_leaves_nothing(home: Home, film: Path) -> None:
    """Film, copy, stills, tracks and every mark go, and the receipt counts them."""
    learner = person(home)
    kept = recordings.add(home, learner, film)
    with repository(home) as repo:
        marks.place(repo, learner, kept, "hand_hygiene", None, 0.1, 0.9)
    receipt = erase(home, learner, kept.id)
    assert receipt.rows["marks"] == 1
    assert files(home) == []
    with reading(home) as repo:
        assert repo.recordings() == ()


def test_erase_asks_first(home: Home, film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command names what it would erase and does nothing on any answer but yes; --yes goes ahead."""
    kept = recordings.add(home, person(home), film)
    order = ["erase", kept.id, "--home", str(home.root)]
    asked = subprocess.run([sys.executable, "-m", "review", *order], input="no\n", capture_output=True, text=True)
    assert (asked.returncode, "Nothing was erased" in asked.stdout) == (0, True)
    assert (home.root / kept.original).exists()
    assert main([*order, "--yes"]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert f"Recording {kept.id} of L-07, erased by L-07" in told.out
    assert "none of its files is there, no row" in told.out
    assert files(home) == []


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["add", "nothere.mp4"], 2, "no such file"),
        (["analyse", "nothere"], 2, "no such file, and no recording"),
        (["values", "abc"], 2, "No recording is called 'abc'. There is none yet."),
        (["mark", "abc", "romberg_setup"], 2, "No recording is called 'abc'"),
        (["checklist", "check", "nothere.toml"], 2, "nothere.toml"),
        (["checklist", "show", "neuro_screning"], 2, "Did you mean neuro_screening?"),
        (["recordings", "--as", "Mary Jones"], 2, "expected letters, a hyphen and digits"),
        (["erase", "abc", "--yes"], 2, "No recording is called 'abc'"),
        (["doctor", "--models", "nowhere"], 2, "checks failed: landmark models"),
        (["open", "--port", "99999", "--no-browser"], 2, "--port"),
    ],
    ids=lambda value: " ".join(value[:2]) if isinstance(value, list) else None,
)
def test_bad_input_to_a_command_is_one_clear_error(
    tmp_path: Path,
    words: list[str],
    code: int,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Every command answers bad input with a sentence on stderr and exit code 2, never with a traceback."""
    monkeypatch.chdir(tmp_path)
    order = words if words[:2] == ["checklist", "check"] else [*words, "--home", str(tmp_path / "home")]
    assert _exit_code(order) == code
    told = capsys.readouterr().err
    assert said in told
    assert "Traceback" not in told


def _exit_code(order: list[str]) -> object:
    """Run a command in this process; words that the parser refuses end it."""
    try:
        return main(order)
    except SystemExit as ended:
        return ended.code
