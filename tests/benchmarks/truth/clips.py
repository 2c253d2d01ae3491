"""The films of the truth studio, each with its truth and its tracks."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import xarray as xr

from review.actions import checklists, people
from review.actions.recordings import add
from review.domain.model import Role
from review.pipeline.analyse import analyse
from review.store.home import Home
from review.store.repository import repository


@dataclass(frozen=True)
class Clip:
    """A film whose truth is known: who is seen how (`about`), and what measures should say of it (`checks`)."""

    name: str
    film: Path
    about: dict[str, str]
    height_mm: float | None
    checks: list[dict[str, Any]]

    @property
    def person(self) -> str:
        """Which body is seen; biases are learned across bodies."""
        return self.about["person"]


def clips_in(folder: Path) -> list[Clip]:
    """Return the films of a folder that are whole, by name."""
    found = []
    for path in sorted(folder.glob("*.truth.json")):
        film = path.with_name(path.name.removesuffix(".truth.json") + ".mp4")
        known = json.loads(path.read_text("utf-8"))
        if film.exists() and known.get("checks"):
            about = {key: str(value) for key, value in known["about"].items()}
            found.append(Clip(film.stem, film, about, known.get("height_mm"), known["checks"]))
    return found


def with_tracks(home: Home, clips: list[Clip]) -> Iterator[tuple[Clip, xr.Dataset]]:
    """Analyse films that are not analysed yet, and give each with its tracks."""
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
    for clip in clips:
        yield clip, analyse(home, add(home, learner, clip.film, partner_height_mm=clip.height_mm)).load()
