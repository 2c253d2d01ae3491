"""Copies with masked faces from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from review.__main__ import main
from review.capture.probe import probe
from tests.films import click_at, even_times, make_film


@pytest.fixture
def added(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[str, list[str]]:
    """Add a film of a third of a second, with sound and nobody in it; its id, and the option that names the home."""
    home = ["--home", str(tmp_path / "home")]
    film = make_film(tmp_path / "first try.mp4", even_times(10), (256, 192), sound=click_at(0.1, 0.4))
    assert main(["add", str(film), "--json", *home]) == 0
    return json.loads(capsys.readouterr().out)["id"], home


def test_a_copy_is_written_where_it_was_asked_for(
    added: tuple[str, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It comes without sound into a folder, with it into a file; what to look at and what stays known is printed."""
    recording, home = added
    (tmp_path / "out").mkdir()
    assert main(["mask-faces", recording, "--all", "-o", str(tmp_path / "out"), "--quiet", *home]) == 0
    told = capsys.readouterr().out
    written = tmp_path / "out" / "attempt-1-faces-masked-all.mp4"
    assert f"{written}: all faces masked, without sound" in told
    assert "no head was found, so nothing is masked" in told
    assert "personal data still" in told
    facts, times = probe(written)
    assert (len(times), facts.has_sound) == (10, False)
    named = tmp_path / "named.mp4"
    assert main(["mask-faces", recording, "--sound", "-o", str(named), "--quiet", *home]) == 0
    assert "all faces but the examined person's masked, with its sound" in capsys.readouterr().out
    assert probe(named)[0].has_sound
    assert main(["looks", recording, "--json", *home]) == 0
    (line,) = json.loads(capsys.readouterr().out)
    assert (line["who"], line["what"]) == ("L-01", "copy with masked faces")


def test_nothing_is_written_over_and_a_copy_can_be_removed(
    added: tuple[str, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file that is there is told before the long work begins, and stays; removing says whether there was a copy."""
    recording, home = added
    there = tmp_path / "there.mp4"
    there.write_bytes(b"mine")
    assert main(["mask-faces", recording, "-o", str(there), "--quiet", *home]) == 2
    assert "--force" in capsys.readouterr().err
    assert there.read_bytes() == b"mine"
    assert main(["mask-faces", recording, "--quiet", *home]) == 0
    for words in ("was removed", "no such copy"):
        assert main(["mask-faces", recording, "--remove", *home]) == 0
        assert words in capsys.readouterr().out.splitlines()[-1]
