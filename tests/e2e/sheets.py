"""A made-up sheet of twelve steps, and a home with a film to go through it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from review.actions import checklists, people, recordings
from review.domain.model import Person, Recording, Role
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.trackstore import TrackStore
from tests.e2e.coded import even_ms, write_coded
from tests.synthetic import clock, standing, with_picture

STEPS = 12
FILM_S = 20.0
HEAD = """
id = "twelve_steps"
version = 1
title = "Fenwick Shore, twelve steps"
summary = "Twelve short steps."
notice = "Practice feedback, not a diagnosis."

[scale]
name = "Three levels"
not_assessable = "cannot be judged"
levels = [
    { key = "done", word = "done", share = 1 },
    { key = "partly", word = "partly", share = 0.5 },
    { key = "missed", word = "missed", share = 0 },
]
"""
TARGET = 'targets = [{ measure = "stance_width", high = 0.45, unit = "1", source = "common practice, no source" }]'


def sheet(measured: Sequence[int], rule: str = "", criteria: str = "") -> str:
    """Return the sheet: two sections of six steps; the stance is expected narrow in those `measured`, from 0.

    The first step has the `criteria`.
    """
    parts = [HEAD + rule]
    for number in range(STEPS):
        if number % 6 == 0:
            parts.append(f'[[section]]\nid = "part_{number // 6}"\ntitle = "Part {number // 6 + 1}"\n')
        parts.append(
            f'[[section.step]]\nid = "step_{number + 1}"\ntitle = "Step number {number + 1}"\n'
            f'action = "Do it."\nexpected = "It is seen."\ncaution = "Stand guard."\npoints = 1\n'
            f"{TARGET if number in measured else ''}\n{criteria if number == 0 else ''}\n"
        )
    return "\n".join(parts)


def furnish(
    folder: Path, measured: Sequence[int] = (2,), rule: str = "", criteria: str = ""
) -> tuple[Home, Recording, dict[str, Person]]:
    """Make a home with the sheet, a learner, a peer, an instructor, and a film of 20 s whose frames name themselves."""
    home = find_home(folder / "home")
    roles = {"L-07": Role.LEARNER, "L-12": Role.PEER, "I-02": Role.INSTRUCTOR}
    with repository(home) as repo:
        checklists.install_shipped(repo)
        cast = {code: people.ensure(repo, code, role) for code, role in roles.items()}
        text = folder / "twelve_steps.toml"
        text.write_text(sheet(measured, rule, criteria), "utf-8")
        checklists.save(repo, cast["I-02"], text)
    film = write_coded(folder / "film.mp4", even_ms(FILM_S))
    return home, recordings.add(home, cast["L-07"], film, checklist_id="twelve_steps", name="Coded"), cast


def look(home: Home, recording: Recording) -> None:
    """Keep tracks of a person who stands with the feet together for ten seconds, then apart."""
    times = clock(FILM_S)
    tracks = with_picture(standing(times, stance=np.where(times < FILM_S / 2, 0.3, 1.0)))
    store = TrackStore(home, recording.id)
    store.create(tracks)
    store.write(0, tracks, ["pose", "picture"])
    store.mark_done("all")
