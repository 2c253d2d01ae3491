"""Files of one attempt: blind first in every one of them, and the printed report tagged, told and linked."""

from __future__ import annotations

import io
import json
import re
import zipfile
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow.parquet as pq
import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from review.actions import checklists, comments, grades, marks, people, recordings
from review.domain.errors import NotFound
from review.domain.model import Person, Recording, Role, Shape
from review.exchange.annotation_reading import read_annotations
from review.exchange.columns import TABLES
from review.exchange.csv_text import read_csv
from review.exchange.timed_text import read_cues
from review.measures import measure
from review.report.document import document
from review.report.exports import ADDRESS, EXPORTS, export
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.trackstore import TrackStore
from tests.synthetic import standing, with_picture

SECRET = "Xylophone"
ESTIMATES = ("stance_width", measure("stance_width").title)
STRANGE = "Mine \u65e5 \U0001f600 <b>&amp; =1"


@pytest.fixture(scope="module")
def attempt(tmp_path_factory: pytest.TempPathFactory, tiny_film: Path) -> tuple[Home, Recording, Person, Person]:
    """Make an analysed attempt on which a learner and an instructor said something of a step."""
    home = find_home(tmp_path_factory.mktemp("exports") / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        instructor = people.ensure(repo, "I-02", Role.INSTRUCTOR)
    film = recordings.add(home, learner, tiny_film, checklist_id="balance_only", name="Fenwick Shore, lab")
    with repository(home) as repo:
        marks.place(repo, learner, film, "position_guard", None, 0.2, 1.9)
        grades.give(repo, learner, film, "position_guard", None, "yes")
        grades.give(repo, instructor, film, "position_guard", None, "not_yet", confidence=3)
        drawn = Shape("circle", 0.5, 0.5, 0.6, 0.5)
        note = comments.write(repo, instructor, film, 0.4, None, f"{SECRET} drawn.", "position_guard", shape=drawn)
        comments.reply(repo, instructor, note.id, f"{SECRET} again.")
        comments.write(repo, learner, film, 1.0, None, STRANGE, "position_guard")
    times = np.array([0.04 * number for number in range(50)])
    tracks = with_picture(standing(times, stance=0.3))
    store = TrackStore(home, film.id)
    store.create(tracks)
    store.write(0, tracks, ["pose", "picture"])
    store.mark_done("all")
    return home, film, learner, instructor


def seen(body: bytes) -> str:
    """Return all text that a file holds, whatever its kind."""
    if body.startswith(b"PK"):
        with zipfile.ZipFile(io.BytesIO(body)) as pack:
            return "\n".join(pack.read(name).decode() for name in pack.namelist())
    if body.startswith(b"PAR1"):
        return str(pq.read_table(io.BytesIO(body)).to_pylist()) if len(body) < 200_000 else ""
    if body.startswith(b"%PDF"):
        text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(body)).pages)
        return re.sub(r"\s+", " ", text)
    return body.decode()


@pytest.mark.parametrize("kind", list(EXPORTS))
def test_blind_first_holds_in_every_file(attempt: tuple[Home, Recording, Person, Person], kind: str) -> None:
    """No file that a learner makes before grading with confidence holds others' words, grades or estimates."""
    home, film, learner, instructor = attempt
    told, open_one = seen(export(home, learner, film, kind).body), seen(export(home, instructor, film, kind).body)
    assert SECRET not in told
    assert not any(words in told for words in ESTIMATES)
    assert (SECRET in open_one) is (kind in ("report", "print", "tables", "marks", "annotations", "comments"))
    assert any(words in open_one for words in ESTIMATES) is (kind in ("report", "print", "tables", "values"))


def test_tables_say_what_is_covered(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """A covered grade is an empty cell beside "covered: yes"; one's own is there; estimates only where uncovered."""
    home, film, learner, instructor = attempt

    def tables(person: Person) -> dict[str, list[dict[str, str]]]:
        with zipfile.ZipFile(io.BytesIO(export(home, person, film, "tables").body)) as pack:
            return {name: [row for _, row in read_csv(pack.read(name).decode())] for name in pack.namelist()}

    blind, open_ones = tables(learner), tables(instructor)
    assert set(blind) == {f"{name}.csv" for name in (*TABLES, "codebook")}
    mine = [row for row in blind["grades.csv"] if (row["step_id"], row["criterion_id"]) == ("position_guard", "")]
    assert [(row["level"], row["covered"], row["mark_onset_s"], row["mark_onset_ms"]) for row in mine] == [
        ("yes", "no", "0.200", "200")
    ]
    assert {row["rater"] for row in blind["grades.csv"]} == {"L-07"}
    given = {(row["rater"], row["step_id"]): row for row in open_ones["grades.csv"] if not row["criterion_id"]}
    assert [given[code, "position_guard"]["points"] for code in ("L-07", "I-02")] == ["4.0", "0.0"]
    assert blind["values.csv"] == []
    values = {row["measure"]: row for row in open_ones["values.csv"]}
    assert float(values["stance_width"]["low"]) <= 0.3 <= float(values["stance_width"]["high"])
    assert values["stance_width"]["seconds_from"] == "L-07"


def test_each_rater_has_a_row_for_each_item(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """One row for every rater, step, side and criterion of the sheet, and none twice."""
    home, film, _, instructor = attempt
    with zipfile.ZipFile(io.BytesIO(export(home, instructor, film, "tables").body)) as pack:
        rows = [row for _, row in read_csv(pack.read("grades.csv").decode())]
    with repository(home) as repo:
        sheet = repo.sheet_of(film)
    items = [
        (step.id, side or "", one)
        for step in sheet.steps()
        for side in step.places
        for one in ("", *(c.id for c in step.criteria))
    ]
    found = [(row["rater"], row["step_id"], row["side"], row["criterion_id"]) for row in rows]
    assert sorted(found) == sorted((rater, *item) for rater in ("L-07", "I-02") for item in items)


def test_files_that_are_read_back_hold_what_was_said(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """The WebVTT and the annotations hold the same marks, comments and grades."""
    home, film, _, instructor = attempt
    heard = read_annotations(export(home, instructor, film, "annotations").body.decode())
    assert (len(heard.marks), len(heard.comments), heard.passed_over, heard.films) == (
        1,
        3,
        {"grade": 2},
        {film.sha256},
    )
    faults: list[str] = []
    cues = list(read_cues(export(home, instructor, film, "marks").body.decode(), faults))
    assert (len(cues), faults) == (6, [])


@pytest.mark.parametrize("kind", ["comments", "chapters"])
def test_tracks_for_players_keep_the_rules(attempt: tuple[Home, Recording, Person, Person], kind: str) -> None:
    """Comments and chapters are read without a fault by the rules of WebVTT."""
    home, film, learner, _ = attempt
    faults: list[str] = []
    assert len(list(read_cues(export(home, learner, film, kind).body.decode(), faults))) == 1
    assert faults == []


def report(attempt: tuple[Home, Recording, Person, Person], kind: str) -> bytes:
    """Return a report for the instructor."""
    home, film, _, instructor = attempt
    return export(home, instructor, film, kind, "http://127.0.0.1:8620").body


def structure(node: Any) -> list[tuple[str, str]]:
    """Return kind and words (``/Alt``) of each element of a PDF's structure tree, in reading order."""
    node = node.get_object()
    if isinstance(node, list):
        return [found for one in node for found in structure(one)]
    if not isinstance(node, DictionaryObject):
        return []
    own = [(str(node["/S"]), str(node.get("/Alt", "")))] if "/S" in node else []
    return own + (structure(node["/K"]) if "/K" in node and not isinstance(node["/K"], int) else [])


def test_the_report_is_tagged(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """ISO 14289-1: it says that it is tagged and PDF/UA-1, has title and language, and words for each picture."""
    paper = PdfReader(io.BytesIO(report(attempt, "report")))
    root = paper.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712 - an object of the PDF, equal to true
    assert (root["/Lang"], paper.metadata.title) == ("en", "Fenwick Shore, lab, attempt 1")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    assert "<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data().decode()
    found = structure(root["/StructTreeRoot"]["/K"])
    kinds = [kind for kind, _ in found]
    pictures = [words for kind, words in found if kind == "/Figure"]
    assert len(pictures) == 4
    assert all(
        re.match(r"Frame (\d of 3 of the step Feet together, examiner on guard, )?at 0:0\d\.\d\d", words)
        for words in pictures
    )
    assert "with the circle that I-02 drew, 50 % from the left and 50 % from the top" in pictures[3]
    assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/Link", "/P"} <= set(kinds)
    assert next(kind for kind in kinds if kind in ("/H1", "/H2", "/H3")) == "/H1"


def test_the_report_says_what_the_page_shows(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """Notice, caution, values with intervals, grades, comments, and a link to the second; on PDF and page alike."""
    text = seen(report(attempt, "report"))
    page = report(attempt, "print").decode()
    for words in (
        "not a diagnosis",
        "Caution:",
        "95 %",
        "Eyes open",
        "not yet",
        f"{SECRET} drawn.",
        "I-02, instructor",
    ):
        assert words in text
        assert words in page
    links = {
        str(note.get_object()["/A"]["/URI"])
        for sheet in PdfReader(io.BytesIO(report(attempt, "report"))).pages
        for note in sheet.get("/Annots", ())
    }
    second = f"http://127.0.0.1:8620/review?recording={attempt[1].id}#t=0.200"
    assert second in links
    assert f'href="{second}"' in page


def test_the_glance_keeps_what_is_covered(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """On a covered step others' cells say covered, whether there is a grade or not; one's own say what there is."""
    home, film, learner, instructor = attempt
    blind = document(home, learner, film, ADDRESS, datetime.now(UTC)).contents
    assert blind["raters"] == ["L-07"]
    assert [row["grades"] for row in blind["glance"] if row["seconds"]] == [["yes"]]
    assert "grades, results and comments of others and estimates of the film" in blind["left_out"]
    assert [(one["who"], ": 4 of " in one["words"]) for one in blind["sums"]] == [("L-07, learner", True)]
    shown = document(home, instructor, film, ADDRESS, datetime.now(UTC)).contents
    assert shown["raters"] == ["L-07", "I-02"]
    assert [row["grades"] for row in shown["glance"] if row["seconds"]] == [["yes", "not yet"]]
    assert {tuple(row["grades"]) for row in shown["glance"] if not row["seconds"]} == {("covered", "no grade")}
    assert [(one["who"], ": 0 of " in one["words"]) for one in shown["sums"]][1] == ("I-02, instructor", True)
    assert any("Critical step" in reason for reason in shown["sums"][1]["reasons"])


def test_what_no_font_has_does_not_stop_the_report(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """Characters without a letter form are squares, counted and told; the page holds them, and no tag of a comment."""
    text = seen(report(attempt, "report"))
    assert "no letter form in the fonts here" in text
    page = report(attempt, "print").decode()
    assert "Mine \u65e5 \U0001f600 &lt;b&gt;&amp;amp; =1" in page


class Outline(HTMLParser):
    """Collects headings, pictures and table heads of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.levels: list[int] = []
        self.unsaid = 0
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what begins."""
        if re.fullmatch(r"h[1-6]", tag):
            self.levels.append(int(tag[1]))
        if tag == "img":
            self.unsaid += not dict(attrs).get("alt")
        if tag not in ("meta", "img", "br", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Hold that what ends is what began last."""
        assert self.open.pop() == tag


def test_the_page_is_well_formed(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """Every element is closed, headings skip no level, every picture has words, nothing is fetched from elsewhere."""
    page = report(attempt, "print").decode()
    outline = Outline()
    outline.feed(page)
    assert outline.open == []
    assert outline.unsaid == 0
    assert outline.levels[0] == 1
    assert all(after <= before + 1 for before, after in zip(outline.levels, outline.levels[1:], strict=False))
    assert re.findall(r'(?:src|href)="(?!data:|http://127\.0\.0\.1:8620/)', page) == []


def test_unknown_kinds_and_unanalysed_films_are_told(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """An unknown kind is refused with those there are; tracks of a film not looked at with what to do."""
    home, film, learner, _ = attempt
    with pytest.raises(NotFound, match="annotations"):
        export(home, learner, film, "annotation")
    TrackStore(home, film.id).erase()
    with pytest.raises(NotFound, match=r"was not analysed\. Run: runthrough analyse"):
        export(home, learner, film, "tracks")


def test_names_of_files_are_plain(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """A file is named after the recording in letters, digits and hyphens, whatever that is called."""
    home, film, learner, _ = attempt
    assert export(home, learner, film, "annotations").name == "fenwick-shore-lab-1.jsonld"


def test_told_metadata_is_json(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """The Parquet of values tells the film, its size and the models by their SHA-256."""
    home, film, _, instructor = attempt
    read = pq.read_table(io.BytesIO(export(home, instructor, film, "values").body))
    told = json.loads(read.schema.metadata[b"runthrough"])
    assert (told["film_sha256"], told["frames"]) == (film.sha256, 52)
    assert len(told["models"]) == 3
