"""What was heard in a film: one file for each stretch that was listened to, with the words of both listenings.

::

    tracks/<recording>.words/<first frame>-<stop>.json

They are derived from the film, lie beside its tracks and are erased with them.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

from sqlalchemy.orm import Session

from review.domain.errors import StoreBroken
from review.domain.transcript import Listening, Transcript, Word
from review.store.courses import Courses
from review.store.files import replacing
from review.store.home import Home

_WORDS: Final = "words"
_MODEL: Final = "voice_model"
_OFF: Final = "off"
_ONCE, _AGAIN = "words", "again"


class WordStore:
    """The words of one recording.

    Parameters
    ----------
    home
        Where they lie.
    recording_id
        Whose they are.
    """

    def __init__(self, home: Home, recording_id: str) -> None:
        self._folder = home.tracks / f"{recording_id}.words"

    def put(self, first: int, stop: int, words: Transcript, again: Transcript = ()) -> None:
        """Keep the words of a stretch of frames in the place of what overlaps it; they are on the disk on return."""
        self._folder.mkdir(exist_ok=True)
        for (begun, ended), path in self._stretches().items():
            if begun < stop and first < ended and (begun, ended) != (first, stop):
                path.unlink(missing_ok=True)
        with replacing(self._folder / f"{first}-{stop}.json") as fresh:
            kept = {_ONCE: [asdict(word) for word in words], _AGAIN: [asdict(word) for word in again]}
            fresh.write_text(json.dumps(kept, ensure_ascii=False), "utf-8")

    def transcript(self) -> Transcript | None:
        """Return all words, as they were said; None where nothing was listened to yet.

        Raises
        ------
        StoreBroken
            If a file cannot be read.
        """
        return self._read(_ONCE) if self._stretches() else None

    def again(self) -> Transcript:
        """Return the words of the second listening, which was where the first one was doubtful.

        Raises
        ------
        StoreBroken
            If a file cannot be read.
        """
        return self._read(_AGAIN)

    def _read(self, which: str) -> Transcript:
        return tuple(word for _, path in sorted(self._stretches().items()) for word in _read(path, which))

    def version(self) -> str:
        """Return a text that changes whenever the words do; empty when there are none."""
        stretches = sorted(self._stretches().items())
        return ",".join(f"{first}-{stop}:{path.stat().st_mtime_ns}" for (first, stop), path in stretches)

    def whole(self, frames: int) -> bool:
        """Tell whether all of a film of so many frames was listened to."""
        reached = 0
        for first, stop in sorted(self._stretches()):
            if first > reached:
                return False
            reached = max(reached, stop)
        return 0 < frames <= reached

    def erase(self) -> None:
        """Remove all words; no fault if there are none."""
        shutil.rmtree(self._folder, ignore_errors=True)

    def _stretches(self) -> Mapping[tuple[int, int], Any]:
        if not self._folder.is_dir():
            return {}
        return {
            (int(path.stem.split("-")[0]), int(path.stem.split("-")[1])): path
            for path in self._folder.glob("[0-9]*-[0-9]*.json")
        }


def _read(path: Any, which: str) -> Transcript:
    try:
        kept = json.loads(path.read_text("utf-8"))
        if isinstance(kept, list):  # as it was kept before there were two listenings
            kept = {_ONCE: kept, _AGAIN: []}
        return tuple(Word(**word) for word in kept[which])
    except (OSError, ValueError, TypeError, KeyError) as error:
        raise StoreBroken(f"No words can be read from {path}. Analyse the film again.") from error


class Listenings:
    """The setting of a home that says whether words are kept, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._settings = Courses(session)

    def get(self) -> Listening:
        """Return the setting; words are kept unless somebody said otherwise."""
        return Listening(self._settings.setting(_WORDS) != _OFF, self._settings.setting(_MODEL) or "")

    def put(self, listening: Listening) -> None:
        """Store the setting."""
        self._settings.put_setting(_WORDS, "on" if listening.on else _OFF)
        self._settings.put_setting(_MODEL, listening.model)
