"""The house rules that a machine can keep: floors, file lengths, top level, words that must not appear."""

import ast
import re
import statistics
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SOURCES = sorted([*(ROOT / "review").rglob("*.py"), *(ROOT / "ui").rglob("*.py"), *(ROOT / "ui").rglob("*.js")])
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "review", "ui", "tests", "sample_clips", "docs"}


def _lines(path: Path) -> int:
    return len(path.read_text("utf-8").splitlines())


def test_files_are_short() -> None:
    """No source file is longer than 450 lines, and half of them are no longer than 150."""
    lengths = {str(path.relative_to(ROOT)): _lines(path) for path in SOURCES}
    assert {name: length for name, length in lengths.items() if length > 450} == {}
    assert statistics.median(lengths.values()) <= 150


def _code_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Count the lines of a function that hold code: no docstring, no blank lines, no comments."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    lines = {line for node in body for part in ast.walk(node) if hasattr(part, "lineno") for line in _span(part)}
    return len(lines)


def _span(node: ast.AST) -> range:
    return range(getattr(node, "lineno"), getattr(node, "end_lineno") + 1)  # noqa: B009 - not every node has them


@pytest.mark.parametrize("folder", ["review", "ui", "sample_clips", "tests"])
def test_functions_are_short(folder: str) -> None:
    """No function holds more than 40 lines of code."""
    long = {}
    for path in sorted((ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and _code_lines(node) > 40:
                long[f"{path.relative_to(ROOT)}:{node.name}"] = _code_lines(node)
    assert long == {}


def test_floors_hold() -> None:
    """Imports go down the floors only, and each outside library has one door."""
    lint = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([lint], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


def test_top_level_stays() -> None:
    """Nothing that git tracks stands at the top level beyond what was agreed."""
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if done.returncode != 0:
        pytest.skip("not a git checkout")
    names = {line.split("/")[0] for line in done.stdout.splitlines()}
    assert {name for name in names if not name.startswith(".")} <= TOP_LEVEL


def test_importing_does_nothing() -> None:
    """Importing every module of review prints nothing, writes nothing and brings in no heavy library of the workers."""
    code = (
        "import importlib, pkgutil, sys, review\n"
        "for found in pkgutil.walk_packages(review.__path__, 'review.'):\n"
        "    if not found.name.endswith('__main__') and '.migrations' not in found.name:\n"
        "        importlib.import_module(found.name)\n"
        "assert 'streamlit' not in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-W", "error", "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@pytest.mark.parametrize(
    "pattern", [r"(?i)\bTODO\b", r"(?i)\bFIXME\b", r"/home/\w+", r"https?://[^\s)\"']*\.(?:io|org)/simple"]
)
def test_no_loose_ends(pattern: str) -> None:
    """No unfinished notes, no paths of somebody's machine, no addresses of package registries."""
    found = [
        f"{path.relative_to(ROOT)}: {match.group()}"
        for path in SOURCES
        for match in re.finditer(pattern, path.read_text("utf-8"))
    ]
    assert found == []


def test_scripts_write_no_markup() -> None:
    """Pages are built of nodes and texts: nothing people wrote becomes markup. The exception is a drawing of ours."""
    writes = re.compile(
        r"\b(innerHTML|outerHTML|srcdoc)\s*\+?=(?!=)|insertAdjacentHTML|document\.write|\beval\(|new Function"
    )
    found = {
        (path.name, hit[0].strip())
        for path in (ROOT / "ui" / "assets").glob("*.js")
        for hit in writes.finditer(path.read_text("utf-8"))
    }
    assert found == {("guide.js", "innerHTML =")}


def test_tests_run_loops_aside() -> None:
    """A browser of a test before leaves its own loop running in the thread: another goes into a thread of its own.

    Benchmarks have a process to themselves.
    """
    runs = re.compile(r"\b(asyncio|anyio)\.(run\b|Runner|new_event_loop)")
    tests = [path for path in (ROOT / "tests").rglob("*.py") if "benchmarks" not in path.parts]
    found = {path.name for path in tests if runs.search(path.read_text("utf-8"))}
    assert found == {"answers.py"}
