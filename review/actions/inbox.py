"""A watched folder: films that are put into it are added as recordings, one after the other."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from review.actions import recordings
from review.domain.errors import FilmRefused, InputError, RunthroughError
from review.domain.model import Person
from review.store.home import Home
from review.store.repository import reading

POLL_S: Final = 2.0
"""Seconds between two looks into the folder."""

QUIET_S: Final = 5.0
"""How long a file's size and time must not have changed before it is taken: it is being copied until then."""

_Seen = tuple[int, int]


@dataclass(slots=True)
class Inbox:
    """One watched folder.

    Nothing is ever deleted: what was added moves to its subfolder ``taken``, what cannot be used moves to ``refused``
    with the reason in a text file beside it, and what failed for another reason stays and is tried again once it
    changes.

    Attributes
    ----------
    home, person
        Where films are added, and as whose; what that person may is looked up anew for each film.
    folder
        The folder; files in its subfolders and those whose names begin with a dot are left alone.
    tell
        Told one sentence for each file.
    clock
        Tells the seconds of a clock that never goes back.
    course_id
        Id of the course the films are for, where the person belongs to several.
    """

    home: Home
    person: Person
    folder: Path
    tell: Callable[[str], None]
    clock: Callable[[], float] = time.monotonic
    course_id: str | None = None
    _seen: dict[Path, tuple[_Seen, float]] = field(default_factory=dict)
    _left: dict[Path, _Seen] = field(default_factory=dict)

    def look(self) -> list[Path]:
        """Look into the folder once, take in what is ready, and return the files that were dealt with.

        Raises
        ------
        InputError
            If the folder cannot be read.
        """
        try:
            files = sorted(path for path in self.folder.iterdir() if not path.name.startswith(".") and path.is_file())
        except OSError as error:
            raise InputError(
                f"{self.folder} cannot be watched ({error.strerror or error}); expected a folder this user may read "
                "and write."
            ) from error
        self._seen = {path: seen for path, seen in self._seen.items() if path in files}
        ready = [path for path in files if self._is_ready(path)]
        for path in ready:
            self._take(path)
        return ready

    def _is_ready(self, path: Path) -> bool:
        try:
            status = path.stat()
        except OSError:
            return False
        now = (status.st_size, status.st_mtime_ns)
        before, since = self._seen.get(path, (None, 0.0))
        if now != before:
            self._seen[path] = (now, self.clock())
            return False
        return self._left.get(path) != now and self.clock() - since >= QUIET_S

    def _take(self, path: Path) -> None:
        try:
            with path.open("rb"):
                pass
            with reading(self.home) as repo:
                person = repo.person(self.person.code)
            recording = recordings.add(self.home, person, path, course_id=self.course_id)
            recordings.start_analysis(self.home, person, recording.id)
            moved = _move(path, self.folder / "taken")
            self.tell(f"{path.name}: added as {recording.id}; the film is now {moved}")
        except FilmRefused as refusal:
            self._refuse(path, str(refusal))
        except (RunthroughError, OSError) as fault:
            self._left[path] = self._seen[path][0]
            self.tell(f"{path.name}: left where it is. {fault}")

    def _refuse(self, path: Path, reason: str) -> None:
        try:
            moved = _move(path, self.folder / "refused")
            moved.with_name(f"{moved.name}.txt").write_text(f"{reason}\n", "utf-8")
        except OSError as fault:
            self._left[path] = self._seen[path][0]
            reason = f"{reason} It could not be moved ({fault.strerror or fault})."
        self.tell(f"{path.name}: refused. {reason}")


def _move(path: Path, folder: Path) -> Path:
    """Move a file into a folder under a name nothing there has, and return its new place."""
    folder.mkdir(exist_ok=True)
    target, number = folder / path.name, 2
    while target.exists():
        target = folder / f"{path.stem} ({number}){path.suffix}"
        number += 1
    return path.rename(target)


def watch(inbox: Inbox) -> None:
    """Look into a folder again and again, until it cannot be read or the process is stopped."""
    while True:
        inbox.look()
        time.sleep(POLL_S)
