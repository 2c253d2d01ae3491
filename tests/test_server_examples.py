"""The examples for a server: their commands are the tool's own, and systemd takes them."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from review.__main__ import parser

EXAMPLES = Path(__file__).parents[1] / "docs" / "examples"
UNITS = sorted(EXAMPLES.glob("*.service"))
INSTALLED = "/opt/runthrough/.venv/bin/runthrough"


def orders(unit: Path) -> list[list[str]]:
    """Return the words of each command of a unit, also of those that are to be uncommented."""
    found = re.findall(r"^(?:# )?ExecStart=(.+)$", unit.read_text("utf-8"), re.MULTILINE)
    return [shlex.split(one) for one in found]


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.stem)
def test_commands_are_the_tools_own(unit: Path) -> None:
    """Each is taken by the parser of the command line."""
    for program, *words in orders(unit):
        assert program == INSTALLED
        assert parser().parse_args(words).run is not None


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.stem)
def test_systemd_takes_them(unit: Path, tmp_path: Path) -> None:
    """Nothing in a unit is unknown to it or wrong; the program is put where it is on this machine."""
    if shutil.which("systemd-analyze") is None:
        pytest.skip("systemd is not on this machine")
    program = Path(sys.executable).with_name("runthrough")
    for path in EXAMPLES.iterdir():
        (tmp_path / path.name).write_text(path.read_text("utf-8").replace(INSTALLED, str(program)))
    places = [tmp_path / unit.name, *([tmp_path / f"{unit.stem}.timer"] if unit.stem.endswith("backup") else [])]
    done = subprocess.run(["systemd-analyze", "verify", *places], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (0, "")
    assert not [line for line in done.stderr.splitlines() if tmp_path.name in line or "runthrough" in line], done.stderr


@pytest.mark.parametrize("name", ["runthrough", "runthrough-work"])
def test_services_are_kept_apart(name: str) -> None:
    """By systemd's own account what runs all day is exposed little: below 2 of 10."""
    if shutil.which("systemd-analyze") is None:
        pytest.skip("systemd is not on this machine")
    order = ["systemd-analyze", "security", "--offline=true", "--threshold=20", EXAMPLES / f"{name}.service"]
    done = subprocess.run(order, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-300:]
