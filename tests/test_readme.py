"""The README's commands are the real ones: they are read from it and run."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from review.__main__ import main
from tests.readme import README, commands

HERE = Path(sys.executable).parent


def test_it_begins_with_the_job() -> None:
    """The first paragraph after the title says for whom and what."""
    first = README.read_text("utf-8").split("\n\n")[1]
    assert "student" in first
    assert "check-off" in first


@pytest.mark.parametrize("name", ["demo", "test"])
def test_commands_are_one_line_from_nothing(name: str) -> None:
    """Each of the two commands makes an environment, installs this checkout and runs the tool."""
    command = commands()[name]
    assert "\n" not in command
    assert command.startswith("python3 -m venv .venv && .venv/bin/pip install ")


def test_every_command_shown_is_known(capsys: pytest.CaptureFixture[str]) -> None:
    """Each `runthrough COMMAND` in README and DEVELOPERS has a help page that says what it does."""
    text = README.read_text("utf-8") + (README.parent / "DEVELOPERS.md").read_text("utf-8")
    named = set(re.findall(r"runthrough ([a-z]+)\b", text)) - {"is"}
    assert {"demo", "add", "analyse", "open", "doctor"} <= named
    for name in sorted(named):
        with pytest.raises(SystemExit) as ended:
            main([name, "--help"])
        assert ended.value.code == 0, name
        assert capsys.readouterr().out.startswith(f"usage: runthrough {name}")


def test_the_command_is_installed() -> None:
    """The installed `runthrough` is the one whose help pages these are."""
    done = subprocess.run([HERE / "runthrough", "demo", "--help"], capture_output=True, text=True)
    assert done.returncode == 0
    assert done.stdout.startswith("usage: runthrough demo")


def test_links_lead_somewhere() -> None:
    """Every relative link of the documents points to a file that is there."""
    root = README.parent
    for page in [README, root / "DEVELOPERS.md", *(root / "docs").rglob("*.md")]:
        for target in re.findall(r"\]\((?!https?:)([^)#]+)", page.read_text("utf-8")):
            assert (page.parent / target).exists(), f"{page.name}: {target}"
