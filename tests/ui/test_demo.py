"""The demo from its command to the browser: what a newcomer does in the first minutes, and that it is all kept."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from review.store.home import Home, find_home
from review.store.repository import reading
from tests.ui.conftest import free_port
from tests.ui.test_review_page import WATCH_FILM, kept, row

pytestmark = pytest.mark.browser

RUNTHROUGH = Path(sys.executable).with_name("runthrough")


def run(*words: str, home: Path) -> Any:
    """Run a command of the tool and return the JSON it prints."""
    order = [RUNTHROUGH, *words, "--json", "--home", home]
    done = subprocess.run(order, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """Start `runthrough demo` as a newcomer does; the values are its address and its home."""
    home, port = tmp_path_factory.mktemp("demo"), free_port()
    order = [RUNTHROUGH, "demo", "--no-browser", "--port", str(port), "--home", home]
    with subprocess.Popen(order, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as process:
        assert process.stdout is not None
        said = [process.stdout.readline()]
        while f"127.0.0.1:{port}" not in said[-1]:
            assert said[-1], "".join(said)
            said.append(process.stdout.readline())
        _wait_until_it_answers(port)
        yield said[-1].split()[-1], home
        process.terminate()


def _wait_until_it_answers(port: int) -> None:
    for _ in range(300):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    raise AssertionError("the demo did not answer within half a minute")


@pytest.fixture(scope="module")
def page(chromium: Any, demo: tuple[str, Path]) -> Iterator[Any]:
    """Open the address that the command printed, as soon as the server answers."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.goto(demo[0])
    page.get_by_test_id("frame").get_by_text("of 1").wait_for(timeout=60_000)
    page.evaluate(WATCH_FILM)
    yield page
    page.close()


def test_three_recordings_with_their_story(demo: tuple[str, Path], page: Any) -> None:
    """The demo's films, marks and comments are there at once."""
    rows = run("recordings", home=demo[1])
    assert len(rows) == 3
    page.get_by_role("tab", name="Comments (5)").wait_for()


def test_step_is_marked_graded_and_commented(demo: tuple[str, Path], page: Any) -> None:
    """Keys mark a step, grade it and write a comment; no rerun loads the film anew, and a reload keeps all."""
    row(page, "result|").locator(".row-title").click()
    page.get_by_test_id("video").evaluate("film => { film.currentTime = 45.5; }")
    page.get_by_test_id("clock").get_by_text("0:45").wait_for()
    page.keyboard.press("[")
    kept(page)
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("]")
    page.keyboard.press("2")
    page.keyboard.press("c")
    page.get_by_test_id("comment-box").wait_for()
    page.keyboard.type("Nothing was said here.")
    page.keyboard.press("Enter")
    kept(page)
    assert page.evaluate("window.loads") == 0

    page.reload()
    page.get_by_test_id("frame").get_by_text("of 1").wait_for(timeout=60_000)
    page.get_by_test_id("comment-list").get_by_text("Nothing was said here.").wait_for()
    graded = row(page, "result|").locator('[data-testid="grade"][aria-pressed="true"]')
    assert graded.get_attribute("data-level") == "not_yet"
    romberg = next(one["id"] for one in run("recordings", home=demo[1]) if one["duration_s"] > 40)
    marks = run("mark", romberg, home=demo[1])
    mine = next(mark for mark in marks if mark["step"] == "result")
    assert mine["offset_s"] - mine["onset_s"] == pytest.approx(1.0, abs=0.04)


def test_values_arrive_with_interval_and_expectation(demo: tuple[str, Path], page: Any) -> None:
    """When the films are analysed, the graded step shows number, 95 % interval and what is expected."""
    _wait_until_analysed(demo[1])
    value = row(page, "position_guard|").get_by_text("shoulder widths, 95 %").first
    value.wait_for(timeout=30_000)
    assert "expected at most 0.45" in value.inner_text()


def _wait_until_analysed(home: Path) -> None:
    until = time.monotonic() + 480
    while (states := _states(find_home(home))) != {"done"}:
        assert "failed" not in states
        assert time.monotonic() < until, states
        time.sleep(0.5)


def _states(home: Home) -> set[str]:
    with reading(home) as repo:
        return {job.state for job in repo.jobs()}
