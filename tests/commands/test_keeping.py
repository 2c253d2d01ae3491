"""`consent`, `receipts`, `retention`, `looks` and `mine` at the command line."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest

from review.__main__ import main
from review.actions import recordings
from review.domain.model import Recording
from review.store.home import Home
from tests.films import even_times, make_film
from tests.homes import learners_home


@pytest.fixture
def kept(tmp_path: Path) -> tuple[Home, Recording]:
    """Make a home with one recording of L-07's."""
    home, learner = learners_home(tmp_path / "home", instructor="I-02")
    return home, recordings.add(home, learner, make_film(tmp_path / "one.mp4", even_times(9)))


def _run(capsys: pytest.CaptureFixture[str], home: Home, *words: str) -> tuple[int, str]:
    code = main([*words, "--home", str(home.root)])
    said = capsys.readouterr()
    return code, said.out + said.err


def test_a_consent_is_noted_told_and_taken_back(
    kept: tuple[Home, Recording], capsys: pytest.CaptureFixture[str]
) -> None:
    """Without options the text to read comes first; a name is refused with exit code 2; taken back, values are too."""
    home, film = kept
    code, said = _run(capsys, home, "consent", film.id)
    assert (code, "Taking it back" in said, "no consent noted" in said) == (0, True, True)
    code, said = _run(capsys, home, "consent", film.id, "--to", "peers,course", "--partner", "Kim")
    assert (code, "no name" in said) == (2, True)
    code, said = _run(capsys, home, "consent", film.id, "--to", "peers,course", "--partner", "K.M.")
    assert "peers whom the learner asks; and everybody of the course, as an exemplar, said by K.M." in said
    assert _run(capsys, home, "consent", film.id, "--taken-back")[0] == 0
    code, said = _run(capsys, home, "values", film.id)
    assert (code, "took the consent back" in said) == (2, True)


def test_a_file_of_mine_and_the_line_it_leaves(
    kept: tuple[Home, Recording], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The ZIP file is whole, and who looked tells that it was made."""
    home, film = kept
    assert "Nobody else looked" in _run(capsys, home, "looks", film.id)[1]
    code, said = _run(capsys, home, "mine", "-o", str(tmp_path / "mine.zip"), "--quiet")
    assert (code, "1 recordings of L-07, 0 left out" in said) == (0, True)
    with zipfile.ZipFile(tmp_path / "mine.zip") as archive:
        assert f"recordings/{film.id}/original.mp4" in archive.namelist()
    assert "all of mine" in _run(capsys, home, "looks", film.id)[1]


def test_a_date_is_set_listed_and_kept(kept: tuple[Home, Recording], capsys: pytest.CaptureFixture[str]) -> None:
    """A number that is none is refused; a dry run lists and erases nothing; what is not due stays."""
    home, film = kept
    for none in ("soon", "\u00b2", "9" * 5000):
        code, said = _run(capsys, home, "retention", "--days", none)
        assert (code, "expected a whole number of days, or off" in said) == (2, True)
    code, said = _run(capsys, home, "retention", "run", "--as", "P-03", "--role", "peer")
    assert (code, "may not set after how many days" in said) == (2, True)
    assert "after 30 days" in _run(capsys, home, "retention", "--days", "30")[1]
    assert "due now: 0" in _run(capsys, home, "retention", "run", "--dry-run")[1]
    assert "Nothing is due" in _run(capsys, home, "retention", "run")[1]
    assert "No date is set" in _run(capsys, home, "retention", "--days", "off")[1]
    assert (home.root / film.original).exists()


def test_a_receipt_is_listed_and_printed(kept: tuple[Home, Recording], capsys: pytest.CaptureFixture[str]) -> None:
    """Before anything was erased there is a sentence; afterwards a line, all of it, and a page."""
    home, film = kept
    assert "Nothing was erased yet" in _run(capsys, home, "receipts")[1]
    assert "none of its files is there, no row" in _run(capsys, home, "erase", film.id, "--yes")[1]
    assert "asked for" in _run(capsys, home, "receipts")[1]
    told = json.loads(_run(capsys, home, "receipts", film.id, "--json")[1])
    assert told["holds"]
    assert film.sha256 in {one["sha256"] for one in told["files"]}
    assert "<h1>Receipt of an erasure</h1>" in _run(capsys, home, "receipts", told["id"], "--page")[1]
    assert _run(capsys, home, "receipts", "nowhere")[0] == 2
