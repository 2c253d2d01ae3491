"""The films of the truth studio, each with its truth and its tracks."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import xarray as xr
from tqdm import tqdm

from review.actions import checklists, people
from review.actions.pointings import point
from review.actions.recordings import add
from review.domain.model import Person, Recording, Role
from review.pipeline.analyse import ask
from review.pipeline.dispatch import Dispatcher
from review.store.home import Home
from review.store.repository import repository
from review.store.trackstore import TrackStore


@dataclass(frozen=True)
class Clip:
    """A film whose truth is known: who is seen how (`about`), and what measures should say of it (`checks`).

    Where somebody points at the examined person before it is analysed, `pointing` says when and where (``time_s``,
    and ``x``, ``y`` as shares of the picture).
    """

    name: str
    film: Path
    about: dict[str, str]
    height_mm: float | None
    checks: list[dict[str, Any]]
    pointing: dict[str, float] | None = None

    @property
    def truth(self) -> Path:
        """The file with the truth."""
        return self.film.with_name(f"{self.name}.truth.json")

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
            found.append(Clip(film.stem, film, about, known.get("height_mm"), known["checks"], known.get("pointing")))
    return found


def with_tracks(home: Home, clips: list[Clip]) -> list[tuple[Clip, xr.Dataset]]:
    """Analyse the films that are not analysed yet, all in one go, and give each with its tracks."""
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
    recordings = [add(home, learner, clip.film, partner_height_mm=clip.height_mm) for clip in _shown(clips, "added")]
    for clip, recording in zip(clips, recordings, strict=True):
        _point(home, learner, clip, recording)
        ask(home, recording)
    with tqdm(total=len(clips), desc="analysed", unit="film", disable=None) as bar:
        Dispatcher(home, told=lambda recording_id, done, total: bar.update(done == total)).run()
    tracks = [TrackStore(home, recording.id).open().load() for recording in recordings]
    return list(zip(clips, tracks, strict=True))


def _point(home: Home, learner: Person, clip: Clip, recording: Recording) -> None:
    """Point at the examined person, unless that was done before."""
    with repository(home) as repo:
        if clip.pointing and not repo.pointings(recording.id):
            point(repo, learner, recording, clip.pointing["time_s"], clip.pointing["x"], clip.pointing["y"])


def _shown(clips: list[Clip], words: str) -> Iterable[Clip]:
    return tqdm(clips, desc=words, unit="film", disable=None)
