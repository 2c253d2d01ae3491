"""All films of a home, with what was seen in them: put into its bucket, brought back from there, and room made for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from review.domain.errors import InputError
from review.domain.model import Recording
from review.store.home import Home
from review.store.media import film_alone
from review.store.repository import reading
from review.store.track_vault import bring_tracks, stow_tracks
from review.store.vault import bucket_of, make_room, stow

Progress = Callable[[str, float], None]
"""Told the stage, and its share done."""


@dataclass(frozen=True, slots=True)
class Stowed:
    """How many files were put into the bucket, and how many bytes were freed in the home."""

    put: int
    freed_bytes: int


def stow_all(home: Home, keep_bytes: int | None, progress: Progress = lambda stage, share: None) -> Stowed:
    """Put every recording's files, tracks and words into the bucket that are not there yet; make room, if asked to.

    Parameters
    ----------
    keep_bytes
        How much the films of the home may take afterwards: beyond it, those added longest ago go first. A film that is
        being analysed, or waits for it, stays. None to keep all.

    Raises
    ------
    InputError
        If the settings name no bucket.
    StoreBroken
        If the bucket cannot be used; what was put until then is there, and nothing in the home is lost.
    """
    _expect_bucket(home)
    with reading(home) as repo:
        recordings = sorted(repo.recordings(), key=lambda one: one.added_at, reverse=True)
    put = freed = taken = 0
    for index, recording in enumerate(recordings):
        progress("Putting films into the bucket", index / len(recordings))
        with film_alone(home, recording.sha256):
            if not _is_there(home, recording):
                continue
            put += stow(home, recording.sha256)
            put += _is_idle(home, recording) and stow_tracks(home, recording)
            taken += _taken(home, recording)
            if keep_bytes is not None and taken > keep_bytes and _is_idle(home, recording):
                gone = make_room(home, recording.sha256)
                freed, taken = freed + gone, taken - gone
    return Stowed(put, freed)


def bring_all(home: Home, progress: Progress = lambda stage, share: None) -> int:
    """Bring what was seen and heard in films back from the bucket where the home has lost it; return of how many.

    Films themselves are played from the bucket, and are fetched when they are needed.

    Raises
    ------
    InputError
        If the settings name no bucket.
    StoreBroken
        If the bucket cannot be used; what was brought until then stays.
    """
    _expect_bucket(home)
    with reading(home) as repo:
        recordings = repo.recordings()
    brought = 0
    for index, recording in enumerate(recordings):
        progress("Bringing back what was seen", index / len(recordings))
        with film_alone(home, recording.sha256):
            brought += _is_there(home, recording) and bring_tracks(home, recording)
    return brought


def _expect_bucket(home: Home) -> None:
    if bucket_of(home) is None:
        raise InputError(f"The settings of {home.root} name no bucket; expected `media` there. See docs/server.md.")


def _is_there(home: Home, recording: Recording) -> bool:
    with reading(home) as repo:
        return repo.recording_of(recording.sha256) is not None


def _is_idle(home: Home, recording: Recording) -> bool:
    with reading(home) as repo:
        job = repo.job(recording.id)
    return job is None or job.state == "done"


def _taken(home: Home, recording: Recording) -> int:
    places = {home.root / recording.original, home.root / recording.playback}
    return sum(path.stat().st_size for path in places if path.is_file())
