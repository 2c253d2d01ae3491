"""Whether what is said is written down, from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from review.__main__ import main


def test_words_are_kept_left_out_and_erased(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each command says how it is from then on; without a word the command tells and changes nothing."""
    home = ["--home", str(tmp_path / "home")]
    for what, told in (
        ([], "with the installed voice model"),
        (["off"], "Words are left out."),
        ([], "Words are left out."),
        (["on"], "with the installed voice model"),
        (["erase"], "The words of 0 recordings were erased.\nWords are left out."),
    ):
        assert main(["words", *what, *home]) == 0
        assert told in capsys.readouterr().out


def test_a_folder_without_a_model_changes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It is refused with what is missing and exit code 2."""
    home = ["--home", str(tmp_path / "home")]
    assert main(["words", "on", "--voice-model", str(tmp_path), *home]) == 2
    assert "holds no voice model" in capsys.readouterr().err
    assert main(["words", *home]) == 0
    assert "installed voice model" in capsys.readouterr().out


def test_doctor_tells_of_the_voice_model(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It names the folder, or that none is needed."""
    home = ["--home", str(tmp_path / "home")]
    main(["doctor", *home])
    assert "voice model: as expected" in capsys.readouterr().out
    main(["words", "off", *home])
    main(["doctor", *home])
    assert "voice model: not needed" in capsys.readouterr().out
