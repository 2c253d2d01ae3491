"""What the first pass made of one recording, kept so that it need not be computed anew for every page.

::

    tracks/<recording>.words/first_pass.json    its proposals
                             seen.json          what was seen in the film that speaks for steps

They hold words that were heard, or are of use beside them only, so they lie among these and are erased with them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import asdict
from pathlib import Path
from typing import Any

from review.domain.model import Interval, Side
from review.domain.proposal import Proposal
from review.store.files import locked, replacing
from review.store.home import Home

When = Sequence[tuple[Interval, Side | None]]
"""Intervals, each with the side that it is of."""


class FirstPassStore:
    """What was computed last for one recording.

    Parameters
    ----------
    home
        Where it lies.
    recording_id
        Whose it is.
    """

    def __init__(self, home: Home, recording_id: str) -> None:
        self._folder = home.tracks / f"{recording_id}.words"

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Compute what follows in one process and one thread at a time; everywhere at once where no words are."""
        with ExitStack() as held:
            with suppress(FileNotFoundError):
                held.enter_context(locked(self._folder / ".first_pass.lock"))
            yield

    def get(self, version: str) -> tuple[Proposal, ...] | None:
        """Return the proposals of just this version; None if there are none, or they cannot be read."""
        kept = _read(self._folder / "first_pass.json", version)
        return None if kept is None else tuple(map(_proposal, kept))

    def put(self, version: str, proposals: Sequence[Proposal]) -> None:
        """Keep the proposals of a version in the place of any other; nothing is kept once the words were erased."""
        self._write("first_pass.json", version, [asdict(one) for one in proposals])

    def seen(self, version: str) -> dict[str, When] | None:
        """Return when each thing was seen, by its name, in tracks of just this version; None if that is not kept."""
        kept = _read(self._folder / "seen.json", version)
        if kept is None:
            return None
        return {name: [(Interval(onset, offset), side) for onset, offset, side in when] for name, when in kept}

    def put_seen(self, version: str, seen: Mapping[str, When]) -> None:
        """Keep when each thing was seen in tracks of a version; nothing is kept where no words are."""
        told = [[name, [[one.onset_s, one.offset_s, side] for one, side in when]] for name, when in seen.items()]
        self._write("seen.json", version, told)

    def _write(self, name: str, version: str, what: Any) -> None:
        if self._folder.is_dir():
            with replacing(self._folder / name) as fresh:
                fresh.write_text(json.dumps({"version": version, "what": what}, ensure_ascii=False), "utf-8")


def _read(path: Path, version: str) -> Any:
    try:
        kept = json.loads(path.read_text("utf-8"))
        return kept["what"] if kept["version"] == version else None
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _proposal(one: dict[str, Any]) -> Proposal:
    return Proposal(**{**one, "interval": Interval(**one["interval"]), "reasons": tuple(one["reasons"])})
