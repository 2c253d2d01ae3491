"""The demo of a class: sixty invented learners with six attempts each, their films, and what raters say of them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from importlib.resources import as_file, files
from typing import Final

import numpy as np
import numpy.typing as npt

from review.actions import checklists, class_story, people
from review.actions.class_said import Cast, say
from review.actions.class_story import INSTRUCTORS
from review.actions.standards import expect
from review.capture.apart import Apart
from review.capture.intake import FilmFacts
from review.capture.joined import join_small, with_note
from review.domain.checklist import DEFAULT_CHECKLIST
from review.domain.model import Recording, Role
from review.pipeline.stills import STRIP_HEIGHT_PX, still_pictures, strip_times
from review.store.files import replacing
from review.store.home import Home
from review.store.media import film_alone, keep_original, save_times, taking_in
from review.store.repository import Job, Repository, repository

Stages = Callable[[str, float], None]

LEARNERS: Final = 60
ATTEMPTS: Final = 6
CLIPS: Final = ("face", "knee", "romberg")
NAME: Final = "Fenwick Shore (invented)"

_JUDGES: Final = 3
_WEEK: Final = timedelta(days=7)
_FACTS: Final = (
    "duration_s",
    "frames",
    "width_px",
    "height_px",
    "rotation_deg",
    "codec",
    "bit_depth",
    "has_sound",
    "notes",
)


@dataclass(frozen=True, slots=True)
class Film:
    """The film that all attempts are copies of: its bytes, what was read from it, and its stills."""

    content: bytes
    facts: FilmFacts
    times: npt.NDArray[np.float64]
    stills: list[bytes]


def load_class(
    home: Home, progress: Stages, learners: int = LEARNERS, attempts: int = ATTEMPTS, clips: tuple[str, ...] = CLIPS
) -> Cast:
    """Make the class in a home, once; what is there stays, and what was broken off is gone on with.

    Parameters
    ----------
    home
        Where.
    progress
        Told what is made and the share done.
    learners, attempts
        How many learners, and attempts of each.
    clips
        Names of the rendered sample clips that the films are made of.
    """
    with repository(home) as repo:
        cast = _cast(repo, learners)
        if not repo.standards().expectations("", cast.sheet.id):
            for judge, instructor in enumerate(cast.instructors[:_JUDGES]):
                expect(repo, instructor, None, cast.sheet.id, class_story.chances(cast.sheet, judge))
        there = {(one.added_by, one.attempt) for one in repo.recordings()}
    missing = [
        (number, attempt)
        for number, learner in enumerate(cast.learners, start=1)
        for attempt in range(1, attempts + 1)
        if (learner.id, attempt) not in there
    ]
    if missing:
        film = _film(home, clips, progress)
        for place, (number, attempt) in enumerate(missing):
            progress(f"Making attempts: learner {number} of {learners}", 0.1 + 0.9 * place / len(missing))
            _make(home, cast, film, number, attempt, attempts)
    progress("The class is there", 1.0)
    return cast


def _cast(repo: Repository, learners: int) -> Cast:
    checklists.install_shipped(repo)
    return Cast(
        tuple(people.ensure(repo, f"L-{number:02d}", Role.LEARNER) for number in range(1, learners + 1)),
        tuple(people.ensure(repo, f"I-{number:02d}", Role.INSTRUCTOR) for number in range(1, len(INSTRUCTORS) + 1)),
        repo.checklist(DEFAULT_CHECKLIST),
    )


def _day(number: int, attempt: int, attempts: int) -> datetime:
    """Return when an attempt is said to have been added: a week after the one before, the last of them these days."""
    return datetime.now(UTC) - _WEEK * (attempts - attempt) - timedelta(hours=6 + 2 * (number % 40), minutes=number)


def _film(home: Home, clips: tuple[str, ...], progress: Stages) -> Film:
    """Make the small film, or read the one of a run that was broken off."""
    place = home.incoming / f"class-{'-'.join(clips)}.mp4"
    if not place.exists():
        with ExitStack() as stack, replacing(place) as part:
            films = [stack.enter_context(as_file(files("sample_clips") / f"{clip}.mp4")) for clip in clips]
            join_small(films, part, lambda share: progress("Making a small film out of rendered ones", 0.09 * share))
    with Apart() as apart:
        facts, times = apart.probe(place)
        stills = apart.stills(place, strip_times(facts.duration_s), STRIP_HEIGHT_PX, False)
    return Film(place.read_bytes(), facts, times, stills)


def _make(home: Home, cast: Cast, film: Film, number: int, attempt: int, attempts: int) -> None:
    """Take in the film of one attempt, and store all that is said of it, in one transaction."""
    learner, day = cast.learners[number - 1], _day(number, attempt, attempts)
    content = with_note(film.content, f"{NAME}, {learner.code}, attempt {attempt}")
    sha256 = hashlib.sha256(content).hexdigest()
    recording = Recording(
        id=sha256[:12],
        sha256=sha256,
        name=f"{NAME}, screening {attempt}",
        added_at=day,
        added_by=learner.id,
        attempt=attempt,
        size_bytes=len(content),
        checklist_id=cast.sheet.id,
        checklist_version=cast.sheet.version,
        **{name: getattr(film.facts, name) for name in _FACTS},
    )
    with film_alone(home, sha256), taking_in(home, sha256):
        kept = _kept(home, recording, film, content)
        with repository(home) as repo:
            repo.add_recording(kept)
            repo.put_job(Job(kept.id, "stopped", 0, kept.frames, "", day, None))
            say(repo, cast, kept, number, class_story.waits(number, attempt, attempts))


def _kept(home: Home, recording: Recording, film: Film, content: bytes) -> Recording:
    """Keep the film of an attempt with its times and stills, as if it had come by itself."""
    arrived = home.incoming / f"{recording.sha256}.mp4"
    try:
        arrived.write_bytes(content)
        original = keep_original(home, arrived, recording.sha256).relative_to(home.root).as_posix()
    finally:
        arrived.unlink(missing_ok=True)
    save_times(home, recording.sha256, film.times)
    kept = replace(recording, original=original, playback=original)
    still_pictures(home, kept, strip_times(kept.duration_s), look=lambda *asked: film.stills)
    return kept
