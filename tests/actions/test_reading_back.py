"""Reading marks and comments back: the same film, one's own, nothing doubled, all faults at once."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

import pytest

from review.actions import checklists, comments, marks, people, recordings
from review.actions.reading_back import LARGEST_BYTES, read_back
from review.domain.errors import ExchangeRefused
from review.domain.model import Comment, Mark, Person, Recording, Role, Shape
from review.report.exports import export
from review.store.home import Home, find_home
from review.store.media import load_times
from review.store.repository import reading, repository
from tests.films import even_times, make_film

KINDS = ["marks", "annotations", "tables"]

Said = tuple[list[tuple[object, ...]], list[tuple[object, ...]]]


def make_home(root: Path, film: Path) -> tuple[Home, Recording, Person, Person]:
    """Make a home with this film, a learner and an instructor."""
    home = find_home(root)
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        instructor = people.ensure(repo, "I-02", Role.INSTRUCTOR)
    return home, recordings.add(home, learner, film, checklist_id="balance_only", name="Lab"), learner, instructor


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a film of 60 frames at thirty a second, whose times are no whole milliseconds."""
    return make_film(tmp_path_factory.mktemp("film") / "lab.mp4", even_times(60))


@pytest.fixture
def first(tmp_path: Path, film: Path) -> tuple[Home, Recording, Person, Person]:
    """Make a home in which a learner marked and commented, and an instructor too."""
    home, recording, learner, instructor = make_home(tmp_path / "first", film)
    times = load_times(home, recording.sha256)
    with repository(home) as repo:
        marks.place(repo, learner, recording, "eyes_open", None, float(times[1]), float(times[40]))
        marks.place(repo, instructor, recording, "eyes_open", None, 0.1, 1.0)
        drawn = Shape("arrow", 0.1, 0.2, 0.3, 0.4)
        comments.write(
            repo,
            learner,
            recording,
            float(times[7]),
            None,
            "=Here, \u201cso\u201d\n--> it is",
            "eyes_open",
            shape=drawn,
        )
        note = comments.write(repo, instructor, recording, 0.5, 1.5, "Nearer.", "eyes_open")
        own = comments.write(repo, learner, recording, 1.0, 1.2, "Own.")
        comments.reply(repo, learner, own.id, "Answered myself.")
        comments.reply(repo, learner, note.id, "I will.")
    return home, recording, learner, instructor


def said(home: Home, recording: Recording, person: Person) -> Said:
    """Return what a person's marks and comments say, without when they were made."""
    with reading(home) as repo:
        mine = [one for one in repo.marks(recording.id) if one.person_id == person.id]
        words = [one for one in repo.comments(recording.id) if one.person_id == person.id]
    return (
        [(one.id, one.step_id, one.side, one.interval) for one in mine],
        sorted((one.id, one.text, one.step_id, one.interval, one.shape) for one in words),
    )


def revisions(home: Home, recording: Recording) -> list[int]:
    """Return the revision of everything said of a recording."""
    with reading(home) as repo:
        found: list[Mark | Comment] = [*repo.marks(recording.id), *repo.comments(recording.id)]
    return sorted(one.revision for one in found)


@pytest.mark.parametrize("kind", KINDS)
def test_another_machine_reads_what_one_said(
    first: tuple[Home, Recording, Person, Person], tmp_path: Path, film: Path, kind: str
) -> None:
    """Marks lie on the same frames, comments say and draw the same, answers answer; what others said stays out."""
    home, recording, learner, _ = first
    made = export(home, learner, recording, kind)
    other, twin, same_learner, instructor = make_home(tmp_path / "second", film)
    done = read_back(other, same_learner, twin, made.name, made.body)
    assert said(other, twin, same_learner) == said(home, recording, learner)
    assert said(other, twin, instructor) == ([], [])
    assert (done.new, done.others) == ({"mark": 1, "comment": 4}, {"I-02": 1})
    with reading(other) as repo:
        answers = {one.text: one.reply_to for one in repo.comments(twin.id)}
        own = next(one.id for one in repo.comments(twin.id) if one.text == "Own.")
    assert (answers["Answered myself."], answers["I will."], done.alone) == (own, None, 1)


@pytest.mark.parametrize("kind", KINDS)
def test_a_second_reading_doubles_nothing(first: tuple[Home, Recording, Person, Person], kind: str) -> None:
    """Read in where it came from, once and again, everything is here already and no revision is added."""
    home, recording, learner, _ = first
    before = revisions(home, recording)
    made = export(home, learner, recording, kind)
    for _ in range(2):
        done = read_back(home, learner, recording, made.name, made.body)
        assert (done.here, done.new, done.changed) == ({"mark": 1, "comment": 4}, {}, {})
    assert revisions(home, recording) == before


def test_the_later_one_counts(first: tuple[Home, Recording, Person, Person], tmp_path: Path, film: Path) -> None:
    """What was changed at the other machine since is brought up to date; what was changed here later is left."""
    home, recording, learner, _ = first
    other, twin, same_learner, _ = make_home(tmp_path / "second", film)
    made = export(home, learner, recording, "annotations")
    read_back(other, same_learner, twin, made.name, made.body)
    with repository(other) as repo:
        mine = next(one for one in repo.marks(twin.id) if one.person_id == same_learner.id)
        marks.place(repo, same_learner, twin, "eyes_closed", None, 0.2, 0.9, mark_id=mine.id)
        own = next(one for one in repo.comments(twin.id) if one.text == "Own.")
        comments.change(repo, same_learner, own.id, "Own, better.")
    back = export(other, same_learner, twin, "annotations")
    done = read_back(home, learner, recording, back.name, back.body)
    assert done.changed == {"mark": 1, "comment": 1}
    assert said(home, recording, learner) == said(other, twin, same_learner)
    done = read_back(home, learner, recording, made.name, made.body)
    assert (done.newer_here, done.changed) == ({"mark": 1, "comment": 1}, {})
    with repository(home) as repo:
        comments.remove(repo, learner, own.id)
    assert read_back(home, learner, recording, back.name, back.body).newer_here == {"comment": 1}


@pytest.mark.parametrize("kind", KINDS)
def test_another_film_is_refused(first: tuple[Home, Recording, Person, Person], tmp_path: Path, kind: str) -> None:
    """A file of another film is refused with a sentence that names both sums, and nothing is stored."""
    home, recording, learner, _ = first
    made = export(home, learner, recording, kind)
    elsewhere = make_film(tmp_path / "other.mp4", even_times(30))
    other, twin, same_learner, _ = make_home(tmp_path / "second", elsewhere)
    with pytest.raises(ExchangeRefused, match=rf"{recording.sha256[:12]}.*{twin.sha256[:12]}.*add that film first"):
        read_back(other, same_learner, twin, made.name, made.body)
    assert said(other, twin, same_learner) == ([], [])


def test_all_faults_at_once_and_nothing_stored(
    first: tuple[Home, Recording, Person, Person], tmp_path: Path, film: Path
) -> None:
    """A wrong step, a wrong side, times beyond the film and an empty comment are told together; nothing is stored."""
    home, recording, learner, _ = first
    whole = json.loads(export(home, learner, recording, "annotations").body)
    items = [one for one in whole["first"]["items"] if one["creator"]["nickname"] == "L-07"]
    wild = json.loads(items[0]["body"][1]["value"])
    items[0]["body"][1]["value"] = json.dumps({**wild, "step": "eyes_opened", "side": "left"})
    items[0]["target"]["selector"]["value"] = "t=1.000,99.000"
    items[1]["body"][0]["value"] = "   "
    other, twin, same_learner, _ = make_home(tmp_path / "second", film)
    with pytest.raises(ExchangeRefused) as refused:
        read_back(other, same_learner, twin, "wild.jsonld", json.dumps(items).encode())
    told = refused.value.faults
    assert len(told) == 3
    assert "the end is 99.0 s" in told[0].lower()
    assert "Did you mean eyes_open" in told[1]
    assert "A comment of 0 characters came" in told[2]
    assert said(other, twin, same_learner) == ([], [])


def test_nobody_takes_anothers_entry(first: tuple[Home, Recording, Person, Person]) -> None:
    """A file in which one's own code stands beside the id of another's mark is refused."""
    home, recording, _, instructor = first
    body = export(home, instructor, recording, "annotations").body.replace(b'"L-07"', b'"I-02"')
    with pytest.raises(ExchangeRefused, match="may not change or remove this entry: it is somebody else's"):
        read_back(home, instructor, recording, "stolen.jsonld", body)


def packed(**texts: str) -> bytes:
    """Return texts as a ZIP file."""
    paper = io.BytesIO()
    with zipfile.ZipFile(paper, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, text in texts.items():
            pack.writestr(f"{name}.csv", text)
    return paper.getvalue()


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "empty"),
        (b"\xff\xfe\x00", "no UTF-8"),
        (b"PK\x03\x04broken", "cannot be unpacked"),
        (packed(notes="a"), "neither marks.csv nor comments.csv"),
        (packed(marks="x" * (LARGEST_BYTES + 1)), "too large"),
        (b"x" * (LARGEST_BYTES + 1), "at most 34 MB"),
        (b"a,b\r\n1,2\r\n", "not the columns of"),
        (b"WEBVTT\n\n00:01.000 --> 00:02.000\nL-07: words\n", "as in captions and chapters"),
    ],
    ids=["empty", "not UTF-8", "broken pack", "other pack", "bomb", "large", "other table", "captions"],
)
def test_other_files_are_refused(first: tuple[Home, Recording, Person, Person], body: bytes, words: str) -> None:
    """Whatever else comes is refused with its name and what was expected."""
    home, recording, learner, _ = first
    with pytest.raises(ExchangeRefused, match=words) as refused:
        read_back(home, learner, recording, "file.bin", body)
    assert str(refused.value).startswith("file.bin: 1 fault in this file; nothing was changed.")


def test_what_came_of_it_is_said(first: tuple[Home, Recording, Person, Person]) -> None:
    """The sentences count what is here, and name whose words were left out."""
    home, recording, learner, _ = first
    made = export(home, learner, recording, "marks")
    assert read_back(home, learner, recording, made.name, made.body).sentences() == [
        "1 mark and 4 comments here already.",
        "Left out, since everybody reads in their own only: what was said by I-02 (1).",
    ]
