"""How soon each page shows its content for a class of sixty, in a real browser.

Run: ``python -m tests.benchmarks.class_pages FOLDER``. The class is made there once, as ``runthrough demo --class``
makes it. Timed is from the navigation until the content is there, with the browser's cache warm.
"""

from __future__ import annotations

import argparse
import statistics
import time
from pathlib import Path
from typing import Any, Final

from playwright.sync_api import sync_playwright

from tests.benchmarks.raters_class import make
from tests.screens import serving

PAGES: Final = {
    "recordings": ("/?as={code}", '[data-testid="recording"]'),
    "review": ("/review?recording={recording}&as={code}", '[data-testid="row"]'),
    "compare": ("/compare?as={code}", '[data-testid="grades"]'),
    "progress": ("/progress?as={code}", '[data-testid="course"]'),
    "class": ("/class?as={code}", '[data-testid="waiting"]'),
    "checklists": ("/checklists?as={code}", '[data-testid="sheet"]'),
    "filming": ("/filming?as={code}", "text=Whole body"),
}
CHROMIUM: Final = Path("/usr/bin/chromium")
PATIENCE_MS: Final = 60_000


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
        for code in (cast.learners[0].code, cast.instructors[0].code):
            for name, (path, content) in PAGES.items():
                if name == "class" and code.startswith("L"):
                    continue
                visit = f"{address}{path.format(code=code, recording=newest.id)}"
                _visit(page, visit, content)
                spent = [_visit(page, visit, content) for _ in range(args.visits)]
                print(f"{code:<8}{name:<12}median {statistics.median(spent):.2f} s, slowest {max(spent):.2f} s")
        browser.close()


def _visit(page: Any, address: str, content: str) -> float:
    """Leave the page before, then go to an address; return the seconds until its content is there."""
    page.goto("about:blank")
    page.wait_for_timeout(500)
    start = time.perf_counter()
    page.goto(address, wait_until="commit")
    page.locator(content).first.wait_for(timeout=PATIENCE_MS)
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
