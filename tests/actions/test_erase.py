"""Erasing leaves no file and no word of a recording."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from uuid import uuid4

import pytest

from review.access import Deed, may_read_receipt
from review.actions import (
    checklists,
    comments,
    entries,
    exemplars,
    grades,
    marks,
    people,
    phrases,
    proposals,
    recordings,
)
from review.actions.erasing import erase
from review.actions.uncovering import uncover
from review.domain.course import CourseRole
from review.domain.errors import NotAllowed
from review.domain.model import Person, Recording, Role, Shape
from review.domain.signoff import Finding, Signing, signed
from review.pipeline.analyse import analyse
from review.pipeline.stills import still_pictures
from review.report import receipts
from review.store.home import Home, find_home
from review.store.leftovers import sweep
from review.store.media import media_folder, set_unfinished
from review.store.repository import reading, repository
from tests.films import click_at, even_times, make_film
from tests.forms import held
from tests.homes import learners_home

ENTERED = "air longer, air 187.25 s"
DRAWN = 0.48151623
SIGNED = "Guard the fall again, zebra."
SAID, CHANGED = "Weight shifts to the left heel.", "Weight shifts to the right heel."


def listing(home: Home) -> set[str]:
    """Return everything below the home but locks and the database's own files."""
    found = (path.relative_to(home.root).as_posix() for path in home.root.rglob("*"))
    return {name for name in found if not name.endswith(".lock") and not name.startswith(home.database.name)}


def mentions(home: Home, words: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Yield which file of the home holds which of the words, in its content or its name; the database's are one."""
    rows = held(home)
    yield from ((home.database.name, word) for word in words if word.encode() in rows)
    found = (path for path in home.root.rglob("*") if path.is_file())
    for path in sorted(path for path in found if not path.name.startswith(home.database.name)):
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


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a film of 24 s, two frames a second, with sound, of which browsers need a copy."""
    tmp_path = tmp_path_factory.mktemp("films")
    times_s = even_times(48, 2.0)
    return make_film(tmp_path / "quokka.mkv", times_s, pixels="yuv444p", sound=click_at(1.0, 24.0))


def _learner(home: Home) -> Person:
    with reading(home) as repo:
        return repo.person("L-07")


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
        proposals.refuse(repo, learner, kept, str(uuid4()), "hand_hygiene", None, 2.0, 4.0)
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


@pytest.fixture(scope="module")
def lived_in(tmp_path_factory: pytest.TempPathFactory, film: Path) -> tuple[Home, Person, Recording, set[str]]:
    """Make a home with a recording of which there is all that can be; with what was there before it."""
    home, learner = learners_home(tmp_path_factory.mktemp("lived") / "home")
    before = listing(home)
    return home, learner, leave_traces(home, learner, film), before


@pytest.fixture
def traced(lived_in: tuple[Home, Person, Recording, set[str]], tmp_path: Path) -> tuple[Home, Recording]:
    """Copy that home."""
    shutil.copytree(lived_in[0].root, tmp_path / "traced")
    return find_home(tmp_path / "traced"), lived_in[2]


def test_erasing_leaves_no_file_and_no_word(
    lived_in: tuple[Home, Person, Recording, set[str]], traced: tuple[Home, Recording]
) -> None:
    """The home is as it was, and neither id, fingerprint, name nor comment is in any file of it, the database's too."""
    (_, learner, _, before), (home, kept) = lived_in, traced
    words = (kept.id, kept.sha256, "quokka", SAID, CHANGED, SIGNED, ENTERED, str(DRAWN))
    assert home.database.name in {name for name, _ in mentions(home, words)}
    assert len(list((home.tracks / kept.id / "done").iterdir())) > 2
    receipt = erase(home, learner, kept.id)
    assert listing(home) - before == {home.log.name}
    assert before - listing(home) == set()
    assert home.log.read_text("utf-8") == "W0000 something else\n"
    assert list(mentions(home, words[2:])) == []
    assert {name for name, _ in mentions(home, words[:2])} == {home.database.name}
    told = receipts.receipt(home, learner, receipt.id)
    for line in ("asked for", "upload of the same film", "1 line of the log", "none of its files is there, no row"):
        assert any(line in one for one in told["lines"]), line


def test_the_receipt_names_every_file_and_every_row(traced: tuple[Home, Recording]) -> None:
    """What was on the disk and in each table before stands in it with size and SHA-256; the film's name does not."""
    home, kept = traced
    learner = _learner(home)
    with reading(home) as repo:
        rows = dict(repo.belongings().rows(kept.id))
    there = sorted(
        (path.stat().st_size, sha256(path.read_bytes()).hexdigest())
        for top in (media_folder(home, kept.sha256), *home.tracks.glob(f"{kept.id}*"), home.incoming)
        for path in top.rglob("*")
        if path.is_file()
    )
    receipt = erase(home, learner, kept.id)
    assert sorted((one.size_bytes, one.sha256) for one in receipt.files) == there
    assert receipt.rows == rows
    counted = {"recordings": 1, "comments": 3, "entries": 3, "exemplars": 1, "uncoverings": 1, "sign_offs": 1}
    counted["refusals"] = 1
    assert rows == rows | counted
    with reading(home) as repo:
        assert repo.receipts().all() == (receipt,)
        assert [one.deed for one in repo.looks().of(kept.id)] == [str(Deed.ERASE_RECORDING)]
    told = receipts.receipt(home, learner, kept.id)
    assert "quokka" not in str(told)
    assert told["of"] == "L-07"
    page = receipts.receipt_page(told)
    assert all(one.sha256 in page for one in receipt.files)


def test_the_proof_looked_for_bytes_and_words(traced: tuple[Home, Recording]) -> None:
    """Stretches of the film and of what was made of it, and each text, were searched for in all files that are left."""
    home, kept = traced
    learner = _learner(home)
    proof = erase(home, learner, kept.id).proof
    assert proof is not None
    assert proof.holds
    assert proof.probes >= 3
    assert proof.texts == 4
    assert proof.searched_files >= 2
    assert proof.left_out == 0


def test_words_that_a_phrase_quotes_are_no_fault(traced: tuple[Home, Recording]) -> None:
    """A text that somebody keeps as a phrase stays with that person, and is not counted as left."""
    home, kept = traced
    learner = _learner(home)
    with repository(home) as repo:
        phrases.keep(repo, learner, str(uuid4()), CHANGED)
    proof = erase(home, learner, kept.id).proof
    assert proof is not None
    assert proof.holds
    assert proof.texts == 3


def test_what_stays_makes_the_proof_fail(traced: tuple[Home, Recording], monkeypatch: pytest.MonkeyPatch) -> None:
    """Where files are not removed, or words stay in a file, the receipt says what and where."""
    home, kept = traced
    learner = _learner(home)
    monkeypatch.setattr("review.actions.erasing.erase_files", lambda home, recording: [_forgotten(home)])
    receipt = erase(home, learner, kept.id)
    proof = receipt.proof
    assert proof is not None
    assert not proof.holds
    assert kept.original in proof.files_left
    assert len(proof.files_left) == len(receipt.files)
    assert "notes.txt" in proof.traces_left
    assert "quokka" not in str(proof)
    told = receipts.receipt(home, learner, kept.id)
    assert not told["holds"]
    assert any("NOT ALL IS GONE" in line and "notes.txt" in line for line in told["lines"])


def _forgotten(home: Home) -> str:
    """Leave somebody's words in a file that no erasure knows."""
    (home.root / "notes.txt").write_text(CHANGED, "utf-8")
    return "nothing"


def test_bytes_that_other_films_share_are_no_fault(home: Home, learner: Person, film: Path, tmp_path: Path) -> None:
    """What another recording's files hold as well, such as equal times of frames, is no trace of this one."""
    recordings.add(home, learner, make_film(tmp_path / "other.mkv", even_times(48, 2.0), pixels="yuv444p"))
    kept = recordings.add(home, learner, film)
    proof = erase(home, learner, kept.id).proof
    assert proof is not None
    assert proof.holds


def test_receipts_are_for_whom_they_concern(home: Home, learner: Person, film: Path) -> None:
    """Peers read none on a machine without accounts; where people sign in, whose it was and owners of the course do."""
    kept = recordings.add(home, learner, film)
    receipt = erase(home, learner, kept.id)
    of_course = replace(receipt, course_id="balance")
    with repository(home) as repo:
        peer = people.ensure(repo, "P-03", Role.PEER)
    assert receipts.receipts(home, peer) == []
    with pytest.raises(NotAllowed, match="may not read this receipt"):
        receipts.receipt(home, peer, receipt.id)
    for role, mine in ((CourseRole.OWNER, True), (CourseRole.INSTRUCTOR, False), (CourseRole.LEARNER, False)):
        somebody = Person("p-somebody", "I-09", Role.INSTRUCTOR, {"balance": role})
        assert may_read_receipt(somebody, of_course) is mine
    assert may_read_receipt(replace(learner, courses={}), of_course)


def test_other_recordings_and_uploads_stay(home: Home, learner: Person, film: Path, tmp_path: Path) -> None:
    """Erasing one recording touches no file of another one, and no upload of another film."""
    other = recordings.add(home, learner, make_film(tmp_path / "other.mp4", even_times(9)))
    (home.incoming / "0123456789abcdef").mkdir()
    (home.incoming / "0123456789abcdef" / "arriving.part").write_bytes(bytes(film.stat().st_size))
    before = listing(home)
    kept = recordings.add(home, learner, film)
    erase(home, learner, kept.id)
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
