"""Grades side by side and what to practise next, from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from review.__main__ import main
from tests.graded import furnish


def test_grades_are_put_side_by_side(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The table of an attempt, then pairs with counts first; as JSON the same that the page shows."""
    home, _, films = furnish(tmp_path / "home")
    options = ["--home", str(home.root), "--as", "L-07"]
    assert main(["compare", films[1].id, *options]) == 0
    told = capsys.readouterr().out
    assert "L-07, Standing balance: Romberg, attempt 2" in told
    assert "Feet together, examiner on guard  yes   not yet  not yet  not yet  x     7.0 s" in told
    assert "L-07 and I-02\n  The same grade on 9 of 17 steps: 53 %, 95 % 31 to 74 %." in told
    assert main(["compare", "--json", *options]) == 0
    assert json.loads(capsys.readouterr().out)["attempt"]["attempt"] == 3


def test_what_to_practise_is_told_with_its_reason(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each step to practise has its reasons and its caution, and the rule stands below."""
    home, _, _ = furnish(tmp_path / "home")
    options = ["--home", str(home.root), "--as", "L-07"]
    assert main(["progress", *options]) == 0
    told = capsys.readouterr().out
    assert "Feet together, examiner on guard: A critical step: missing it fails the sheet. 4 of 4 points lost" in told
    assert "Caution: Guard first" in told
    assert "common practice, no source" in told
    assert main(["progress", "--learner", "L-07", "--json", *options]) == 0
    assert json.loads(capsys.readouterr().out)["next"][0]["step"] == "position_guard"


def test_empty_and_unknown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With nothing there a sentence and exit code 0; for somebody unknown exit code 2."""
    home = ["--home", str(tmp_path / "home")]
    assert main(["compare", *home]) == 0
    assert "No attempt is here yet" in capsys.readouterr().out
    assert main(["progress", "--learner", "L-99", *home]) == 2
    assert "L-99" in capsys.readouterr().err
