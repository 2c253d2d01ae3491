"""A backup holds the home as it was at one moment, and puts it back whole, into either kind of database."""

from __future__ import annotations

import gzip
import hashlib
import json
import shutil
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from review.domain.course import Course
from review.domain.errors import InputError, StoreBroken
from review.domain.tracks import empty_tracks
from review.store import backup
from review.store.backup import MANIFEST, ROWS, back_up, put_back, verify
from review.store.database import open_database
from review.store.dump import load
from review.store.home import Home, find_home
from review.store.media import media_folder
from review.store.repository import Repository, reading, repository
from review.store.settings import SETTINGS_FILE
from review.store.trackstore import TrackStore
from tests.postgres import Server
from tests.store import made

FILM = b"a film, as it came" * 1000
SHA256 = hashlib.sha256(FILM).hexdigest()


def film_in(home: Home, repo: Repository, content: bytes = FILM) -> str:
    """Put a film with its recording and tracks into a home; return the id."""
    sha256 = hashlib.sha256(content).hexdigest()
    folder = media_folder(home, sha256)
    folder.mkdir(parents=True)
    (folder / "original.mp4").write_bytes(content)
    (folder / "stills").mkdir()
    (folder / "stills" / "00001000-120.jpg").write_bytes(b"a still")
    TrackStore(home, sha256[:12]).create(empty_tracks([0.0, 0.1], 64, 48))
    TrackStore(home, sha256[:12]).mark_done("coarse:0-2")
    repo.add_recording(made.recording(sha256[:12], sha256=sha256, size_bytes=len(content), name=f"{sha256[:4]}.mp4"))
    return sha256[:12]


@pytest.fixture
def used(home: Home) -> Home:
    """Make a home with all kinds of rows and a film."""
    with repository(home) as repo:
        made.fill(repo)
        repo.erase_recording("a1b2c3")
        identity = film_in(home, repo)
        repo.put_mark(made.mark(recording_id=identity))
        repo.put_comment(made.comment(recording_id=identity, text="Nearer, \u00e9l\u00e8ve \U0001f9e0."))
        repo.put_entry(made.entry(recording_id=identity))
    return home


@pytest.fixture(params=["file", "server"])
def empty(request: pytest.FixtureRequest, tmp_path: Path) -> Home:
    """Make an empty home whose database is of either kind."""
    home = find_home(tmp_path / "again")
    if request.param == "server":
        server: Server = request.getfixturevalue("server")
        (home.root / SETTINGS_FILE).write_text(f'database = "{server.address(server.fresh())}"\n', "utf-8")
    return home


def rows(home: Home, place: Path) -> list[str]:
    """Return all rows of a home, in a fixed order."""
    with reading(home) as repo:
        repo.dump(place)
    return sorted(gzip.open(place, "rt", encoding="utf-8"))


def files(home: Home) -> dict[str, bytes]:
    """Return the files of a home's films and tracks, locks left out."""
    paths = [path for folder in (home.media, home.tracks) for path in folder.rglob("*") if path.is_file()]
    return {path.relative_to(home.root).as_posix(): path.read_bytes() for path in paths if path.suffix != ".lock"}


def test_what_is_put_back_is_what_was_there(used: Home, empty: Home, tmp_path: Path) -> None:
    """Every row and every byte comes back, and new rows are numbered after the old ones."""
    assert back_up(used, tmp_path / "kept").damaged == ()
    put_back(tmp_path / "kept", empty)
    assert rows(empty, tmp_path / "new.gz") == rows(used, tmp_path / "old.gz")
    assert files(empty) == files(used)
    with repository(empty) as repo:
        repo.looks().note(None, SHA256[:12], "see", "once more", True, made.WHEN)
        assert repo.comments(SHA256[:12])[0].text == "Nearer, \u00e9l\u00e8ve \U0001f9e0."


def test_only_what_changed_is_copied_again(used: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second backup into the same folder copies the new film alone; what was erased goes from it."""
    folder = tmp_path / "kept"
    back_up(used, folder)
    with repository(used) as repo:
        film_in(used, repo, FILM[::-1])
        repo.erase_recording(SHA256[:12])
    shutil.rmtree(media_folder(used, SHA256))
    shutil.rmtree(used.tracks / SHA256[:12])
    copied: list[str] = []
    copy = backup._copy
    monkeypatch.setattr(backup, "_copy", lambda path, there: copied.append(path.name) or copy(path, there))
    found = {one.place for one in back_up(used, folder).files}
    assert "original.mp4" in copied
    assert copied.count("original.mp4") == 1
    assert not any(SHA256 in place for place in found)
    assert not media_folder(Home(folder), SHA256).exists()
    copied.clear()
    back_up(used, folder)
    assert copied == []
    assert verify(folder)


def test_a_recording_erased_meanwhile_is_not_in_it(used: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is erased while its files are copied: neither its rows nor its files are in the backup."""
    copy, once = backup._copy, threading.Event()

    def erasing(path: Path, there: Path) -> str:
        if not once.is_set():
            once.set()
            with repository(used) as repo:
                repo.erase_recording(SHA256[:12])
        return copy(path, there)

    monkeypatch.setattr(backup, "_copy", erasing)
    made_of = back_up(used, tmp_path / "kept")
    assert [one.place for one in made_of.files] == [ROWS]
    assert "\u00e9l\u00e8ve" not in gzip.decompress((tmp_path / "kept" / ROWS).read_bytes()).decode()


def _lose(path: Path) -> None:
    path.unlink()


def _spoil(path: Path) -> None:
    content = path.read_bytes()
    path.chmod(0o600)
    path.write_bytes(content[:-1] + bytes([content[-1] ^ 1]))


def _break_off(*given: object) -> None:
    raise KeyboardInterrupt


@pytest.mark.parametrize(("fault", "words"), [(_lose, "is missing"), (_spoil, "is not what it was")])
def test_a_damaged_backup_is_not_put_back(
    used: Home, tmp_path: Path, fault: Callable[[Path], None], words: str
) -> None:
    """All faults are told at once, and the home stays empty."""
    folder = tmp_path / "kept"
    back_up(used, folder)
    place = f"media/{SHA256[:2]}/{SHA256}/original.mp4"
    fault(folder / place)
    fault(folder / ROWS)
    home = find_home(tmp_path / "again")
    with pytest.raises(InputError, match=rf"{place} {words}.*{ROWS} {words}"):
        put_back(folder, home)
    assert files(home) == {}
    assert not home.database.exists()


def test_a_backup_that_was_broken_off_is_none_until_it_is_gone_on_with(
    used: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without its list of files it cannot be put back; run again it is whole."""
    with monkeypatch.context() as patch:
        patch.setattr(backup, "_drop_others", _break_off)
        with pytest.raises(KeyboardInterrupt):
            back_up(used, tmp_path / "kept")
    with pytest.raises(InputError, match="no finished backup"):
        verify(tmp_path / "kept")
    back_up(used, tmp_path / "kept")
    assert verify(tmp_path / "kept")


def test_a_damaged_original_is_told(used: Home, tmp_path: Path) -> None:
    """A film whose bytes are not what its name says is in the backup as it is, and named."""
    _spoil(media_folder(used, SHA256) / "original.mp4")
    assert back_up(used, tmp_path / "kept").damaged == (f"{SHA256[:4]}.mp4",)


def test_places_that_hold_something_else_are_refused(used: Home, tmp_path: Path) -> None:
    """A folder with other things, a folder in the home, and a home that is not empty."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "thesis.doc").write_text("all of it")
    with pytest.raises(InputError, match=r"holds something else \(thesis.doc\)"):
        back_up(used, tmp_path / "mine")
    with pytest.raises(InputError, match="lies in the home itself"):
        back_up(used, used.root / "kept")
    back_up(used, tmp_path / "kept")
    with pytest.raises(InputError, match="holds films already"):
        put_back(tmp_path / "kept", used)
    other = find_home(tmp_path / "other")
    with repository(other) as repo:
        made.fill(repo)
    with pytest.raises(InputError, match="holds something already"):
        put_back(tmp_path / "kept", other)


def test_a_backup_of_a_newer_version_is_refused(used: Home, tmp_path: Path) -> None:
    """The form of its rows is unknown; the home's database is not made."""
    back_up(used, tmp_path / "kept")
    lines = gzip.decompress((tmp_path / "kept" / ROWS).read_bytes()).splitlines(keepends=True)
    lines[0] = json.dumps({"form": "9999"}).encode() + b"\n"
    (tmp_path / "newer.gz").write_bytes(gzip.compress(b"".join(lines)))
    with pytest.raises(StoreBroken, match="newer version"):
        load(find_home(tmp_path / "again"), tmp_path / "newer.gz")


def test_a_backup_of_an_earlier_form_is_brought_to_the_newest(home: Home, tmp_path: Path) -> None:
    """Rows of the eighth form go in as they were, and the home has today's tables afterwards."""
    old = tmp_path / "old.gz"
    old.write_bytes(gzip.compress(b'{"form": "0008"}\n["people", {"id": "p1", "code": "L-07", "role": "learner"}]\n'))
    load(home, old)
    with reading(open_database(home)) as repo:
        assert [one.code for one in repo.people()] == ["L-07"]
        assert repo.standards() is not None


def test_limits_of_courses_go_along(used: Home, tmp_path: Path) -> None:
    """A limit is in the backup and is put back; a course whose rows had none yet has none."""
    course = Course("balance", "Lab", made.WHEN, quota_bytes=50_000_000_000)
    with repository(used) as repo:
        repo.courses().put(course)
    back_up(used, tmp_path / "kept")
    put_back(tmp_path / "kept", find_home(tmp_path / "again"))
    with reading(find_home(tmp_path / "again")) as repo:
        assert repo.courses().all() == (course,)
    row = {"id": "old", "title": "Old", "created_at": made.WHEN.isoformat(), "retention_days": 7, "second_share": 0.0}
    lines = [{"form": "0011"}, ["courses", row]]
    (tmp_path / "old.gz").write_bytes(gzip.compress("\n".join(json.dumps(line) for line in lines).encode()))
    load(find_home(tmp_path / "earlier"), tmp_path / "old.gz")
    with reading(find_home(tmp_path / "earlier")) as repo:
        assert repo.courses().all() == (Course("old", "Old", made.WHEN, retention_days=7),)


def test_nobody_else_may_read_a_backup(used: Home, tmp_path: Path) -> None:
    """It holds films of people: the folder is its owner's alone."""
    back_up(used, tmp_path / "kept")
    assert (tmp_path / "kept").stat().st_mode & 0o077 == 0
    assert (tmp_path / "kept" / MANIFEST).exists()
