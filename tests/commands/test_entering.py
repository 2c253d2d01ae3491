"""Results entered from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from review.__main__ import main
from tests.films import even_times, make_film


def test_a_result_is_entered_listed_and_withdrawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What was entered comes back in words and as JSON; taken back, it is gone from the list."""
    home = ["--home", str(tmp_path / "home")]
    assert main(["add", str(make_film(tmp_path / "a.mp4", even_times(6))), "--json", *home]) == 0
    kept = json.loads(capsys.readouterr().out)["id"]
    assert main(["entries", kept, *home]) == 0
    assert "Nothing was entered yet" in capsys.readouterr().out
    assert main(["enter", kept, "cn2_acuity_far", "--side", "right", "20/40 -2 with glasses", *home]) == 0
    assert "20/43.8, 6/13.1, decimal 0.457, logMAR 0.34; with glasses" in capsys.readouterr().out
    assert main(["enter", kept, "cn8_weber", "middle", "--json", *home]) == 0
    assert [row["words"] for row in json.loads(capsys.readouterr().out)] == ["heard in the middle"]
    assert main(["entries", kept, "--json", *home]) == 0
    listed = json.loads(capsys.readouterr().out)
    assert [(row["step"], row["side"]) for row in listed] == [("cn2_acuity_far", "right"), ("cn8_weber", None)]
    assert listed[0]["fields"]["logmar"] == 0.34
    assert main(["entries", kept, "--withdraw", "cn8_weber", "--json", *home]) == 0
    assert [row["step"] for row in json.loads(capsys.readouterr().out)] == ["cn2_acuity_far"]


def test_what_cannot_be_is_told_with_exit_code_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All faults of the text are on stderr, and nothing is kept."""
    home = ["--home", str(tmp_path / "home")]
    assert main(["add", str(make_film(tmp_path / "a.mp4", even_times(6))), "--json", *home]) == 0
    kept = json.loads(capsys.readouterr().out)["id"]
    assert main(["enter", kept, "reflex_patellar", "9", "--side", "left", *home]) == 2
    told = capsys.readouterr().err
    assert "The scale's name is missing" in told
    assert "Grade 9 came" in told
    assert main(["entries", kept, "--json", *home]) == 0
    assert json.loads(capsys.readouterr().out) == []
