"""A home to which people sign in, with attempts that are shared in every way, and logins of everybody."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from review.actions import checklists, courses, inviting, signing_in
from review.actions.people import ensure
from review.domain.account import Account
from review.domain.course import Course, CourseRole, Membership
from review.domain.model import Exemplar, Interval, Recording, Role
from review.domain.sharing import Purpose, Request
from review.store.home import Home, find_home
from review.store.repository import Repository, repository
from tests.store import made

PASSWORD: Final = "lantern tide marble owl"
COURSE: Final = "balance"
CODES: Final = {
    "maker": "L-08",
    "peer": "L-12",
    "fellow": "L-20",
    "teacher": "I-01",
    "owner": "I-02",
    "elsewhere": "I-09",
    "nowhere": "L-99",
}
"""Who is who: the learner whose attempts these are, a peer who was asked, a learner who was not, an instructor and the
owner of the course, the owner of another course, and somebody who belongs to none."""

FILMS: Final = {"private": "aa", "shared": "bb", "withdrawn": "cc", "exemplar": "dd"}
"""First signs of the ids of the learner's recordings, by how they are shared."""

EXEMPLAR: Final = "5f0c1f9e-0000-4000-8000-000000000001"
"""Id of the one exemplar."""


@dataclass(frozen=True, slots=True)
class School:
    """The home, the secrets of everybody's logins, and the recordings by how they are shared."""

    home: Home
    logins: Mapping[str, str]
    films: Mapping[str, Recording]


def film_id(kind: str) -> str:
    """Return the id of a recording."""
    return FILMS[kind] * 6


def build(root: Path) -> School:
    """Make it: accounts exist without passwords, since logins are made directly."""
    home = find_home(root)
    with repository(home) as repo:
        checklists.install_shipped(repo)
        courses.start(repo, COURSE, "Balance and senses lab", CODES["owner"])
        owner = repo.person(CODES["owner"])
        for name, role in (
            ("maker", CourseRole.LEARNER),
            ("peer", CourseRole.LEARNER),
            ("fellow", CourseRole.LEARNER),
            ("teacher", CourseRole.INSTRUCTOR),
        ):
            inviting.invite(repo, owner, COURSE, CODES[name], role)
        repo.courses().put(Course("other", "Another course", made.WHEN))
        other = ensure(repo, CODES["elsewhere"], Role.INSTRUCTOR)
        repo.courses().put_member(Membership("other", other.id, CourseRole.OWNER))
        ensure(repo, CODES["nowhere"], Role.LEARNER)
        films = {kind: _film(repo, kind) for kind in FILMS}
        repo.exemplars().put(_exemplar(films["exemplar"], repo.person(CODES["teacher"]).id))
        logins = {name: _login(repo, code) for name, code in CODES.items()}
    return School(home, logins, films)


def _film(repo: Repository, kind: str) -> Recording:
    maker, peer = repo.person(CODES["maker"]), repo.person(CODES["peer"])
    identity = film_id(kind)
    sheet = next(one for one in repo.checklists() if one.id == "balance_only")
    film = made.recording(identity, sha256=FILMS[kind] * 32, added_by=maker.id)
    film = replace(film, checklist_id=sheet.id, checklist_version=sheet.version)
    repo.add_recording(film)
    shown = kind != "private"
    repo.sharings().put_in_course(identity, COURSE, made.WHEN if shown else None)
    if shown:
        repo.sharings().put_consent(made.consent(recording_id=identity, noted_by=maker.id))
        repo.sharings().put_request(Request(identity, peer.id, Purpose.PEER, maker.id, made.WHEN))
    if kind == "withdrawn":
        repo.sharings().put_consent(made.consent(2, recording_id=identity, noted_by=maker.id, withdrawn=True))
    return repo.recording(identity)


def _exemplar(film: Recording, person_id: str) -> Exemplar:
    place = ("balance_only", "feet_together", None)
    return Exemplar(EXEMPLAR, *place, film.id, Interval(1.0, 3.0), person_id, made.WHEN)


def _login(repo: Repository, code: str) -> str:
    person, now = repo.person(code), datetime.now(UTC)
    repo.accounts().put(Account(person.id, now))
    return signing_in.open_login(repo, person.id, now)
