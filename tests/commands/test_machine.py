"""`open`: where the pages are, and whose films an inbox beside them adds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from review.__main__ import main
from review.commands import machine
from tests.homes import learners_home


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Stand in for what never ends, the pages and the watching; the list tells which of them began, with what."""
    told: list[Any] = []
    monkeypatch.setattr(machine, "keep_working", lambda home: None)
    monkeypatch.setattr(machine, "_screens", lambda: lambda home, port, browser, **more: told.append(("pages", more)))
    watched = machine.watch_beside

    def beside(home: Any, person: Any, folder: Path, course: str | None) -> None:
        watched(home, person, folder, course)
        told.append(("inbox", person.code, course))

    monkeypatch.setattr(machine, "watch_beside", beside)
    monkeypatch.setattr("review.commands.inbox._watch_on", lambda inbox: None)
    return told


def test_an_inbox_where_people_sign_in(tmp_path: Path, begun: list[Any], capsys: pytest.CaptureFixture[str]) -> None:
    """Whose films it adds has to be said, and a course of that person's; then it begins, and the pages after it."""
    home, inbox = ["--home", str(tmp_path / "home")], ["--inbox", str(tmp_path)]
    main(["course", "start", "balance", "Balance lab", "--owner", "I-01", *home])
    assert main(["open", *inbox, *home]) == 2
    assert "Say with --as CODE who acts" in capsys.readouterr().err
    assert main(["open", *inbox, "--as", "I-01", "--course", "hearing", *home]) == 2
    assert "expected one of one's own" in capsys.readouterr().err
    assert begun == []
    assert main(["open", *inbox, "--as", "i-01", "--address", "0.0.0.0", *home]) == 0
    assert begun == [("inbox", "I-01", None), ("pages", {"address": "0.0.0.0", "names": []})]


def test_what_is_refused_begins_nothing(tmp_path: Path, begun: list[Any], capsys: pytest.CaptureFixture[str]) -> None:
    """Neither an address that nobody signs in at, nor a person without an inbox, leaves a watched folder behind."""
    home = ["--home", str(learners_home(tmp_path / "home")[0].root)]
    assert main(["open", "--inbox", str(tmp_path), "--address", "0.0.0.0", *home]) == 2
    assert "nobody needs to sign in" in capsys.readouterr().err
    assert main(["open", "--as", "L-07", *home]) == 2
    assert "without --inbox" in capsys.readouterr().err
    assert begun == []
    assert main(["open", "--inbox", str(tmp_path), *home]) == 0
    assert begun == [("inbox", "L-07", None), ("pages", {})]
