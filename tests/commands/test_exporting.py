"""Files of an attempt from the command line, out and in."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from review.__main__ import main
from review.actions import marks, recordings
from review.store.repository import repository
from tests.films import even_times, make_film
from tests.homes import learners_home


@pytest.fixture
def marked(tmp_path: Path) -> tuple[str, list[str]]:
    """Make a home with a film on which a step is marked; the recording's id, and the options that name the home."""
    home, learner = learners_home(tmp_path / "home")
    film = make_film(tmp_path / "lab.mp4", even_times(60))
    recording = recordings.add(home, learner, film, checklist_id="balance_only")
    with repository(home) as repo:
        marks.place(repo, learner, recording, "eyes_open", None, 0.2, 1.5)
    return recording.id, ["--home", str(home.root)]


def test_a_file_is_made_and_read_back(
    marked: tuple[str, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`export` prints where it wrote; what is there is not written over unasked; `import` says what came of it."""
    kept, home = marked
    assert main(["export", kept, "marks", "--to", str(tmp_path), *home]) == 0
    place = Path(capsys.readouterr().out.strip())
    assert place == tmp_path / "lab-1-marks.vtt"
    assert main(["export", kept, "marks", "--to", str(tmp_path), *home]) == 2
    assert "is there already" in capsys.readouterr().err
    assert main(["export", kept, "marks", "--to", str(place), "--force", *home]) == 0
    capsys.readouterr()
    assert main(["import", kept, str(place), *home]) == 0
    assert capsys.readouterr().out == "1 mark here already.\n"


def test_a_file_goes_to_stdout(marked: tuple[str, list[str]], capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    """With - as its place nothing but the file is printed."""
    kept, home = marked
    assert main(["export", kept, "annotations", "--to", "-", *home]) == 0
    assert json.loads(capsysbinary.readouterr().out)["total"] == 1


def test_what_left_the_home_is_in_the_trail(
    marked: tuple[str, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file that was written and a filled sheet are noted, one's own too; one that could not be written is not."""
    kept, home = marked
    assert main(["export", kept, "annotations", "--to", str(tmp_path / "nowhere" / "a.jsonld"), *home]) == 2
    assert main(["export", kept, "marks", "--to", str(tmp_path), *home]) == 0
    assert main(["checklist", "print", "--recording", kept, *home]) == 0
    capsys.readouterr()
    assert main(["looks", kept, "--json", *home]) == 0
    noted = json.loads(capsys.readouterr().out)
    assert sorted(one["what"] for one in noted) == ["file: marks", "sheet for paper"]


def test_what_cannot_be_is_told(
    marked: tuple[str, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder that is not there, a missing file and a film that was not analysed end with exit code 2."""
    kept, home = marked
    assert main(["export", kept, "print", "--to", str(tmp_path / "nowhere" / "a.html"), *home]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert main(["import", kept, str(tmp_path / "none.vtt"), *home]) == 2
    assert "none.vtt cannot be read" in capsys.readouterr().err
    assert main(["export", kept, "tracks", "--to", str(tmp_path), *home]) == 2
    assert "was not analysed" in capsys.readouterr().err
