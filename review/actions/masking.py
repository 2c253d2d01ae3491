"""Making a copy of a film with masked heads, to be shared, and removing it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from review.access import Deed, allowed
from review.actions.copies import loss
from review.capture.apart import Apart
from review.capture.intake import copy_bytes
from review.domain.errors import FilmRefused, NotFound
from review.domain.masking import Heads, MaskedCopy
from review.domain.model import Person, Recording
from review.pipeline.masking import MaskPlan, mask_plan
from review.store.home import Home
from review.store.masked import drop_masked, in_the_making, keep_masked
from review.store.media import disk_fault, film_alone
from review.store.repository import reading
from review.store.room import expect_room
from review.store.vault import at_hand

Stages = Callable[[str, float], None]
"""Told the stage in plain words and its share done, 0 to 1; it may raise to break off."""


def mask_heads(
    home: Home,
    person: Person,
    recording_id: str,
    heads: Heads,
    *,
    sound: bool = False,
    models_folder: Path | None = None,
    progress: Stages | None = None,
) -> MaskedCopy:
    """Make a copy of a film with masked heads; an earlier one of the same kind stays until the new one is whole.

    Parameters
    ----------
    heads
        Whose are masked.
    sound
        Whether the copy has the film's sound. Voices tell who people are.
    models_folder
        Where the models are, if not in the installed package.
    progress
        Told how far it is. When it raises, nothing is left behind.

    Raises
    ------
    NotAllowed
        If the person may not take a copy out.
    NotFound
        If the film is lost, or erased meanwhile.
    InputError
        If there is no room, the film cannot be read any more or the models cannot start.
    """
    tell = progress or _silent
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.MASK, recording_id)
        pointings = repo.pointings(recording.id)
    film = at_hand(home, recording.original)
    if not film.is_file():
        raise NotFound(loss(home, recording))
    with Apart() as apart:
        tell("Reading the film", 0.0)
        facts, times = apart.probe(film)
        needed = copy_bytes(replace(facts, playback="transcode"))
        expect_room(home, recording.name, {"copy with masked faces": needed}, "try again")
        size = (facts.width_px, facts.height_px)
        found = apart.find_heads(
            film, times, size, recording.mirrored, models_folder, lambda share: tell("Looking for heads", share)
        )
        plan = mask_plan(found, heads, pointings, recording.mirrored, float(times[-1]))
        try:
            with in_the_making(home, recording.sha256, heads) as fresh:
                apart.make_masked(film, facts, fresh, plan.masks, sound, lambda share: tell("Writing the copy", share))
                return _kept(home, person, recording, heads, sound and facts.has_sound, plan, fresh)
        except (OSError, FilmRefused) as error:
            with reading(home) as repo:
                repo.recording(recording.id)  # not found, if it was erased meanwhile: that is why it failed
            if isinstance(error, OSError):
                raise disk_fault(home, error) from error
            raise


def _kept(
    home: Home, person: Person, recording: Recording, heads: Heads, sound: bool, plan: MaskPlan, fresh: Path
) -> MaskedCopy:
    """Keep a copy that was made, unless the recording was erased or its consent taken back meanwhile."""
    with film_alone(home, recording.sha256):
        with reading(home) as repo:
            allowed(repo, person, Deed.MASK, recording.id)
        size_bytes = fresh.stat().st_size
        copy = MaskedCopy(heads, sound, datetime.now(UTC), person.id, plan.doubtful, size_bytes)
        keep_masked(home, recording.sha256, fresh, copy)
    return copy


def drop_copy(home: Home, person: Person, recording_id: str, heads: Heads) -> bool:
    """Remove a copy with masked heads, and tell whether there was one."""
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.MASK, recording_id)
    with film_alone(home, recording.sha256):
        return drop_masked(home, recording.sha256, heads)


def _silent(stage: str, share: float) -> None:
    """Tell nobody."""
