"""The examples for a server: commands are the tool's own, systemd takes them, the container holds what it needs."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from review.__main__ import parser
from ui.service import HEALTH

ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "docs" / "examples"
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


def container() -> list[tuple[str, str]]:
    """Return the instructions of the container file and what stands behind each, continued lines joined."""
    text = re.sub(r"^#.*\n", "", (EXAMPLES / "Containerfile").read_text("utf-8"), flags=re.MULTILINE)
    lines = [line for line in text.replace("\\\n", " ").splitlines() if line.strip()]
    return [(word, " ".join(rest.split())) for word, _, rest in (line.partition(" ") for line in lines)]


def said_of(word: str) -> list[str]:
    """Return what stands behind each instruction of that name."""
    return [rest for name, rest in container() if name == word]


def test_the_container_runs_a_command_of_ours() -> None:
    """Its entry point and its words are taken by the parser, and what it listens at is what it exposes and asks."""
    (entry,), (words,), (port,), (asked,) = (said_of(one) for one in ("ENTRYPOINT", "CMD", "EXPOSE", "HEALTHCHECK"))
    program, *given = json.loads(entry) + json.loads(words)
    order = parser().parse_args(given)
    assert (program, order.run is not None, str(order.port)) == ("runthrough", True, port)
    assert f"http://127.0.0.1:{port}{HEALTH}'" in asked


def test_the_container_holds_all_parts_and_no_more_of_the_checkout() -> None:
    """Every package that is installed is copied, what describes them too; never the folder as a whole."""
    described = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    parts = {one.rstrip("*") for one in described["tool"]["setuptools"]["packages"]["find"]["include"]}
    copied = [name for one in said_of("COPY") if not one.startswith("--from") for name in one.split()[:-1]]
    assert sorted(copied) == sorted({*parts, "pyproject.toml", described["project"]["readme"]})


def test_the_container_is_nobodys_root() -> None:
    """It runs as an account of its own, which owns its home alone, and its home is a volume."""
    names = [name for name, _ in container()]
    (user,), (volume,) = said_of("USER"), said_of("VOLUME")
    assert names.index("USER") > max(place for place, name in enumerate(names) if name in ("RUN", "COPY"))
    assert user == "runthrough"
    assert f"install -d -o {user} -g {user} -m 700 {volume}" in said_of("RUN")[-1]
    assert f"RUNTHROUGH_HOME={volume} " in said_of("ENV")[0]


def test_the_container_has_the_systems_libraries_that_the_check_asks_for() -> None:
    """Those of the one check but fonts, the browser and the database, which only tests need."""
    (needed,) = re.findall(r'needed="(.*)"', (ROOT / ".ci" / "run").read_text("utf-8"))
    libraries = [one for one in needed.split() if one.startswith("lib")]
    assert libraries
    assert set(libraries) <= set(said_of("RUN")[-1].split())
