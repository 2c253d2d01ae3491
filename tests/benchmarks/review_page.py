"""The Review page on a long film, in a real browser: how fast it is there, and how fast it answers.

Run: ``python -m tests.benchmarks.review_page FILM [--minutes 10] [--home FOLDER] [--json]``

The film is added to a home of its own with sixty steps marked by three people and tracks of every frame, so that one
step has six curves; `FOLDER` keeps that home for the next run. A film of half an hour is made by
``python -m tests.benchmarks.long_film``. What is measured, each in the page's own clock:

- from asking for the page until the picture and the times of all frames are there;
- from a press on the timeline until the frame that was asked for is on the screen (a press to the picture's callback);
- how often a second the playhead moves while the film plays above six curves, and the longest pause;
- from the key that sets a mark until the page says that all is kept, on a step that was not graded yet, as it is when
  one marks; and on one whose values are uncovered, so that six measures are worked out anew with each change;
- from the key that keeps a comment until somebody else's window shows it;
- the heap after so many minutes of going to steps, grading, marking, undoing, looking closer and playing.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import math
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from review.domain.model import Recording
from tests.benchmarks.review_home import CURVED_STEP, PLAIN_STEP, STEPS, make
from tests.screens import serving

SIZE = {"width": 1366, "height": 768}
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--js-flags=--expose-gc"]

GOALS = {
    "ready_s": ("page ready", "s", 2.5, "at most"),
    "click_ms": ("press to shown frame", "ms", 150.0, "at most"),
    "playhead_hz": ("playhead", "/s", 59.0, "at least"),
    "mark_ms": ("mark to stored", "ms", 300.0, "at most"),
    "measured_mark_ms": ("with six measures shown", "ms", None, ""),
    "seen_s": ("another's comment seen", "s", 3.0, "at most"),
    "heap_mb": ("heap after use", "MB", 60.0, "at most"),
}
"""Of each figure: its name, unit and goal; 60 frames a second are never counted as quite 60."""

FIND = """
    window.find = (wanted, root = document) => root.querySelector(wanted) ??
        [...root.querySelectorAll("*")].map((one) => one.shadowRoot && find(wanted, one.shadowRoot)).find(Boolean);
"""

READY = """() => {
    const [film, frame] = ["[data-testid=video]", "[data-testid=frame]"].map((one) => window.find(one));
    const there = film?.readyState >= 2 && / of [1-9]/.test(frame?.textContent ?? "") && window.find("button.mark");
    return there ? performance.now() : false;
}"""

SHOWN = """() => new Promise((answer) => {
    const film = window.find("[data-testid=video]");
    window.addEventListener("pointerdown", (press) => {
        let [last, arrived] = [null, false];
        const frame = (now, { mediaTime }) => {
            last = [now, mediaTime];
            if (arrived) answer(now - press.timeStamp);
            else film.requestVideoFrameCallback(frame);
        };
        film.requestVideoFrameCallback(frame);
        film.addEventListener("seeked", () => {
            arrived = true;
            if (last && Math.abs(last[1] - film.currentTime) < 0.2) answer(last[0] - press.timeStamp);
        }, { once: true });
    }, { once: true, capture: true });
})"""
"""Measures from the next press to the first frame of where it leads; a browser may tell of it before it has arrived."""

GLIDE = """(seconds) => new Promise((answer) => {
    const head = window.find(".timeline-time > .playhead").getAnimations()[0];
    const [begin, pauses] = [performance.now(), []];
    let [last, moved] = [head.currentTime, begin];
    const look = (now) => {
        if (head.currentTime !== last) {
            pauses.push(now - moved);
            [last, moved] = [head.currentTime, now];
        }
        if (now - begin < 1000 * seconds) requestAnimationFrame(look);
        else answer([pauses.length / (now - begin) * 1000, Math.max(...pauses.slice(1))]);
    };
    requestAnimationFrame(look);
})"""

KEPT = """() => new Promise((answer) => {
    const status = window.find("[data-testid=status]");
    window.addEventListener("keydown", (press) => {
        const watch = new MutationObserver(() => {
            if (status.textContent !== "All kept") return;
            watch.disconnect();
            answer(performance.now() - press.timeStamp);
        });
        watch.observe(status, { childList: true, characterData: true, subtree: true });
    }, { once: true, capture: true });
})"""


@contextlib.contextmanager
def browser() -> Iterator[Any]:
    """Start the system's browser."""
    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        yield chromium
        chromium.close()


def opened(chromium: Any, address: str, recording: Recording, person: str = "L-07") -> tuple[Any, float]:
    """Open the page as a person in a fresh window; return it and the seconds until it is ready."""
    context = chromium.new_context(viewport=SIZE)
    context.add_init_script(FIND)
    page = context.new_page()
    page.goto(f"{address}/review?recording={recording.id}&as={person}", wait_until="commit")
    ready = page.wait_for_function(READY, timeout=120_000, polling=20)
    return page, ready.json_value() / 1000


def armed(page: Any, code: str, deed: Callable[[], object]) -> float:
    """Have the page wait for something, do it, and return what the page measured; infinite after half a minute."""
    patience = "new Promise((answer) => setTimeout(() => answer(null), 30000))"
    page.evaluate(f"() => {{ window.measured = Promise.race([({code})(), {patience}]); }}")
    deed()
    took: float | None = page.evaluate("window.measured")
    return math.inf if took is None else took


def presses(page: Any, count: int) -> list[float]:
    """Press at random places of the ruler."""
    box = page.locator(".scrub").bounding_box()
    places = [box["x"] + box["width"] * random.uniform(0.02, 0.98) for _ in range(count)]
    y = box["y"] + box["height"] / 2
    return [armed(page, SHOWN, lambda x=x: page.mouse.click(x, y)) for x in places]


def take(page: Any, key: str) -> None:
    """Take a step in hand."""
    page.locator(f'[data-testid="row"][data-key="{key}|"] .row-title').click()
    page.locator(f'[data-testid="row"][data-key="{key}|"].in-hand').wait_for()


def glide(page: Any, seconds: float) -> tuple[float, float]:
    """Play above six curves; return how often a second the playhead moved, and the longest pause in ms."""
    take(page, CURVED_STEP)
    page.keyboard.press("1")
    page.keyboard.press("Shift+2")
    page.locator(".curve canvas").nth(5).wait_for(timeout=60_000)
    page.wait_for_function(
        "() => [window.find('.curves')].every((one) => !/Fetching/.test(one.textContent))", timeout=120_000
    )
    page.keyboard.press("Space")
    page.wait_for_timeout(1000)
    rate, pause = page.evaluate(GLIDE, seconds)
    page.keyboard.press("Space")
    return rate, pause


def kept(page: Any, count: int) -> list[float]:
    """Set the end of a mark again and again, each a little later."""
    took = []
    for _ in range(count):
        page.keyboard.press("Shift+ArrowRight")
        page.wait_for_timeout(150)
        took.append(armed(page, KEPT, lambda: page.keyboard.press("]")))
    return took


def seen(one: Any, other: Any, count: int) -> list[float]:
    """Comment on the plain step in one window; return after how many seconds each stood in another person's window."""
    take(one, PLAIN_STEP)
    take(other, PLAIN_STEP)
    other.keyboard.press("1")
    other.keyboard.press("Shift+1")
    other.get_by_role("tab", name="Comments").click()
    took = []
    for number in range(count):
        one.keyboard.press("c")
        one.get_by_test_id("comment-box").fill(f"Remark {number} of {count}.")
        begun = one.evaluate("Date.now()")
        one.keyboard.press("Enter")
        shown = f"() => window.find('.all-comments').textContent.includes('Remark {number} of {count}.') && Date.now()"
        took.append((other.wait_for_function(shown, polling=20, timeout=60_000).json_value() - begun) / 1000)
        one.wait_for_timeout(random.uniform(200, 1200))
    return took


def heap_mb(page: Any) -> float:
    """Heap in use after what can be collected is collected."""
    session = page.context.new_cdp_session(page)
    for _ in range(2):
        session.send("HeapProfiler.collectGarbage")
    used: float = session.send("Runtime.getHeapUsage")["usedSize"]
    session.detach()
    return used / 1e6


def use(page: Any, minutes: float) -> int:
    """Use the page as a person would, only faster; return how many things were done."""
    until, count = time.monotonic() + 60 * minutes, 0
    overview = page.get_by_test_id("timeline-closer")
    while time.monotonic() < until:
        take(page, f"step_{random.randint(1, STEPS)}")
        for key in random.choices(["1", "2", "Shift+2", "]", "u", "Shift+U", "Space", "z", ".", "t"], k=6):
            page.keyboard.press(key)
            page.wait_for_timeout(120)
        overview.click()
        page.keyboard.press("Escape")
        count += 8
    return count


def figures(film: Path, root: Path, minutes: float) -> dict[str, float]:
    """Measure everything on one film."""
    random.seed(1)
    told("the home is made")
    home, recording = make(root, film)
    with serving(home) as address, browser() as chromium:
        ready = []
        for _ in range(4):
            page, seconds = opened(chromium, address, recording)
            told(f"the page is ready after {seconds:.2f} s")
            ready.append(seconds)
            page.context.close()
        page, _ = opened(chromium, address, recording)
        found = {"ready_s": statistics.median(ready[1:]), "ready_first_s": ready[0], "heap_before_mb": heap_mb(page)}
        told("the timeline is pressed")
        found |= spread("click", presses(page, 40))
        told("the film is played above six curves")
        found["playhead_hz"], found["playhead_longest_ms"] = glide(page, 10)
        told("a mark is set again and again")
        found |= spread("measured_mark", kept(page, 8))
        take(page, PLAIN_STEP)
        found |= spread("mark", kept(page, 15))
        told("a second person looks on while comments are written")
        other, _ = opened(chromium, address, recording, "I-02")
        times = seen(page, other, 15)
        found |= {"seen_s": statistics.median(times), "seen_longest_s": max(times)}
        other.context.close()
        told(f"the page is used for {minutes:g} minutes")
        found["deeds"] = float(use(page, minutes))
        found["heap_mb"] = heap_mb(page)
        page.context.close()
    return found


def told(words: str) -> None:
    """Say what is being done."""
    print(words, file=sys.stderr, flush=True)


def spread(name: str, took_ms: list[float]) -> dict[str, float]:
    """Return median and 95th percentile of a list of times."""
    return {f"{name}_ms": statistics.median(took_ms), f"{name}_p95_ms": statistics.quantiles(took_ms, n=20)[-1]}


def table(found: dict[str, float]) -> str:
    """Say each figure with its goal."""
    lines = []
    for key, value in found.items():
        name, unit, goal, way = GOALS.get(key, (key, "", None, ""))
        if goal is None:
            lines.append(f"{name:<24}{value:9.2f}")
            continue
        good = value <= goal if way == "at most" else value >= goal
        lines.append(f"{name:<24}{value:9.2f} {unit:<4}{way} {goal:g}: {'reached' if good else 'missed'}")
    return "\n".join(lines)


def main() -> None:
    """Print the figures of a film."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("film", type=Path)
    parser.add_argument("--minutes", type=float, default=10.0, help="how long the page is used before its heap is read")
    parser.add_argument("--home", type=Path, help="where the home is kept for the next run")
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="review_page") as folder:
        found = figures(args.film, args.home or Path(folder) / "home", args.minutes)
    print(json.dumps(found) if args.json else table(found))
    sys.stdout.flush()


if __name__ == "__main__":
    main()
