"""Pictures that several ask for at the same time, made in one going through a film."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from concurrent.futures import Future
from pathlib import Path

from review.pipeline.stills import Look

_Key = tuple[Path, int, bool]


class Together:
    """Makes pictures as `look` does, of one film after the other, those asked for meanwhile in one going.

    A page asks for the pictures of a step one by one, and several pages for the same ones. May be used from several
    threads at once.

    Parameters
    ----------
    look
        What makes pictures of a film; an error it raises is raised to all who asked for them.
    """

    def __init__(self, look: Look) -> None:
        self._look = look
        self._turn = threading.Lock()
        self._adding = threading.Lock()
        self._waiting: dict[_Key, dict[float, Future[bytes]]] = {}

    def __call__(self, path: Path, times_s: Sequence[float], height_px: int, mirrored: bool) -> list[bytes]:
        """Return the pictures of a film at some times, in their order."""
        key = (path, height_px, mirrored)
        with self._adding:
            asked = self._waiting.setdefault(key, {})
            mine = [asked.setdefault(time_s, Future()) for time_s in times_s]
        with self._turn:
            if not all(one.done() for one in mine):
                self._make(key)
        return [one.result() for one in mine]

    def _make(self, key: _Key) -> None:
        """Make all that wait for a film."""
        with self._adding:
            asked = self._waiting.pop(key, {})
        times_s = sorted(asked)
        try:
            made = self._look(key[0], times_s, key[1], key[2])
        except BaseException as error:
            for one in asked.values():
                one.set_exception(error)
            raise
        for time_s, picture in zip(times_s, made, strict=True):
            asked[time_s].set_result(picture)
