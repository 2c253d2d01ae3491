"""Erasing leaves no file and no word of a recording."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest

from review.actions import checklists, comments, entries, exemplars, grades, marks, people, recordings
from review.actions.uncovering import uncover
from review.domain.model import Person, Recording, Role, Shape
from review.domain.signoff import Finding, Signing, signed
from review.pipeline.analyse import analyse
from review.pipeline.stills import still_pictures
from review.store.home import Home, find_home
from review.store.leftovers import sweep
from review.store.media import media_folder, set_unfinished
from review.store.repository import reading, repository
from tests.films import click_at, even_times, make_film

ENTERED = "air longer, air 187.25 s"
DRAWN = 0.48151623
SIGNED = "Guard the fall again, zebra."
SAID, CHANGED = "Weight shifts to the left heel.", "Weight shifts to the right heel."


def listing(home: Home) -> set[str]:
    """Return everything below the home but locks and the database's own files."""
    found = (path.relative_to(home.root).as_posix() for path in home.root.rglob("*"))
    return {name for name in found if not name.endswith(".lock") and not name.startswith(home.database.name)}


def mentions(home: Home, words: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Yield which file of the home holds which of the words, in its content or its name."""
    for path in sorted(path for path in home.root.rglob("*") if path.is_file()):
        content = path.read_bytes()
        name = path.relative_to(home.root).as_posix()
        yield from ((name, word) for word in words if word.encode() in content or word in name)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make an empty home with the packaged sheets."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
    return home


@pytest.fixture
def learner(home: Home) -> Person:
    """Make a learner known."""
    with repository(home) as repo:
        return people.ensure(repo, "L-07", Role.LEARNER)


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """Write a film of 24 s, two frames a second, with sound, of which browsers need a copy."""
    times_s = even_times(48, 2.0)
    return make_film(tmp_path / "quokka.mkv", times_s, pixels="yuv444p", sound=click_at(1.0, 24.0))


def leave_traces(home: Home, learner: Person, film: Path) -> Recording:
    """Add, analyse, mark, grade, enter a result and comment on a film, and leave what a killed server would leave."""
    kept = recordings.add(home, learner, film)
    with ThreadPoolExecutor(1) as pool:
        analyse(home, kept, executor=pool)
    still_pictures(home, kept, [0.5, 7.25], 240)
    with repository(home) as repo:
        marks.place(repo, learner, kept, "hand_hygiene", None, 0.1, 9.9)
        grades.give(repo, learner, kept, "hand_hygiene", None, "not_assessable")
        entries.enter(repo, learner, kept, "cn8_rinne", "left", ENTERED)
        entries.withdraw(repo, learner, kept, "cn8_rinne", "left")
        entries.enter(repo, learner, kept, "cn8_rinne", "right", ENTERED)
        said = comments.write(repo, learner, kept, 1.0, 2.0, SAID, shape=Shape("point", DRAWN, 0.5))
        comments.resolve(repo, learner, comments.change(repo, learner, said.id, CHANGED).id, True)
        uncover(repo, learner, kept)
        teacher = people.ensure(repo, "I-02", Role.INSTRUCTOR)
        says = Signing(Finding.AGAIN, SIGNED, {"grades": []}, None)
        repo.sign_offs().add(signed(kept, teacher, datetime.now(UTC), None, says))
        exemplars.attach(repo, teacher, kept, str(uuid4()), "hand_hygiene", None, kept, 1.0, 9.0)
    upload = home.incoming / "0123456789abcdef"
    (upload / "film").mkdir(parents=True)
    (upload / "film" / film.name).write_bytes(film.read_bytes())
    (upload / "wishes.json").write_text(f'{{"file": "{film.name}"}}')
    home.log.write_text(f"W0000 something else\n{kept.name}: analysed already\n", "utf-8")
    return kept


def test_erasing_leaves_no_file_and_no_word(home: Home, learner: Person, film: Path) -> None:
    """The home is as it was, and neither id, fingerprint, name nor comment is in any file of it, the database's too."""
    before = listing(home)
    kept = leave_traces(home, learner, film)
    words = (kept.id, kept.sha256, "quokka", SAID, CHANGED, SIGNED, ENTERED, str(DRAWN))
    assert home.database.name in {name for name, _ in mentions(home, words)}
    assert len(list((home.tracks / kept.id / "done").iterdir())) > 2
    receipt = recordings.erase(home, learner, kept.id)
    assert listing(home) - before == {home.log.name}
    assert before - listing(home) == set()
    assert home.log.read_text("utf-8") == "W0000 something else\n"
    assert list(mentions(home, words)) == []
    for line in (
        "quokka.mkv",
        "tracks",
        "1 mark",
        "1 grade",
        "1 comment",
        "1 entered result",
        "1 version of its sign-off",
        "1 exemplar",
        "upload",
        "1 line of the log",
    ):
        assert any(line in told for told in receipt), line


def test_other_recordings_and_uploads_stay(home: Home, learner: Person, film: Path, tmp_path: Path) -> None:
    """Erasing one recording touches no file of another one, and no upload of another film."""
    other = recordings.add(home, learner, make_film(tmp_path / "other.mp4", even_times(9)))
    (home.incoming / "0123456789abcdef").mkdir()
    (home.incoming / "0123456789abcdef" / "arriving.part").write_bytes(bytes(film.stat().st_size))
    before = listing(home)
    kept = recordings.add(home, learner, film)
    recordings.erase(home, learner, kept.id)
    assert listing(home) == before
    with reading(home) as repo:
        assert [each.id for each in repo.recordings()] == [other.id]


def test_erasing_that_was_cut_short_is_finished_by_the_next_sweep(home: Home, learner: Person, film: Path) -> None:
    """When the process dies after the rows are gone, the next start removes the files."""
    before = listing(home)
    kept = recordings.add(home, learner, film)
    set_unfinished(home, kept.sha256)
    with repository(home) as repo:
        repo.erase_recording(kept.id)
    assert media_folder(home, kept.sha256).exists()
    sweep(home)
    assert listing(home) == before
