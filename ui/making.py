"""Copies with masked faces in the making: one after another, on a thread; how far each is, and breaking it off."""

from __future__ import annotations

import logging
import threading
from dataclasses import dataclass, replace
from typing import Final, Literal

from review.actions.masking import mask_heads
from review.domain.errors import EntryRefused, RunthroughError
from review.domain.masking import Heads
from review.domain.model import Person
from review.store.home import Home

_SHARES: Final = {"Reading the film": (0.0, 0.02), "Looking for heads": (0.02, 0.8), "Writing the copy": (0.82, 0.18)}
"""Where each stage begins in the whole, and how much of it it is, as measured on films of one and two people."""

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Making:
    """How far a copy is; `share` (0 to 1) is that of the whole."""

    heads: Heads
    state: Literal["making", "done", "stopped", "failed"] = "making"
    stage: str = "Waiting for another copy"
    share: float = 0.0
    message: str = ""


class _Stopped(Exception):
    """Raised where a copy tells how far it is, to break it off."""


class Makings:
    """The copies in the making of one home, by recording; what the server does not live to finish is not kept."""

    def __init__(self, home: Home) -> None:
        self._home = home
        self._known: dict[str, Making] = {}
        self._stopped: set[str] = set()
        self._turn = threading.Lock()
        self._starting = threading.Lock()

    def known(self, recording_id: str) -> Making | None:
        """Return the newest that was begun for a recording, None if none was since the server started."""
        return self._known.get(recording_id)

    def start(self, person: Person, recording_id: str, heads: Heads, sound: bool) -> None:
        """Have a copy made.

        Raises
        ------
        EntryRefused
            If one of the same recording is in the making.
        """
        with self._starting:
            now = self._known.get(recording_id)
            if now is not None and now.state == "making":
                raise EntryRefused("A copy of this film is being made. Wait for it, or stop it first.")
            self._known[recording_id] = Making(heads)
            self._stopped.discard(recording_id)
        order = (person, recording_id, heads, sound)
        threading.Thread(target=self._make, args=order, name="masking", daemon=True).start()

    def stop(self, recording_id: str) -> None:
        """Break off what is made of a recording; nothing of it is kept."""
        self._stopped.add(recording_id)

    def _make(self, person: Person, recording_id: str, heads: Heads, sound: bool) -> None:
        def tell(stage: str, share: float) -> None:
            if recording_id in self._stopped:
                raise _Stopped
            first, part = _SHARES[stage]
            self._change(recording_id, stage=stage, share=first + part * share)

        with self._turn:
            try:
                mask_heads(self._home, person, recording_id, heads, sound=sound, progress=tell)
                self._change(recording_id, state="done", share=1.0)
            except _Stopped:
                self._change(recording_id, state="stopped", message="Stopped. Nothing of this copy was kept.")
            except RunthroughError as fault:
                self._change(recording_id, state="failed", message=str(fault))
            except Exception:
                _LOG.exception("Making a copy of %s failed", recording_id)
                self._change(
                    recording_id, state="failed", message="The copy could not be made; the terminal says more."
                )

    def _change(self, recording_id: str, **changes: object) -> None:
        self._known[recording_id] = replace(self._known[recording_id], **changes)  # type: ignore[arg-type]
