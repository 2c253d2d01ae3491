"""Sheets at the command line: from a spreadsheet to a stored sheet, and back out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from review.__main__ import main
from review.exchange.sheets.spreadsheet import read_tables
from tests.exchange.sheet_shapes import SHAPES

SHAPE = next(shape for shape in SHAPES if shape.file == "points in titles.csv")


def run(home: Path, *order: object) -> int:
    """Run a command on a home."""
    return main(["checklist", *map(str, order), "--home", str(home)])


def test_a_sheet_goes_in_and_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Preview, store, copy, export, retire, print: each says what it did."""
    home, file = tmp_path / "home", tmp_path / SHAPE.file
    file.write_bytes(SHAPE.content())
    assert run(home, "import", file) == 0
    told = capsys.readouterr().out
    assert "5    Stands behind the partner (1 pt)" in told
    assert "Nothing was stored. Add --store" in told
    assert run(home, "import", file, "--id", "hearing", "--caution", "Ask first.", "--store") == 0
    assert "hearing version 1 is stored: 4 steps, 7 points." in capsys.readouterr().out
    assert run(home, "copy", "hearing", "hearing_2", "--title", "Hearing again") == 0
    assert run(home, "export", "hearing_2", "--out", tmp_path / "out.xlsx") == 0
    grid = read_tables("out.xlsx", (tmp_path / "out.xlsx").read_bytes())[0]
    assert grid.rows[0][:2] == ("Checklist", "Hearing again")
    assert run(home, "retire", "hearing", "--as", "I-02", "--role", "instructor") == 0
    capsys.readouterr()
    assert run(home, "list") == 0
    (line,) = [line for line in capsys.readouterr().out.splitlines() if line.startswith("hearing ")]
    assert line.split()[:6] == ["hearing", "1", "4", "7", "0", "retired"]
    assert run(home, "print", "hearing") == 0
    page = capsys.readouterr().out
    assert page.startswith("<!doctype html>")
    assert page.count("Ask first.") == 4


def test_what_was_guessed_wrong_can_be_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Columns, rows, headings and the scale, by their letters, numbers and words; wrong ones are refused."""
    file = tmp_path / "x.csv"
    file.write_bytes(b"A,B\nLook,2\nEnd,\n")
    said = [
        "--head",
        "1",
        "--column",
        "A=step",
        "--column",
        "B=points",
        "--row",
        "3=skip",
        "--levels",
        "seen=1,unseen=0",
    ]
    assert run(tmp_path / "home", "import", file, *said, "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["steps"], told["points"], [level["word"] for level in told["levels"]]) == (1, 2, ["seen", "unseen"])
    for wrong, words in ((["--column", "A=stop"], "stop came"), (["--row", "x=step"], "expected the number of a row")):
        assert run(tmp_path / "home", "import", file, *wrong) == 2
        assert words in capsys.readouterr().err


def test_a_table_with_faults_is_not_stored(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All faults are told with their rows, and the exit code says that something is to be mended."""
    file = tmp_path / "x.csv"
    file.write_bytes(b"Step,Points\nLook,two\nListen,three\n")
    assert run(tmp_path / "home", "import", file, "--store") == 2
    told = capsys.readouterr().err
    assert "row 2, column B: 'two' came for points" in told
    assert "row 3, column B: 'three' came for points" in told
