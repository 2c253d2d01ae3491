"""Proposals from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from review.__main__ import main
from review.report import proposed
from review.store.home import find_home
from review.store.repository import reading
from tests.films import click_at, even_times, make_film
from tests.report.test_proposed import FIRST


def test_proposals_are_printed_and_nothing_is_marked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before the analysis the sentence why there are none; after it a line a step; stopped analyses count as well."""
    home = ["--home", str(tmp_path / "home")]
    film = make_film(tmp_path / "try.mp4", even_times(60), (64, 48), sound=click_at(0.1, 2.0))
    assert main(["add", str(film), "--checklist", "balance_only", "--json", *home]) == 0
    recording = json.loads(capsys.readouterr().out)["id"]
    assert main(["proposals", recording, *home]) == 0
    assert capsys.readouterr().out.strip() == proposed.LATER
    monkeypatch.setattr(proposed, "UNFINISHED", ())
    monkeypatch.setattr(proposed, "proposals_of", lambda *_: (FIRST,))
    assert main(["proposals", recording, *home]) == 0
    told = capsys.readouterr().out
    assert "position_guard" in told
    assert "about 9 in 10 right (93 %)" in told
    assert "heard" not in told
    assert main(["proposals", recording, "--json", *home]) == 0
    assert [one["step"] for one in json.loads(capsys.readouterr().out)["proposals"]] == ["position_guard"]
    with reading(find_home(tmp_path / "home")) as repo:
        assert repo.marks(recording) == ()
