"""Where everything of a user lies on this machine: one folder, the home."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import platformdirs

from review.domain.errors import InputError

HOME_VARIABLE: Final = "RUNTHROUGH_HOME"
"""Environment variable that names the home folder."""

_OWNER_ONLY: Final = 0o700


@dataclass(frozen=True, slots=True)
class Home:
    """The folder that holds the database, the films, the tracks and half-arrived uploads."""

    root: Path

    @property
    def database(self) -> Path:
        """The SQLite file."""
        return self.root / "runthrough.db"

    @property
    def media(self) -> Path:
        """Folder of originals and what was made of them."""
        return self.root / "media"

    @property
    def tracks(self) -> Path:
        """Folder of landmark tracks."""
        return self.root / "tracks"

    @property
    def incoming(self) -> Path:
        """Folder of uploads that have not fully arrived."""
        return self.root / "incoming"

    @property
    def log(self) -> Path:
        """What analyses in processes of their own said; may not be there."""
        return self.root / "analysis.log"


def find_home(given: Path | None = None) -> Home:
    """Find the home folder and make what is missing of it.

    Parameters
    ----------
    given
        Folder asked for. Without it the environment variable `HOME_VARIABLE` counts, and without that the
        system's usual place for a user's data.

    Raises
    ------
    InputError
        If the folder cannot be made or written to.
    """
    named = os.environ.get(HOME_VARIABLE, "").strip()
    root = given or (Path(named) if named else platformdirs.user_data_path("runthrough", appauthor=False))
    home = Home(root.expanduser().absolute())
    try:
        for folder in (home.root, home.media, home.tracks, home.incoming):
            folder.mkdir(mode=_OWNER_ONLY, parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=home.incoming):
            pass
    except OSError as error:
        raise InputError(
            f"The home folder {home.root} cannot be used ({error.strerror or error}); expected a folder this user may "
            f"write to. Name another with --home or {HOME_VARIABLE}."
        ) from error
    return home
