"""How soon each page shows its content for a class of sixty, in a real browser.

Run: ``python -m tests.benchmarks.class_pages FOLDER``. The class is made there once, as ``runthrough demo --class``
makes it. Timed is by the page's own clock until the frame in which the content is there, with the browser's cache warm:
from a *cold* address, which starts the framework anew, from the moment the browser goes there; and from *inside*, from
the click on the page's name. (Playwright's own waiting looks less often the longer it waits, at last twice a second.)
Beside it stand the server's seconds of computing, of which other work on the machine makes no more, and what other work
there was.
"""

from __future__ import annotations

import argparse
import os
import statistics
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import psutil
from playwright.sync_api import sync_playwright

from review.domain.model import Person
from tests.benchmarks.raters_class import make
from tests.dashboards import copy_on_demand
from tests.screens import serving

PAGES: Final = {
    "Recordings": ("/?as={code}", '[data-testid="recording"]'),
    "Review": ("/review?recording={recording}&as={code}", '[data-testid="row"]'),
    "Compare": ("/compare?as={code}", '[data-testid="grades"]'),
    "Progress": ("/progress?as={code}", '[data-testid="course"]'),
    "Class": ("/class?as={code}", '[data-testid="waiting"]'),
    "Checklists": ("/checklists?as={code}", '[data-testid="sheet"]'),
    "Filming guide": ("/filming?as={code}", "[data-guide] h2"),
    "Privacy": ("/privacy?as={code}", "[data-privacy] h2"),
}
_NOTE_CLICK: Final = (
    "() => addEventListener('click', () => { window.clicked = performance.now(); }, {capture: true, once: true})"
)
_SINCE: Final = """([wanted, inside]) => {
  const seen = (root) => [...root.querySelectorAll(wanted)].some((one) => one.getBoundingClientRect().height > 0) ||
    [...root.querySelectorAll("*")].some((one) => one.shadowRoot && seen(one.shadowRoot));
  return seen(document) && performance.now() - (inside ? window.clicked : 0);
}"""
"""How many milliseconds ago the browser set out, once the content has a place on the page."""

CHROMIUM: Final = Path("/usr/bin/chromium")
PATIENCE_MS: Final = 60_000
_SETTLE_MS: Final = 1_000
"""Until a page that was left is silent, and until what comes in after the content is counted with it."""

Visit = tuple[float, float]
"""Seconds until the content was there, and seconds the server computed."""


def main() -> None:
    """Print the median and the slowest of some visits of each page, for a learner and for an instructor."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("home", type=Path, help="folder of the class, made there if need be")
    parser.add_argument("--visits", type=int, default=5, help="how often each page is visited")
    args = parser.parse_args()
    home, cast, newest = make(args.home)
    with serving(home) as address, sync_playwright() as play:
        place = str(CHROMIUM) if CHROMIUM.exists() else None
        browser = play.chromium.launch(executable_path=place, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": 1366, "height": 768})
        for person in (cast.learners[0], cast.instructors[0]):
            _measure(page, address, person, newest.id, args.visits)
        browser.close()


def _measure(page: Any, address: str, person: Person, recording: str, visits: int) -> None:
    for name, (path, content) in PAGES.items():
        if name == "Class" and person.role == "learner":
            continue
        asked = f"{address}{path.format(code=person.code, recording=recording)}"
        _cold(page, asked, content)
        cold = [_cold(page, asked, content) for _ in range(visits)]
        inside = [_inside(page, name, content) for _ in range(visits)]
        load = os.getloadavg()[0]
        print(f"{person.code:<8}{name:<15}cold {_told(cold)}   inside {_told(inside)}   load {load:.1f}", flush=True)


def _told(visits: list[Visit]) -> str:
    waited, computed = zip(*visits, strict=True)
    return f"{statistics.median(waited):.2f} s, slowest {max(waited):.2f}, computing {statistics.median(computed):.2f}"


def _cold(page: Any, address: str, content: str) -> Visit:
    """Leave the page before, then go to an address."""
    page.goto("about:blank")
    page.wait_for_timeout(_SETTLE_MS / 2)
    return _timed(page, lambda: page.goto(address, wait_until="commit"), content, inside=False)


def _inside(page: Any, name: str, content: str) -> Visit:
    """Go to another page of the running app, then click on the page's name."""
    other = "Checklists" if name == "Filming guide" else "Filming guide"
    _timed(page, lambda: _click(page, other), PAGES[other][1], inside=True)
    return _timed(page, lambda: _click(page, name), content, inside=True)


def _click(page: Any, name: str) -> None:
    page.evaluate(_NOTE_CLICK)
    page.get_by_role("link", name=name, exact=True).first.click()


def _timed(page: Any, go: Callable[[], Any], content: str, inside: bool) -> Visit:
    computed = _computed()
    go()
    waited = page.wait_for_function(_SINCE, arg=[content, inside], polling="raf", timeout=PATIENCE_MS).json_value()
    page.wait_for_timeout(_SETTLE_MS)
    return waited / 1000, _computed() - computed


def _computed() -> float:
    """Return the seconds that the server computed so far, with the processes it started."""
    begun = psutil.Process().children()
    servers = [one for one in begun if copy_on_demand.__name__ in " ".join(one.cmdline())]
    found = 0.0
    for one in [*servers, *(child for server in servers for child in server.children(recursive=True))]:
        spent = one.cpu_times()
        found += spent.user + spent.system
    return found


if __name__ == "__main__":
    main()
