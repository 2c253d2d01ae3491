"""`import --captions` and `words erase`: captions out and in at the command line, and gone with the words."""

from __future__ import annotations

from pathlib import Path

import pytest

from review.__main__ import main
from review.domain.transcript import Word
from review.store.repository import reading, repository
from review.store.words import WordStore
from tests.homes import learners_home
from tests.store.made import recording


def test_captions_go_out_and_in(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exported, changed, read in, replaced only when that is said; erasing words erases what was corrected in them."""
    home, learner = learners_home(tmp_path / "home")
    film = recording(added_by=learner.id, checklist_id=None, checklist_version=None)
    with repository(home) as repo:
        repo.add_recording(film)
    WordStore(home, film.id).put(0, 600, (Word("Rumbird.", 1.0, 2.5, 0.4),))
    at_home = ["--home", str(home.root)]
    out = tmp_path / "out.vtt"
    assert main(["export", film.id, "captions", "--to", str(out), *at_home]) == 0
    out.write_text(out.read_text("utf-8").replace("Rumbird", "Romberg"), "utf-8")
    assert main(["import", film.id, str(out), "--captions", *at_home]) == 0
    assert "1 caption read in; 1 of them differ" in capsys.readouterr().out
    out.write_text(out.read_text("utf-8").replace("Romberg", "Romberg negative"), "utf-8")
    assert main(["import", film.id, str(out), "--captions", *at_home]) != 0
    assert "Nothing was changed" in capsys.readouterr().err
    assert main(["import", film.id, str(out), "--captions", "--replace", *at_home]) == 0
    with reading(home) as repo:
        assert [one.text for one in repo.corrections().of(film.id)] == ["Romberg negative."]
    assert main(["words", "erase", *at_home]) == 0
    with reading(home) as repo:
        assert repo.belongings().rows(film.id) == {"recordings": 1}
