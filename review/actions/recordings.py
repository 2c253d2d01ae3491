"""Adding a film as a recording, and having it analysed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from review.access import Deed, allowed, demand
from review.actions.belonging import course_for, known_to
from review.actions.checks import check_height, check_slowness
from review.actions.copies import bring_back
from review.capture.apart import Apart
from review.capture.intake import FilmFacts, copy_bytes, fingerprint
from review.domain.checklist import DEFAULT_CHECKLIST
from review.domain.errors import StoreBroken
from review.domain.model import Person, Recording
from review.domain.sharing import Sharing
from review.pipeline.jobs import put_in_queue, take_from_queue
from review.pipeline.stills import still_pictures, strip_times
from review.store.course_room import expect_course_room
from review.store.home import Home
from review.store.leftovers import sweep
from review.store.media import (
    arrived_here,
    film_alone,
    keep_original,
    media_folder,
    save_times,
    taking_in,
)
from review.store.repository import Job, Repository, repository
from review.store.room import expect_room, tracks_bytes
from review.store.vault import stow

Stages = Callable[[str, float], None]
"""Told the stage in plain words and its share done, 0 to 1."""


_READ_FROM_FILM: Final = (
    "duration_s",
    "frames",
    "width_px",
    "height_px",
    "rotation_deg",
    "codec",
    "bit_depth",
    "has_sound",
    "size_bytes",
    "notes",
)

STILLS_BYTES = 2_000_000
"""What the stills of a recording and of its contact sheet take, and more."""


def add(
    home: Home,
    person: Person,
    path: Path,
    *,
    checklist_id: str | None = None,
    mirrored: bool = False,
    partner_height_mm: float | None = None,
    slow_motion: float = 1.0,
    name: str | None = None,
    course_id: str | None = None,
    progress: Stages | None = None,
) -> Recording:
    """Take a film in: read its facts, keep the original, make what the browser needs.

    A film that is already here (same SHA-256) is not added again; the recording that has it is returned. If its film
    was lost, it is put back.

    Parameters
    ----------
    path
        The film.
    checklist_id
        Sheet the attempt is reviewed with, in its newest version.
    mirrored
        Whether the picture is flipped left to right, as some selfie cameras do.
    partner_height_mm
        Standing height of the examined person, if known.
    slow_motion
        How many times slower the film plays than life went by.
    name
        Name to show, if not the file's.
    course_id
        Where people sign in: which of the person's courses it belongs to; needed if there are several.
    progress
        Told how far it is.

    Raises
    ------
    FilmRefused
        If the file cannot be used as a film, or the process that reads it dies over it; nothing is left behind.
    EntryRefused
        If the height is none of a person, the slowness none of a camera, or the sheet is retired; where people sign
        in, also if somebody else added this film, or the course is not clear.
    InputError
        If there is no room for it, in the home or within the limit of the course.
    """
    demand(person, Deed.ADD_RECORDING)
    course = course_for(person, course_id)
    tell = progress or _silent
    check_height(partner_height_mm)
    check_slowness(slow_motion)
    sweep(home)
    tell("Reading the film", 0.0)
    with Apart() as apart:
        facts, times = apart.probe(path)
        sha256 = fingerprint(path, lambda share: tell("Taking its fingerprint", share))
        with film_alone(home, sha256):
            with repository(home) as repo:
                known = repo.recording_of(sha256)
                sheet = repo.sheets().for_attempt(checklist_id or DEFAULT_CHECKLIST)
                attempt = _next_attempt(repo, sheet.id, person.id)
            if known is not None:
                return bring_back(home, known_to(person, known), path, tell)
            recording = Recording(
                id=sha256[:12],
                sha256=sha256,
                name=name or path.name.encode(errors="replace").decode(),
                added_at=datetime.now(UTC),
                added_by=person.id,
                **{name: getattr(facts, name) for name in _READ_FROM_FILM},
                mirrored=mirrored,
                attempt=attempt,
                checklist_id=sheet.id,
                checklist_version=sheet.version,
                partner_height_mm=partner_height_mm,
                slow_motion=slow_motion,
                sharing=Sharing(course_id=course),
            )
            return _take_in(home, path, recording, facts, times, apart, tell)


def _next_attempt(repo: Repository, checklist_id: str, person_id: str) -> int:
    return 1 + sum((one.checklist_id, one.added_by) == (checklist_id, person_id) for one in repo.recordings())


def _take_in(
    home: Home,
    path: Path,
    recording: Recording,
    facts: FilmFacts,
    times: npt.NDArray[np.float64],
    apart: Apart,
    tell: Stages,
) -> Recording:
    """Keep the files and then the row; if anything fails on the way, no file stays."""
    expect_room(home, recording.name, _needed(home, path, facts))
    expect_course_room(home, recording.sharing.course_id, recording.name, _counted(home, path, facts))
    folder = media_folder(home, recording.sha256)
    with taking_in(home, recording.sha256):
        tell("Keeping the original", 0.0)
        original = keep_original(home, path, recording.sha256)
        save_times(home, recording.sha256, times)
        playback = original
        if facts.playback != "as is":
            playback = folder / "playback.mp4"
            apart.make_playback(
                original, facts, playback, lambda share: tell("Making a copy the browser can play", share)
            )
        places = {"original": original, "playback": playback}
        relative = {key: place.relative_to(home.root).as_posix() for key, place in places.items()}
        kept = replace(recording, original=relative["original"], playback=relative["playback"])
        tell("Making stills", 0.0)
        still_pictures(home, kept, strip_times(kept.duration_s), look=apart.stills)
        with repository(home) as repo:
            repo.add_recording(kept)
            repo.put_job(Job(kept.id, "waiting", 0, kept.frames, "", datetime.now(UTC), None))
    try:
        stow(home, kept.sha256)
    except StoreBroken as error:  # the film is kept here, and `runthrough bucket` puts it there later
        tell(f"Added; it is in the home only: {error}", 1.0)
    else:
        tell("Added", 1.0)
    return kept


def _needed(home: Home, path: Path, facts: FilmFacts) -> dict[str, int]:
    """Return how many bytes a film and what is made of it will take, by what they are taken for."""
    return {
        "original": 0 if arrived_here(home, path) else facts.size_bytes,
        "copy for the browser": copy_bytes(facts),
        "tracks": tracks_bytes(facts.duration_s),
        "stills": STILLS_BYTES,
    }


def _counted(home: Home, path: Path, facts: FilmFacts) -> dict[str, int]:
    """Return how many bytes of a film count for its course: all of `_needed`, and an original that arrived here too."""
    return {**_needed(home, path, facts), "original": facts.size_bytes}


def _silent(stage: str, share: float) -> None:
    """Tell nobody."""


def start_analysis(home: Home, person: Person, recording_id: str) -> None:
    """Put a recording into the queue of what is analysed; nothing changes if it is there already.

    It is done by the process that works beside the pages (see `review.actions.working`).
    """
    with repository(home) as repo:
        put_in_queue(repo, allowed(repo, person, Deed.ANALYSE, recording_id))


def stop_analysis(home: Home, person: Person, recording_id: str) -> None:
    """Take a recording out of the queue; what is at work is finished, and all that was finished is kept."""
    with repository(home) as repo:
        take_from_queue(repo, allowed(repo, person, Deed.ANALYSE, recording_id).id)
