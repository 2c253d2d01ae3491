"""What is signed in the files of an attempt, and the code that leads to its pages."""

from __future__ import annotations

import io
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
import typst

from review.actions import checklists, grades, people, recordings, signing
from review.domain.model import Person, Recording, Role
from review.domain.signoff import Finding
from review.exchange.csv_text import read_csv
from review.exchange.print_page import print_page
from review.exchange.qr import code_picture, is_reachable
from review.exchange.typesetting import lay_out, typeset
from review.report.document import CODE, document
from review.report.exports import export
from review.report.paper import filled_page
from review.report.results import added_up
from review.report.sign_off import sign_off_of
from review.store.home import Home, find_home
from review.store.repository import reading, repository
from tests.report.test_exports import seen

WHEN = datetime(2026, 3, 9, 17, 5, tzinfo=UTC)
CONDITIONS = "Guard again, by 16 March."
LAB = "http://192.168.1.20:8610"


@pytest.fixture(scope="module")
def attempt(tmp_path_factory: pytest.TempPathFactory, tiny_film: Path) -> tuple[Home, Recording, Person, Person]:
    """Make an attempt that an instructor graded and signed, and whose grade was changed afterwards."""
    home = find_home(tmp_path_factory.mktemp("signed") / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        instructor = people.ensure(repo, "I-02", Role.INSTRUCTOR)
    film = recordings.add(home, learner, tiny_film, checklist_id="balance_only", name="Fenwick Shore, lab")
    with repository(home) as repo:
        for step in repo.sheet_of(film).steps():
            for side in step.places:
                grades.give(repo, instructor, film, step.id, side, "yes", confidence=3)
        signing.sign(repo, instructor, film, Finding.PASSED)
        signing.sign(repo, instructor, film, Finding.WITH_CONDITIONS, CONDITIONS)
        grades.give(repo, instructor, film, "position_guard", None, "not_yet", confidence=3)
    return home, film, learner, instructor


@pytest.mark.parametrize("kind", ["report", "print"])
def test_the_report_shows_what_is_signed(attempt: tuple[Home, Recording, Person, Person], kind: str) -> None:
    """Result, conditions, digest and that it was changed are printed for all; what was changed only where uncovered."""
    home, film, learner, instructor = attempt
    with reading(home) as repo:
        last = repo.sign_offs().of(film.id)[-1]
    for person in (learner, instructor):
        told = seen(export(home, person, film, kind).body)
        assert "Passed with conditions" in told
        assert CONDITIONS in told
        assert "Changed since it was signed" in told
        assert last.digest in told.replace(" ", "")
        assert ("yes when it was signed, not yet now" in told) is (person is instructor)


def test_the_paper_sheet_bears_the_sign_off(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """The sheet with the signer's grades has the result where there would be lines to sign on."""
    home, film, learner, instructor = attempt
    with reading(home) as repo:
        pages = {
            person.code: filled_page(added_up(repo, person, film, instructor), sign_off_of(repo, person, film))
            for person in (learner, instructor)
        }
    assert all("Sign-off: passed with conditions" in page and CONDITIONS in page for page in pages.values())
    assert "Still covered for you" in pages["L-07"]
    assert "by the sheet&#x27;s own rule: passed" in pages["I-02"]
    assert "by the sheet&#x27;s own rule" not in pages["L-07"]


def test_the_table_of_sign_offs(attempt: tuple[Home, Recording, Person, Person]) -> None:
    """One row a version; only the last says whether it still holds, and points stay covered for the learner."""
    home, film, learner, instructor = attempt

    def rows(person: Person) -> list[dict[str, str]]:
        with zipfile.ZipFile(io.BytesIO(export(home, person, film, "tables").body)) as pack:
            return [row for _, row in read_csv(pack.read("sign_offs.csv").decode())]

    told = [(row["version"], row["result"], row["changed_since"], row["outcome"]) for row in rows(instructor)]
    assert told == [("1", "passed", "", "passed"), ("2", "passed_with_conditions", "yes", "passed")]
    assert [(row["conditions"], row["points"], row["outcome"]) for row in rows(learner)] == [
        ("", "", ""),
        (CONDITIONS, "", ""),
    ]


def read_code(page: bytes) -> str:
    """Read the QR code in a PNG picture."""
    picture = cv2.imdecode(np.frombuffer(page, np.uint8), cv2.IMREAD_COLOR)
    assert picture is not None
    return cv2.QRCodeDetector().detectAndDecode(picture)[0]


def test_the_code_leads_to_the_attempt(attempt: tuple[Home, Recording, Person, Person], tmp_path: Path) -> None:
    """On the set page it is read back as the attempt's address; the tagged PDF takes it, and the page has it."""
    home, film, _, instructor = attempt
    made = document(home, instructor, film, LAB, WHEN)
    lay_out(tmp_path, made.contents, made.pictures)
    pages = typst.compile(tmp_path / "report.typ", root=tmp_path, format="png", ppi=250.0)
    first = pages[0] if isinstance(pages, list) else pages
    assert read_code(bytes(first)) == f"{LAB}/review?recording={film.id}"
    assert typeset(made.contents, made.pictures, WHEN).startswith(b"%PDF")
    assert f"QR code of the address {LAB}/review?recording={film.id}" in print_page(made.contents, made.pictures)


@pytest.mark.parametrize(
    "address",
    [
        "http://127.0.0.1:8610",
        "http://127.8.8.8",
        "http://localhost:8610/",
        "http://[::1]:80",
        "http://0.0.0.0:8610",
        "",
    ],
)
def test_an_address_of_this_machine_has_no_code(attempt: tuple[Home, Recording, Person, Person], address: str) -> None:
    """A phone could not reach it."""
    home, film, _, instructor = attempt
    made = document(home, instructor, film, address, WHEN)
    assert made.contents["code"] is None
    assert CODE not in made.pictures


def test_names_and_addresses_of_a_network_are_reachable() -> None:
    """What another machine could ask for gets a code that holds it to the letter."""
    for address in ("http://lab-3.local:8610", "https://[fd00::7]/", "http://10.0.0.9"):
        assert is_reachable(address)
        assert code_picture(address).startswith(b"<?xml")
