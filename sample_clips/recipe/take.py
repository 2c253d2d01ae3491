"""Makes one clip of the studio in a process of its own: ``python -m sample_clips.recipe.take NAME FOLDER ASSETS``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from .acts.scene import Scene
from .casting import LOOKS
from .catalogue import CATALOGUE
from .encode import add_sound
from .film import ActKind, make_film
from .person import Person


class Remembered:
    """An act that keeps the scene it made, so that its sound can be asked for when the pictures are done."""

    def __init__(self, act: ActKind) -> None:
        self._act = act
        self.scene: Any = None

    def __getattr__(self, name: str) -> Any:
        return getattr(getattr(self._act, "func", self._act), name)

    def __call__(self, people: dict[str, Person]) -> Scene:
        """Make the scene."""
        self.scene = self._act(people)
        return self.scene


def take(name: str, folder: Path, assets: Path) -> None:
    """Write ``<name>.mp4`` and ``<name>.truth.json`` into `folder`."""
    clip = CATALOGUE[name]
    act = Remembered(clip.act)
    looks = {role: LOOKS[person] for role, person in clip.cast.items()}
    film = make_film(act, looks, clip.shoot, assets, folder, name)
    sound = act.scene.sound()
    if sound is not None:
        add_sound(film, sound)


if __name__ == "__main__":
    take(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]))
