"""Every page and state against axe-core's rules (WCAG 2.2 among them), light and dark, on a laptop and on tablets."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from review.actions import comments, exemplars, grades, marks, phrases, recordings
from review.actions.shapes import read_shape
from review.domain.model import Person, Recording
from review.store.database import open_database
from review.store.home import Home, find_home
from review.store.media import media_folder
from review.store.repository import Repository, repository
from review.store.vault import erase_stowed
from tests.crowds import seen_together
from tests.e2e.coded import even_ms, write_coded
from tests.e2e.rules import WIDE, broken, broken_at, held
from tests.e2e.sheets import furnish, look
from tests.e2e.states import STATES, WALKS, Scene, Walk
from tests.screens import serving

pytestmark = pytest.mark.browser

SHOWN, COVERED, PLAIN = "step_3", "step_9", "step_12"
EXEMPLAR = "5a1d8f0a-8f5e-4a43-9a0b-0c9c3c1d2e4f"
TABLETS = ((1024, 768), (768, 1024))
EVERYWHERE = {"uncovered", "landmarks", "comment", "exemplar"}
"""States that are looked at on tablets as well."""


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scene]:
    """Serve a home with recordings in all states, and one without any."""
    folder = tmp_path_factory.mktemp("accessible")
    home, film, cast = furnish(folder, measured=(2, 8))
    look(home, film)
    with repository(home) as repo:
        _say(repo, film, cast)
    names = ("later", "running", "stopped", "lost")
    rest = {name: _attempt(folder, home, cast["L-07"], name, 3 + at) for at, name in enumerate(names)}
    with repository(home) as repo:
        marks.place(repo, cast["L-07"], rest["later"], COVERED, None, 0.5, 2.5)
        exemplars.attach(repo, cast["I-02"], rest["later"], EXEMPLAR, COVERED, None, film, 10.0, 14.0)
        for name in ("running", "stopped"):
            job = repo.job(rest[name].id)
            assert job is not None
            repo.put_job(replace(job, state=name, done=job.total // 2, stage="Looking", left_s=40.0, pid=os.getpid()))
    seen_together(home, rest["later"])
    for path in media_folder(home, rest["lost"].sha256).glob("*.mp4"):
        path.unlink()
    erase_stowed(home, rest["lost"].sha256)
    nobodys = find_home(folder / "empty")
    open_database(nobodys)
    ids = {name: recording.id for name, recording in rest.items()}
    with serving(home) as address, serving(nobodys) as empty:
        yield Scene(address, empty, film.id, **ids, shown=f"{SHOWN}|", covered=f"{COVERED}|", plain=f"{PLAIN}|")


def _say(repo: Repository, film: Recording, cast: dict[str, Person]) -> None:
    """Let the learner mark two steps and grade one; the others speak of both, and one comment is settled."""
    learner, peer, instructor = (cast[code] for code in ("L-07", "L-12", "I-02"))
    for step, onset_s, offset_s in ((SHOWN, 1.0, 9.0), (COVERED, 10.0, 18.0)):
        marks.place(repo, learner, film, step, None, onset_s, offset_s)
        marks.place(repo, instructor, film, step, None, onset_s + 0.2, offset_s)
        grades.give(repo, instructor, film, step, None, "partly", confidence=3)
        said = comments.write(repo, instructor, film, onset_s, None, "Nearer.", step, shape=read_shape(CIRCLE))
        comments.reply(repo, learner, said.id, "Next time.")
    grades.give(repo, learner, film, SHOWN, None, "done", confidence=2)
    settled = comments.write(repo, peer, film, 4.0, 6.0, "Feet closer.", SHOWN)
    comments.resolve(repo, learner, settled.id, True)
    phrases.keep(repo, learner, EXEMPLAR, "Say the finding.")


CIRCLE = {"kind": "circle", "x": 0.5, "y": 0.5, "x2": 0.6, "y2": 0.5}


def _attempt(folder: Path, home: Home, learner: Person, name: str, seconds: float) -> Recording:
    """Add another short film of the learner's."""
    film = write_coded(folder / f"{name}.mp4", even_ms(seconds))
    return recordings.add(home, learner, film, checklist_id="twelve_steps", name=f"Attempt, {name}")


@pytest.mark.parametrize("walk", WALKS, ids=lambda walk: walk.__name__)
def test_every_state_keeps_the_rules(chromium: Any, scene: Scene, walk: Walk) -> None:
    """On a laptop every state is looked at; on tablets those laid out otherwise; none does what its policy forbids."""
    page = chromium.new_page(viewport=dict(zip(("width", "height"), WIDE, strict=True)))
    wrong: dict[str, list[str]] = {}
    page.on("console", lambda said: wrong.update({said.text: []}) if "Content Security Policy" in said.text else None)
    for state in walk(page, scene):
        assert state in STATES
        found = broken_at(page, *TABLETS, WIDE) if state in EVERYWHERE else broken(page)
        wrong |= {state: found} if found else {}
    page.close()
    assert wrong == {}


def test_an_unknown_address_keeps_the_rules(chromium: Any, scene: Scene) -> None:
    """The address of no page: the framework lays a dialog over the first one, in which axe-core judges no colours."""
    page = chromium.new_page()
    page.goto(f"{scene.address}/nowhere")
    page.get_by_text("not found").first.wait_for(timeout=60_000)
    assert held(page, {})[0] == []
    page.close()
