"""A home with a course for a server under load: films that several people review, each with a login of their own."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from review.actions import consents, courses, people
from review.actions.class_demo import load_class
from review.actions.handing_in import ask_peer, hand_in
from review.actions.signing_in import open_login
from review.domain.account import Account
from review.domain.course import CourseRole, Membership
from review.domain.model import Person, Recording, Role
from review.domain.sharing import Audience
from review.store.home import Home, find_home
from review.store.repository import reading, repository
from review.store.settings import SETTINGS_FILE

SAMPLE_CLIPS = Path(__file__).parents[2] / "sample_clips"
CLIP = "romberg"
"""What all films are copies of: the largest of the rendered clips, played in many stretches."""

COURSE = "load"
FEWEST_FILMS = 2


@dataclass(frozen=True, slots=True)
class Seat:
    """Who sits at one browser, and what is reviewed there.

    Parameters
    ----------
    code
        Of the person.
    secret
        Of the login that the browser holds.
    recording
        What the person reviews.
    """

    code: str
    secret: str
    recording: Recording


def make(root: Path, browsers: int, reviewers: int = 2, database: str = "") -> tuple[Home, list[Seat]]:
    """Make a home with a course, and a seat in it for each browser.

    Parameters
    ----------
    root
        Folder of the home.
    browsers
        How many seats: those who made the films come first, then instructors, then peers whom the makers asked.
    reviewers
        How many of them review each film.
    database
        Address of a PostgreSQL database; empty for a file in the home.
    """
    home = find_home(root)
    if database:
        settings = root / SETTINGS_FILE
        settings.write_text(f'database = "{database}"\n', "utf-8")
        settings.chmod(0o600)
    shutil.copy(SAMPLE_CLIPS / f"{CLIP}.mp4", home.incoming / f"class-{CLIP}.mp4")  # taken by the demo as its own film
    films = max(FEWEST_FILMS, -(-browsers // reviewers))
    cast = load_class(home, lambda stage, share: None, films, attempts=1, clips=(CLIP,))
    makers = [one.code for one in cast.learners]
    teachers = [one.code for one in cast.instructors]
    further = [f"L-{number:02d}" for number in range(len(makers) + 1, browsers + 1)]
    _start_course(home, teachers, further)
    _share(home, further)
    return home, _seats(home, [*makers, *teachers, *further][:browsers])


def _start_course(home: Home, teachers: Sequence[str], further: Sequence[str]) -> None:
    with repository(home) as repo:
        known = [people.ensure(repo, code, Role.LEARNER) for code in further]
        courses.start(repo, COURSE, "Fenwick Shore (invented)", teachers[0], move=True)
        members = {one.id: CourseRole.LEARNER for one in known}
        members |= {repo.person(code).id: CourseRole.INSTRUCTOR for code in teachers[1:]}
        for person_id, role in members.items():
            repo.courses().put_member(Membership(COURSE, person_id, role))


def _share(home: Home, peers: Sequence[str]) -> None:
    """Note that the examined persons agree to everything, hand every film in, and ask learners as peers."""
    with reading(home) as repo:
        everybody, films = {one.id: one for one in repo.people()}, _films(repo.recordings())
    for place, film in enumerate(films):
        maker = everybody[film.added_by]
        consents.note(home, maker, film.id, tuple(Audience))
        hand_in(home, maker, film.id)
        for code in peers[place :: len(films)]:
            ask_peer(home, maker, film.id, code)


def _seats(home: Home, codes: Sequence[str]) -> list[Seat]:
    with repository(home) as repo:
        films, known = _films(repo.recordings()), {one.code: one for one in repo.people()}
        asked = {one.person_id: film for film in films for one in film.sharing.requests}
        mine = {film.added_by: film for film in films}
        now = datetime.now(UTC)
        for code in codes:
            repo.accounts().put(Account(known[code].id, now))
        return [
            Seat(code, open_login(repo, known[code].id, now), _film_of(known[code], place, films, mine | asked))
            for place, code in enumerate(codes)
        ]


def _film_of(person: Person, place: int, films: Sequence[Recording], own: dict[str, Recording]) -> Recording:
    return films[place % len(films)] if person.role is Role.INSTRUCTOR else own[person.id]


def _films(found: Sequence[Recording]) -> list[Recording]:
    return sorted(found, key=lambda one: one.id)
