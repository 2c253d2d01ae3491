from __future__ import annotations

import multiprocessing
import shutil
import sqlite3
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import create_engine, text

from review.domain.errors import EntryRefused, StoreBroken
from review.domain.model import Estimate, Event, Interval, Value
from review.store import migrations
from review.store.database import Database, open_database
from review.store.files import locked
from review.store.home import Home
from review.store.repository import reading, repository
from review.store.rows import recording_columns
from review.store.tables import Base
from tests.counting import statements
from tests.forms import of_form
from tests.store import made

NEWEST = max(path.name[1:5] for path in Path(migrations.__file__).parent.glob("versions/r*.py"))


def _ask(home: Home, question: str) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(home.database)
    try:
        return connection.execute(question).fetchall()
    finally:
        connection.close()


def test_migrations_make_exactly_the_tables_the_code_speaks_of(home: Home) -> None:
    """From an empty file the migrations lead to the same tables, columns, keys and indexes as `tables`."""
    open_database(home)
    engine = create_engine(f"sqlite:///{home.database}")
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": False})
        assert compare_metadata(context, Base.metadata) == []
        assert context.get_current_revision() == NEWEST
    engine.dispose()


def test_opening_again_changes_nothing(home: Home, filed: Database) -> None:
    """A second opening keeps the form and the content."""
    form = _ask(home, "SELECT name, sql FROM sqlite_master ORDER BY name")
    with reading(open_database(home)) as repo:
        assert repo.recordings() == (made.recording(),)
    assert _ask(home, "SELECT name, sql FROM sqlite_master ORDER BY name") == form


@pytest.mark.parametrize(
    ("pragma", "value"),
    [("foreign_keys", 1), ("journal_mode", "wal"), ("secure_delete", 1), ("synchronous", 2)],
)
def test_every_connection_is_set_up(filed: Database, pragma: str, value: object) -> None:
    """Each new connection checks foreign keys, uses the write-ahead log, overwrites what is deleted and syncs."""
    with filed.transaction() as first, filed.transaction(writing=False) as second:
        assert {session.scalar(text(f"PRAGMA {pragma}")) for session in (first, second)} == {value}


def test_a_newer_database_is_left_alone(home: Home, database: Database) -> None:
    """A form this version does not know is refused in clear words, and stays as it is."""
    with database.transaction() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreBroken, match=r"newer version of Runthrough.*'9999'.*update Runthrough"):
        open_database(home)
    with reading(database) as repo:
        assert repo.recordings() == (made.recording(),)


def test_a_database_on_a_full_disk_asks_for_room(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever SQLite calls it (a full disk can be a "disk I/O error"), the advice is to make room."""
    home.database.write_text("what a full disk left of it, " * 100)
    usage = shutil.disk_usage(home.root)._replace(free=0)
    monkeypatch.setattr(shutil, "disk_usage", lambda path: usage)
    with pytest.raises(StoreBroken, match="Make room on the disk"):
        open_database(home)


def test_a_file_that_is_no_database_is_said(home: Home) -> None:
    """A text file in the database's place is refused and not overwritten."""
    home.database.write_text("these are my notes, " * 100)
    with pytest.raises(StoreBroken, match="cannot be used"):
        open_database(home)
    assert home.database.read_text().startswith("these are my notes")


def _mark_and_fail(database: Database) -> None:
    with repository(database) as repo:
        repo.put_mark(made.mark())
        raise ZeroDivisionError


def test_an_error_undoes_the_whole_transaction(database: Database) -> None:
    """What was written before an error in the same transaction is not stored."""
    with pytest.raises(ZeroDivisionError):
        _mark_and_fail(database)
    with reading(database) as repo:
        assert repo.marks("a1b2c3") == ()


@pytest.mark.parametrize(
    "facts", [{"recording_id": "unknown"}, {"person_id": "unknown"}], ids=["unknown recording", "unknown person"]
)
def test_entries_refer_to_what_is_stored(database: Database, facts: dict[str, str]) -> None:
    """Foreign keys are on: a mark of nobody or of nothing is refused in words."""
    with pytest.raises(EntryRefused, match="refers to a person, recording or checklist"), repository(database) as repo:
        repo.put_mark(made.mark(**facts))


def test_a_reader_writes_nothing_and_waits_for_nobody(home: Home, database: Database) -> None:
    """While one transaction writes, another reads the state before it; a write by a reader is refused."""
    with repository(database) as writer:
        writer.put_mark(made.mark())
        with reading(home) as reader:
            assert reader.marks("a1b2c3") == ()
    with pytest.raises(StoreBroken), reading(database) as reader:
        reader.put_mark(made.mark("m2"))
    with reading(database) as reader:
        assert [mark.id for mark in reader.marks("a1b2c3")] == ["m1"]


def test_a_time_without_a_zone_is_refused(database: Database) -> None:
    """A moment that could mean any zone is not stored."""
    with pytest.raises(StoreBroken, match="without a zone"), repository(database) as repo:
        repo.put_mark(made.mark(at=datetime(2026, 3, 2)))


@pytest.mark.parametrize(
    ("text", "words"),
    [("cut \ud83d emoji", "half a character at place 5"), ("nul \0", "the character NUL at place 5")],
    ids=["half a character", "NUL"],
)
def test_text_that_not_every_kind_of_database_keeps_is_refused(database: Database, text: str, words: str) -> None:
    """What a file or a server cannot hold is refused by both, in words: in a text, in a list and within one."""
    measured = Value("a1b2c3", "stance_width", "1", Estimate(1.0, 1.0, 1.0, 1.0), events=(Event(text, Interval(0, 1)),))
    with pytest.raises(EntryRefused, match=words), repository(database) as repo:
        repo.put_comment(made.comment(text=text))
    with pytest.raises(EntryRefused, match=words), repository(database) as repo:
        repo.put_values("a1b2c3", None, [measured])
    with reading(database) as repo:
        assert (repo.comments("a1b2c3"), repo.values("a1b2c3")) == ((), ())


MARKER = """
import sys
from pathlib import Path
from review.store.database import open_database
from review.store.files import locked
from review.store.forms import migration_config
from review.store.home import Home
from review.store.repository import repository
from tests.store import made

database = open_database(Home(Path(sys.argv[1])))
for number in range(40):
    with repository(database) as repo:
        known = len(repo.marks("a1b2c3"))
        repo.put_mark(made.mark(f"{sys.argv[2]}-{number}", onset_s=known / 10))
"""


def test_two_processes_marking_at_once_keep_all_marks(home: Home, database: Database) -> None:
    """80 marks from two processes are all there, and none was written on a state that another had changed."""
    processes = [subprocess.Popen([sys.executable, "-c", MARKER, str(home.root), name]) for name in ("a", "b")]
    assert [process.wait() for process in processes] == [0, 0]
    with reading(database) as repo:
        marks = repo.marks("a1b2c3")
    assert sorted(mark.id for mark in marks) == sorted(f"{name}-{number}" for name in "ab" for number in range(40))
    assert [mark.interval.onset_s for mark in marks] == [number / 10 for number in range(80)]


def test_only_one_at_a_time_makes_the_database(home: Home) -> None:
    """Whoever opens the home while another brings its database to the newest form waits until that is done."""
    with ThreadPoolExecutor(1) as pool:
        with locked(home.root / ".database.lock"):
            opening = pool.submit(_open, home)
            time.sleep(0.3)
            assert not home.database.exists()
        assert opening.result() == 0


def _open(home: Home) -> int:
    with reading(open_database(home)) as repo:
        return len(repo.people())


def test_many_processes_may_make_the_database_at_once(home: Home) -> None:
    """Four processes that open an empty home together all find it usable."""
    with multiprocessing.get_context("spawn").Pool(4) as pool:
        assert pool.map(_open, [home] * 4) == [0] * 4
    assert _ask(home, "SELECT version_num FROM alembic_version") == [(NEWEST,)]


def test_a_home_of_the_first_form_keeps_its_films_and_has_them_analysed_again(home: Home) -> None:
    """Recordings of the first form play at life's pace, and their analysis counts as stopped, with the reason."""
    facts = recording_columns(made.recording())
    del facts["slow_motion"]
    facts |= {
        "added_at": "2026-03-02T10:00:00.000000+00:00",
        "checklist_id": None,
        "checklist_version": None,
        "notes": "[]",
    }
    job = {"recording_id": facts["id"], "state": "done", "done": 9, "total": 9, "message": "", "at": facts["added_at"]}
    with of_form(home, "0001") as connection:
        for table, row in (("recordings", facts), ("jobs", job)):
            places = ", ".join(f":{name}" for name in row)
            connection.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({places})", row)
    with reading(open_database(home)) as repo:
        assert repo.recording(facts["id"]).slow_motion == 1.0
        found = repo.job(facts["id"])
    assert found is not None
    assert (found.state, found.done) == ("stopped", 0)
    assert "analyse again" in found.message


FILLED_0004 = """
INSERT INTO people VALUES ('p1', 'L-07', 'learner'), ('p2', 'I-01', 'instructor');
INSERT INTO recordings (id, sha256, name, added_at, added_by, duration_s, frames, width_px, height_px, rotation_deg,
    codec, bit_depth, has_sound, size_bytes, mirrored, attempt, original, playback, notes, slow_motion)
  VALUES ('a1', 'a1', 'film.mp4', '2026-03-02T10:00:00.000000+00:00', 'p1', 20, 600, 1280, 720, 0, 'h264', 8, 1, 9, 0,
    1, '', '', '[]', 1);
INSERT INTO grades (id, revision, recording_id, person_id, at, removed, side, step_id, criterion_id, level, confidence)
  VALUES ('g1', 1, 'a1', 'p1', '2026-03-02T10:01:00.000000+00:00', 0, NULL, 'romberg', NULL, 'yes', 2),
         ('g1', 2, 'a1', 'p1', '2026-03-02T10:02:00.000000+00:00', 0, NULL, 'romberg', NULL, 'not_yet', 2),
         ('g2', 1, 'a1', 'p1', '2026-03-02T10:03:00.000000+00:00', 0, 'left', 'knee', 'guard', 'yes', NULL);
INSERT INTO comments (id, revision, recording_id, person_id, at, removed, side, step_id, onset_s, offset_s, text,
    reply_to) VALUES ('c1', 1, 'a1', 'p2', '2026-03-02T10:04:00.000000+00:00', 0, NULL, NULL, 4, 5, 'Nearer.', NULL);
"""


def test_a_filled_database_of_the_fourth_form_keeps_all_and_knows_what_was_seen(home: Home) -> None:
    """Grades and comments stay as they were; a step that was graded counts as seen, at its first grade."""
    with of_form(home, "0004") as connection:
        connection.executescript(FILLED_0004)
    with reading(open_database(home)) as repo:
        assert [one.after_reveal for one in repo.grade_history("g1")] == [None, None]
        assert [(one.text, one.shape, one.resolved_by) for one in repo.comments("a1")] == [("Nearer.", None, None)]
        (seen,) = repo.uncoverings().of("a1", "p1")
        assert (seen.step_id, seen.side, seen.at.minute) == ("romberg", None, 1)
        assert repo.uncoverings().of("a1", "p2") == ()


def test_a_course_of_the_eleventh_form_keeps_all_and_has_no_limit(home: Home) -> None:
    """Title, days and share stay as they were, and so do its members; a limit can be set from then on."""
    with of_form(home, "0011") as connection:
        connection.executescript(
            "INSERT INTO people VALUES ('p1', 'L-07', 'learner');"
            "INSERT INTO courses (id, title, created_at, retention_days, second_share)"
            " VALUES ('balance', 'Lab', '2026-03-02T10:00:00.000000+00:00', 90, 0.2);"
            "INSERT INTO memberships (course_id, person_id, role, group_name) VALUES ('balance', 'p1', 'learner', '');"
        )
    with repository(open_database(home)) as repo:
        kept = repo.courses().get("balance")
        assert (kept.title, kept.retention_days, kept.second_share, kept.quota_bytes) == ("Lab", 90, 0.2, None)
        assert [one.person_id for one in repo.courses().members("balance")] == ["p1"]
        repo.courses().put(replace(kept, quota_bytes=50_000_000_000))
        assert repo.courses().get("balance").quota_bytes == 50_000_000_000


def test_a_database_of_the_newest_form_is_opened_without_a_lock(home: Home) -> None:
    """Pages open it many times a visit; none of that goes by the way that changes its form."""
    open_database(home)
    with statements() as asked:
        open_database(home)
    assert asked == []
