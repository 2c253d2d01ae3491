"""Proposals of the first pass, kept so that they need not be computed anew for every page.

::

    tracks/<recording>.words/first_pass.json

They hold words that were heard, so they lie among these and are erased with them.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from review.domain.model import Interval
from review.domain.proposal import Proposal
from review.store.files import replacing
from review.store.home import Home


class FirstPassStore:
    """The proposals that were computed last for one recording.

    Parameters
    ----------
    home
        Where they lie.
    recording_id
        Whose they are.
    """

    def __init__(self, home: Home, recording_id: str) -> None:
        self._path: Path = home.tracks / f"{recording_id}.words" / "first_pass.json"

    def get(self, version: str) -> tuple[Proposal, ...] | None:
        """Return what was kept of just this version; None if nothing was, or it cannot be read."""
        try:
            kept = json.loads(self._path.read_text("utf-8"))
            return tuple(map(_read, kept["proposals"])) if kept["version"] == version else None
        except (OSError, ValueError, TypeError, KeyError):
            return None

    def put(self, version: str, proposals: tuple[Proposal, ...]) -> None:
        """Keep the proposals of a version in the place of any other; nothing is kept once the words were erased."""
        if not self._path.parent.is_dir():
            return
        kept = {"version": version, "proposals": [asdict(one) for one in proposals]}
        with replacing(self._path) as fresh:
            fresh.write_text(json.dumps(kept, ensure_ascii=False), "utf-8")


def _read(one: dict[str, Any]) -> Proposal:
    return Proposal(**{**one, "interval": Interval(**one["interval"]), "reasons": tuple(one["reasons"])})
