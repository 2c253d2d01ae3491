"""Mending recordings: what was made of a film and is lost is made anew from its original."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Final

from review.access import Deed, allowed
from review.capture.apart import Apart
from review.capture.intake import copy_bytes
from review.domain.errors import NotFound, StoreBroken
from review.domain.model import Person, Recording
from review.pipeline.stills import still_pictures, strip_times
from review.store.home import Home
from review.store.media import (
    disk_fault,
    drop_original,
    film_alone,
    keep_original,
    load_times,
    media_folder,
    save_times,
)
from review.store.repository import reading, repository
from review.store.room import expect_room
from review.store.vault import at_hand, is_kept

Stages = Callable[[str, float], None]
"""Told the stage in plain words and its share done, 0 to 1."""

COPY: Final = "copy for the browser"
TIMES: Final = "times of its frames"
STILLS: Final = "stills"


def lacking(home: Home, recording: Recording) -> tuple[str, ...]:
    """Return what a recording cannot be played without and what is not there or cannot be read, in plain words.

    Stills are not named: whoever asks for one has it made.
    """
    there = {COPY: bool(is_kept(home, recording.playback)), TIMES: _has_times(home, recording)}
    return tuple(name for name, found in there.items() if not found)


def loss(home: Home, recording: Recording) -> str:
    """Say in plain words that a recording's film cannot be played, and what brings it back."""
    if _has_original(home, recording):
        return (
            f"The copy of {recording.name} for the browser is lost; its original is here. Open the recording on the "
            f"page Review and it is made again, or run: runthrough mend {recording.id}"
        )
    return (
        f"The film of {recording.name} is lost: its original is not whole in "
        f"{media_folder(home, recording.sha256)}. Add the same film again: it takes its old place, and what was "
        "marked, graded and said stays."
    )


def restore_copies(home: Home, person: Person, recording_id: str, progress: Stages | None = None) -> tuple[str, ...]:
    """Make anew from the original what is lost of a recording's copy for the browser, times and stills.

    What is there is not touched. Nothing of it says more than the original does, so whoever may see a recording may
    have it mended.

    Returns
    -------
    tuple of str
        What was made, in plain words; empty if nothing was missing.

    Raises
    ------
    NotFound
        If the original itself is lost; the message says how to bring it back.
    FilmRefused
        If the original cannot be read any more.
    InputError
        If there is no room for what is made.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording_id)
    with film_alone(home, recording.sha256):
        if not _has_original(home, recording):
            raise NotFound(loss(home, recording))
        try:
            return _make(home, recording, progress or _silent)
        except OSError as error:
            raise disk_fault(home, error) from error


def bring_back(home: Home, recording: Recording, film: Path, tell: Stages) -> Recording:
    """Put a recording's film in its place again, if it is lost, and what was made of it; see `restore_copies`.

    The caller holds the film's lock (`review.store.media.film_alone`).

    Parameters
    ----------
    film
        The same film, by its SHA-256.

    Returns
    -------
    Recording
        The recording, with the places of its files as they are now.
    """
    if not _has_original(home, recording):
        tell("Keeping the original", 0.0)
        drop_original(home, recording.sha256)
        original = keep_original(home, film, recording.sha256).relative_to(home.root).as_posix()
        playback = original if recording.playback == recording.original else recording.playback
        recording = replace(recording, original=original, playback=playback)
        with repository(home) as repo:
            repo.update_recording(recording)
    if lacking(home, recording):
        _make(home, recording, tell)
    return recording


def _has_original(home: Home, recording: Recording) -> bool:
    return is_kept(home, recording.original) == recording.size_bytes


def _has_times(home: Home, recording: Recording) -> bool:
    try:
        return len(load_times(home, recording.sha256)) > 0
    except StoreBroken:
        return False


def _make(home: Home, recording: Recording, tell: Stages) -> tuple[str, ...]:
    lost = lacking(home, recording)
    if lost:
        with Apart() as apart:
            _make_lost(home, recording, lost, apart, tell)
    before = _count_stills(home, recording)
    tell("Making stills", 0.0)
    still_pictures(home, recording, strip_times(recording.duration_s))
    tell("Mended", 1.0)
    return lost if _count_stills(home, recording) == before else (*lost, STILLS)


def _make_lost(home: Home, recording: Recording, lost: tuple[str, ...], apart: Apart, tell: Stages) -> None:
    original = at_hand(home, recording.original)
    tell("Reading the film", 0.0)
    facts, times = apart.probe(original)
    if TIMES in lost:
        save_times(home, recording.sha256, times)
    if COPY in lost:
        expect_room(home, recording.name, {COPY: copy_bytes(facts)}, "mend it again")
        copy = home.root / recording.playback
        apart.make_playback(original, facts, copy, lambda share: tell("Making a copy the browser can play", share))


def _count_stills(home: Home, recording: Recording) -> int:
    return len(list((media_folder(home, recording.sha256) / "stills").glob("*.jpg")))


def _silent(stage: str, share: float) -> None:
    """Tell nobody."""
