"""Draws an attempt that was spoken and puts its sound under the pictures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from pathlib import Path

from ..casting import CAST
from ..encode import add_sound, write_film
from ..film import Set
from ..renderer import Picture
from ..shooting import Shoot
from . import truth
from .attempt import Attempt
from .mix import ROOMS, mixed
from .played import PlayedAttempt


def write_film_of(
    attempt: Attempt, room: str, roles: Mapping[str, str], assets: Path, folder: Path, name: str, seed: int
) -> Path:
    """Write ``<name>.mp4`` and ``<name>.truth.json``, and return the film.

    Parameters
    ----------
    roles
        Who of the cast plays ``partner`` and ``examiner``.
    assets
        Folder that `assets.fetch` filled.
    """
    looks = {role: CAST[person] for role, person in roles.items()}
    stage = Set(partial(PlayedAttempt, timeline=attempt.timeline), assets, looks, Shoot(seed=seed))
    scene = stage.scene

    def pictures() -> Iterator[Picture]:
        for number in range(scene.frames):
            if number % (30 * scene.fps) == 0:
                print(f"{name}: {number} of {scene.frames} frames", flush=True)
            yield stage.picture(number / scene.fps)

    film = folder / f"{name}.mp4"
    unfinished = film.with_name(f"unfinished_{film.name}")
    write_film(unfinished, pictures(), stage.camera.size_px, scene.crf, "veryfast", scene.fps)
    heard = mixed(attempt.timeline, attempt.spoken, ROOMS[room], seed)
    add_sound(unfinished, heard.sound)
    truth.write(film.with_suffix(".truth.json"), attempt.truth | {"sound": truth.heard_in(room, ROOMS[room], heard)})
    unfinished.rename(film)
    return film
