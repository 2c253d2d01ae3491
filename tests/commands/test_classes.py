"""What waits and how a class does, from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from review.__main__ import main
from tests.graded import furnish


def test_a_class_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The first instructor known here is who asks; steps with counts first, learners by the sheet's rule."""
    home, _, _ = furnish(tmp_path / "home")
    options = ["--home", str(home.root)]
    assert main(["class", *options]) == 0
    told = capsys.readouterr().out
    assert "1 attempt of 1 learner: the newest graded attempt of each learner." in told
    assert "Feet together, examiner on guard  0 of 1: 0 %, 95 % 0 to 79 %" in told
    assert "L-07     does not pass yet" in told
    assert main(["class", "--attempts", "all", "--json", *options]) == 0
    assert json.loads(capsys.readouterr().out)["graded"] == 3
    assert main(["class", "--csv", "learners", *options]) == 0
    assert capsys.readouterr().out.startswith("checklist_id,learner,attempts,")


def test_empty_and_not_for_learners(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With nothing there a sentence; a learner is told for whom it is, with exit code 2."""
    home = ["--home", str(tmp_path / "home")]
    assert main(["class", "--as", "I-02", "--role", "instructor", *home]) == 0
    assert "No learner has an attempt here yet" in capsys.readouterr().out
    assert main(["class", "--as", "L-07", *home]) == 2
    assert "that is for: instructor" in capsys.readouterr().err


def test_where_people_sign_in_somebody_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No instructor acts unasked once there is a course: neither looking at a class nor asking for grades."""
    home, _, recordings = furnish(tmp_path / "home")
    options = ["--home", str(home.root)]
    begin = ["course", "start", "balance", "Balance lab", "--owner", "I-02", "--move-to", "balance"]
    assert main([*begin, *options]) == 0
    for command in (["class"], ["assign", recordings[0].id]):
        assert main([*command, *options]) == 2
        assert "Say with --as CODE who acts" in capsys.readouterr().err
    assert main(["class", "--as", "I-02", *options]) == 0
