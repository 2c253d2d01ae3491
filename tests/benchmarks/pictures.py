"""Pictures of every state of the pages, for people to look at: `docs/screens.md` and `docs/screens/`.

Run: ``python -m tests.benchmarks.pictures [--home FOLDER] [--out docs]``

The packaged clips are loaded with the demo's story and analysed, as ``runthrough demo`` does it, in a home of their own
(`FOLDER` keeps it for the next run, which then takes a minute); what the states need beside that is added: a later
attempt with an exemplar, one that is being analysed, one whose analysis was stopped, one whose film is gone. Then all
states are gone to in a real browser, light and dark, and some of them on a tablet. Pictures are WebP, small enough to
be kept with the project.
"""

from __future__ import annotations

import argparse
import os
import re
import tempfile
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import cv2
import numpy as np
from playwright.sync_api import sync_playwright

import sample_clips
from review.actions import comments, demo, exemplars, marks, phrases, recordings
from review.actions.recordings import start_analysis
from review.domain.model import Person, Recording
from review.pipeline.dispatch import Dispatcher
from review.report.recordings import unfinished
from review.store.home import Home, find_home
from review.store.media import media_folder
from review.store.repository import Repository, repository
from tests.benchmarks.long_film import write
from tests.e2e.states import STATES, WALKS, Scene
from tests.screens import serving

CLIPS: Final = Path(sample_clips.__file__).parent
SHEET, SHOWN, COVERED, PLAIN = "balance_only", "eyes_open", "eyes_closed", "result"
LAPTOP, TABLET, UPRIGHT = (1366, 768), (1024, 768), (768, 1024)
ON_TABLETS: Final = {
    "uncovered-dark": TABLET,
    "exemplar-light": TABLET,
    "comment-dark": TABLET,
    "landmarks-light": UPRIGHT,
    "earlier-attempt-dark": UPRIGHT,
}
MOST_BYTES: Final = 80_000
MOST_BYTES_IN_ALL: Final = 1_500_000
QUALITIES: Final = (40, 32, 28, 25, 22, 20)
SHARE: Final = 0.75
TRIES: Final = {
    "running": ("knee", 12.0, "Fenwick Shore, the knee again"),
    "stopped": ("face", 13.0, "Fenwick Shore, the face again"),
    "lost": ("romberg", 8.0, "Fenwick Shore, a short try"),
}
"""Of each state: the clip that is cut for it, to how many seconds, and what it is called."""


def furnish(root: Path) -> tuple[Home, dict[str, str]]:
    """Load and analyse the demo in a home, and add what the states need; return the home and ids by what they show."""
    home = find_home(root)
    learner, loaded = demo.load(home)
    later = recordings.add(home, learner, CLIPS / "crossing.mp4", checklist_id=SHEET, name="Fenwick Shore, second try")
    for recording in unfinished(home, learner, [*loaded, later]):
        start_analysis(home, learner, recording.id)
    Dispatcher(home).run()
    ids = {"film": loaded[0].id, "later": later.id}
    with repository(home) as repo:
        if not repo.marks(later.id):
            _say(repo, learner, loaded[0], later)
    with tempfile.TemporaryDirectory() as folder:
        for state, (clip, seconds, name) in TRIES.items():
            film = Path(folder) / f"{state}.mp4"
            write(film, [CLIPS / f"{clip}.mp4"], (640, 360), seconds)
            added = recordings.add(home, learner, film, checklist_id=SHEET, name=name)
            _put(home, added, state)
            ids[state] = added.id
    return home, ids


def _say(repo: Repository, learner: Person, film: Recording, later: Recording) -> None:
    """Mark the later attempt, give its step an exemplar, settle a comment, keep two phrases."""
    instructor = next(person for person in repo.people() if person.code == "I-02")
    marks.place(repo, learner, later, COVERED, None, 12.8, 18.5)
    exemplars.attach(repo, instructor, later, str(uuid.uuid4()), COVERED, None, film, 24.5, 45.0)
    said = comments.write(repo, instructor, film, 9.5, None, "Blinks are fine; the eyes stay open.", SHOWN)
    comments.reply(repo, learner, said.id, "Good to know.")
    settled = comments.write(repo, learner, film, 6.0, 8.0, "Is the stance narrow enough here?", SHOWN)
    comments.resolve(repo, instructor, settled.id, True)
    for text in ("Within arm's reach.", "Say the finding aloud."):
        phrases.keep(repo, learner, str(uuid.uuid4()), text)


def _put(home: Home, recording: Recording, state: str) -> None:
    """Put a recording into a state in which the clips themselves are not."""
    if state == "lost":
        for path in media_folder(home, recording.sha256).glob("*.mp4"):
            path.unlink()
    with repository(home) as repo:
        job = repo.job(recording.id)
        if job is None:
            raise LookupError(f"{recording.name} was not put into the queue")
        stage, left_s = ("Looking at body, face and hands", 50.0) if state == "running" else ("", None)
        told = "running" if state == "running" else "stopped"
        repo.put_job(replace(job, state=told, done=job.total * 2 // 5, stage=stage, left_s=left_s, pid=os.getpid()))


def shots(chromium: Any, scene: Scene, scheme: str) -> Iterator[tuple[str, bytes]]:
    """Go to all states; give the name of each picture, and the picture as PNG."""
    for walk in WALKS:
        context = chromium.new_context(viewport=_size(LAPTOP), color_scheme=scheme)
        page = context.new_page()
        for state in walk(page, scene):
            name = f"{state}-{scheme}"
            yield name, _shot(page)
            if name in ON_TABLETS:
                page.set_viewport_size(_size(ON_TABLETS[name]))
                yield f"{name}-{ON_TABLETS[name][0]}", _shot(page)
                page.set_viewport_size(_size(LAPTOP))
        context.close()


def _size(size: tuple[int, int]) -> dict[str, int]:
    return {"width": size[0], "height": size[1]}


def _shot(page: Any) -> bytes:
    """Take a picture once the page has come to rest: stills and curves have arrived."""
    page.wait_for_timeout(800)
    page.wait_for_function(ALL_STILLS, timeout=120_000)
    page.wait_for_timeout(400)
    picture: bytes = page.screenshot()
    return picture


ALL_STILLS: Final = """() => {
    const roots = [document];
    const within = (root) => [...root.querySelectorAll("*")].map((one) => one.shadowRoot).filter(Boolean);
    for (const root of roots) roots.push(...within(root));
    const stills = roots.flatMap((root) => [...root.querySelectorAll("img")]);
    return stills.every((one) => one.complete || !one.checkVisibility());
}"""
"""Whether every still in the page has come."""


def small(pngs: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return pictures as WebP, three quarters of their size, all as good as `MOST_BYTES_IN_ALL` let them be."""
    wholes = {name: cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_COLOR) for name, png in pngs.items()}
    for quality in QUALITIES:
        webps = {name: _webp(whole, quality) for name, whole in wholes.items()}
        if sum(map(len, webps.values())) <= MOST_BYTES_IN_ALL and max(map(len, webps.values())) <= MOST_BYTES:
            print(f"quality {quality}")
            return webps
    raise ValueError(f"{len(pngs)} pictures do not fit into {MOST_BYTES_IN_ALL} bytes; take fewer, or smaller ones.")


def _webp(whole: Any, quality: int) -> bytes:
    picture = cv2.resize(whole, None, fx=SHARE, fy=SHARE, interpolation=cv2.INTER_AREA)
    _, data = cv2.imencode(".webp", picture, [cv2.IMWRITE_WEBP_QUALITY, quality])
    return bytes(data)


def page_of(names: Mapping[str, list[str]]) -> str:
    """Write the page that shows the pictures: a sentence a state, its pictures below."""
    parts = [HEAD]
    for state, sentence in STATES.items():
        pictures = "\n".join(f"![{name.replace('-', ' ')}](screens/{name}.webp)" for name in names[state])
        parts.append(f"## {state.replace('-', ' ').capitalize()}\n\n{sentence}\n\n{pictures}\n")
    return "\n".join(parts)


HEAD: Final = """# The screens

Every state of the pages, light and dark on a laptop of 1366 by 768 px, and some of them on a tablet of 1024 or 768 px,
all at three quarters of their size. The films are rendered, the people and what they say are made up. Taken anew by
`python -m tests.benchmarks.pictures`; axe-core looks at the same states in `tests/e2e/test_accessible.py`.
"""


def main() -> None:
    """Take all pictures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--home", type=Path, help="where the home is kept for the next run")
    parser.add_argument("--out", type=Path, default=Path("docs"))
    args = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="fenwick-shore-") as folder:
        home, ids = furnish(args.home or Path(folder) / "home")
        with serving(home) as address, serving(find_home(Path(folder) / "empty")) as empty, sync_playwright() as play:
            scene = Scene(address, empty, **ids, shown=f"{SHOWN}|", covered=f"{COVERED}|", plain=f"{PLAIN}|")
            browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"])
            take_all(browser, scene, args.out)
            browser.close()


def take_all(browser: Any, scene: Scene, out: Path) -> None:
    """Take all pictures into a folder, and write the page that shows them."""
    (out / "screens").mkdir(parents=True, exist_ok=True)
    pngs: dict[str, bytes] = {}
    for scheme in ("light", "dark"):
        for name, png in shots(browser, scene, scheme):
            pngs[name] = png
            print(name, flush=True)
    names: dict[str, list[str]] = {state: [] for state in STATES}
    for name, webp in small(pngs).items():
        (out / "screens" / f"{name}.webp").write_bytes(webp)
        names[re.split("-(?:light|dark)", name)[0]].append(name)
    (out / "screens.md").write_text(page_of(names), encoding="utf-8")


if __name__ == "__main__":
    main()
