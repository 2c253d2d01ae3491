"""Every action that takes a person, for everybody: denied to all whom the tables do not name, at the write itself.

The list of actions is read from the code: one that is added makes a test fail until it stands in a table here.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import pytest

import review.actions
from review.actions import (
    assigning,
    captions,
    changes,
    checklists,
    comments,
    consents,
    copies,
    courses,
    entries,
    erasing,
    exemplars,
    grades,
    handing_in,
    inviting,
    marks,
    masking,
    operations,
    phrases,
    pointings,
    proposals,
    reading_back,
    recordings,
    retention,
    signing,
    standards,
    uncovering,
)
from review.domain.course import CourseRole
from review.domain.errors import NotAllowed, RunthroughError
from review.domain.model import Comment, Interval, Mark, Person, Phrase, Recording
from review.domain.proposal import Refusal
from review.domain.sharing import Audience
from review.store.home import Home
from review.store.repository import Repository, reading, repository
from tests import forms
from tests.access.school import CODES, COURSE, EXEMPLAR, FILMS, School, build, film_id

STEP: Final = "eyes_open"
UUID: Final = "5f0c1f9e-0000-4000-8000-00000000000"

NOBODY: Final[frozenset[str]] = frozenset()
RATING: Final = frozenset({"maker", "peer", "teacher", "owner"})
TEACHING: Final = frozenset({"teacher", "owner"})
MAKER: Final = frozenset({"maker"})
MAKER_OR_OWNER: Final = frozenset({"maker", "owner"})
STAFF: Final = frozenset({"teacher", "owner", "elsewhere"})
MEMBERS: Final = frozenset({"maker", "peer", "fellow", *STAFF})

Who = dict[str, frozenset[str]]


def _as_shared(private: frozenset[str], shared: frozenset[str], withdrawn: frozenset[str] = NOBODY) -> Who:
    return {"private": private, "shared": shared, "exemplar": shared, "withdrawn": withdrawn}


RATERS: Final = _as_shared(MAKER, RATING)
MAKERS: Final = _as_shared(MAKER, MAKER)
TEACHERS: Final = _as_shared(NOBODY, TEACHING)
MAKER_OR_TEACHERS: Final = _as_shared(MAKER, MAKER | TEACHING)
WITHOUT_CONSENT: Final = _as_shared(MAKER_OR_OWNER, MAKER_OR_OWNER, MAKER_OR_OWNER)


@dataclass(frozen=True, slots=True)
class Case:
    """What an action is done with."""

    home: Home
    repo: Repository
    person: Person
    film: Recording

    @property
    def mark(self) -> str:
        """Id of the maker's mark of this recording."""
        return _own("m", self.film)

    @property
    def comment(self) -> str:
        """Id of the maker's comment on it."""
        return _own("c", self.film)

    @property
    def refusal(self) -> str:
        """Id of the proposal of it that the maker refused."""
        return _own("r", self.film)


def _own(kind: str, film: Recording) -> str:
    return f"{UUID[:-4]}{kind.encode().hex()[:2]}{film.id[:2]}"


Act = Callable[[Case], object]
_EXEMPLAR_PLACE: Final = (f"{UUID}7", STEP, None)

ON_FILM: Final[dict[str, tuple[Who, Act]]] = {
    "assigning.assign": (TEACHERS, lambda c: assigning.assign(c.repo, c.person, [c.film.id], None)),
    "captions.correct": (
        MAKER_OR_TEACHERS,
        lambda c: captions.correct(c.repo, c.person, c.film.id, f"{UUID}6", 0, (1.0, 2.0), "Stand still."),
    ),
    "captions.as_heard": (
        MAKER_OR_TEACHERS,
        lambda c: captions.as_heard(c.repo, c.person, c.film.id, f"{UUID}6", 1),
    ),
    "captions.read_in": (
        MAKER_OR_TEACHERS,
        lambda c: captions.read_in(c.home, c.person, c.film.id, "x.vtt", b"WEBVTT\n", False),
    ),
    "assigning.draw_second": (MAKERS, lambda c: assigning.draw_second(c.repo, c.person, c.film)),
    "changes.change": (MAKERS, lambda c: changes.change(c.home, c.person, c.film.id, {"name": "Renamed"})),
    "comments.write": (RATERS, lambda c: comments.write(c.repo, c.person, c.film, 1.0, 2.0, "Look here")),
    "comments.reply": (RATERS, lambda c: comments.reply(c.repo, c.person, c.comment, "Yes")),
    "comments.change": (MAKERS, lambda c: comments.change(c.repo, c.person, c.comment, "Otherwise")),
    "comments.remove": (MAKERS, lambda c: comments.remove(c.repo, c.person, c.comment)),
    "comments.restore": (MAKERS, lambda c: comments.restore(c.repo, c.person, c.comment)),
    "comments.resolve": (RATERS, lambda c: comments.resolve(c.repo, c.person, c.comment, True)),
    "consents.note": (WITHOUT_CONSENT, lambda c: consents.note(c.home, c.person, c.film.id, [Audience.PEERS])),
    "consents.withdraw": (WITHOUT_CONSENT, lambda c: consents.withdraw(c.home, c.person, c.film.id)),
    "copies.restore_copies": (RATERS, lambda c: copies.restore_copies(c.home, c.person, c.film.id)),
    "entries.enter": (RATERS, lambda c: entries.enter(c.repo, c.person, c.film, STEP, None, "1")),
    "entries.withdraw": (RATERS, lambda c: entries.withdraw(c.repo, c.person, c.film, STEP, None)),
    "exemplars.attach": (
        TEACHERS,
        lambda c: exemplars.attach(c.repo, c.person, c.film, *_EXEMPLAR_PLACE, c.film, 1.0, 2.0),
    ),
    "grades.give": (RATERS, lambda c: grades.give(c.repo, c.person, c.film, STEP, None, "full")),
    "grades.withdraw": (RATERS, lambda c: grades.withdraw(c.repo, c.person, c.film, STEP, None)),
    "handing_in.hand_in": (MAKERS, lambda c: handing_in.hand_in(c.home, c.person, c.film.id)),
    "handing_in.take_back": (MAKERS, lambda c: handing_in.take_back(c.home, c.person, c.film.id)),
    "handing_in.ask_peer": (MAKERS, lambda c: handing_in.ask_peer(c.home, c.person, c.film.id, CODES["fellow"])),
    "handing_in.take_peer_back": (
        MAKERS,
        lambda c: handing_in.take_peer_back(c.home, c.person, c.film.id, CODES["peer"]),
    ),
    "marks.place": (RATERS, lambda c: marks.place(c.repo, c.person, c.film, STEP, None, 1.0, 2.0)),
    "marks.remove": (MAKERS, lambda c: marks.remove(c.repo, c.person, c.mark)),
    "masking.mask_heads": (MAKER_OR_TEACHERS, lambda c: masking.mask_heads(c.home, c.person, c.film.id, "all")),
    "masking.drop_copy": (MAKER_OR_TEACHERS, lambda c: masking.drop_copy(c.home, c.person, c.film.id, "all")),
    "operations.apply": (RATERS, lambda c: operations.apply(c.repo, c.person, c.film.id, "browser-1", [])),
    "pointings.point": (MAKERS, lambda c: pointings.point(c.repo, c.person, c.film, 1.0, 0.5, 0.5)),
    "pointings.unpoint": (MAKERS, lambda c: pointings.unpoint(c.repo, c.person, c.film)),
    "proposals.refuse": (
        RATERS,
        lambda c: proposals.refuse(c.repo, c.person, c.film, f"{UUID}7", STEP, None, 1.0, 2.0),
    ),
    "proposals.take_back": (MAKERS, lambda c: proposals.take_back(c.repo, c.person, c.refusal)),
    "reading_back.read_back": (
        RATERS,
        lambda c: reading_back.read_back(c.home, c.person, c.film, "x.vtt", b"WEBVTT\n"),
    ),
    "recordings.start_analysis": (
        MAKER_OR_TEACHERS,
        lambda c: recordings.start_analysis(c.home, c.person, c.film.id),
    ),
    "recordings.stop_analysis": (MAKER_OR_TEACHERS, lambda c: recordings.stop_analysis(c.home, c.person, c.film.id)),
    "erasing.erase": (WITHOUT_CONSENT, lambda c: erasing.erase(c.home, c.person, c.film.id)),
    "signing.sign": (TEACHERS, lambda c: signing.sign(c.repo, c.person, c.film, next(iter(signing.Finding)))),
    "signing.take_back": (TEACHERS, lambda c: signing.take_back(c.repo, c.person, c.film, "A slip")),
    "standards.rate": (RATERS, lambda c: standards.rate(c.repo, c.person, c.film, 3)),
    "uncovering.uncover": (RATERS, lambda c: uncovering.uncover(c.repo, c.person, c.film)),
}
"""What is done to a recording: who may, by how it is shared, and how it is done."""

IN_COURSE: Final[dict[str, tuple[frozenset[str], Act]]] = {
    "checklists.save": (STAFF, lambda c: checklists.save(c.repo, c.person, Path("nowhere.toml"))),
    "checklists.save_draft": (STAFF, lambda c: checklists.save_draft(c.repo, c.person, {}, None)),
    "checklists.copy": (STAFF, lambda c: checklists.copy(c.repo, c.person, "balance_only", "evening", "Evening")),
    "checklists.retire": (STAFF, lambda c: checklists.retire(c.repo, c.person, "balance_only")),
    "checklists.bring_back": (STAFF, lambda c: checklists.bring_back(c.repo, c.person, "balance_only")),
    "courses.set_course": (
        frozenset({"owner"}),
        lambda c: courses.set_course(c.repo, c.person, COURSE, "Renamed", None, 0.1),
    ),
    "courses.set_quota": (frozenset({"owner"}), lambda c: courses.set_quota(c.repo, c.person, COURSE, 50.0)),
    "courses.set_member": (
        frozenset({"owner"}),
        lambda c: courses.set_member(c.repo, c.person, COURSE, CODES["peer"], CourseRole.LEARNER, "Friday"),
    ),
    "courses.remove_member": (
        frozenset({"owner"}),
        lambda c: courses.remove_member(c.repo, c.person, COURSE, CODES["peer"]),
    ),
    "exemplars.detach": (frozenset({"teacher"}), lambda c: exemplars.detach(c.repo, c.person, EXEMPLAR)),
    "inviting.invite": (
        frozenset({"owner"}),
        lambda c: inviting.invite(c.repo, c.person, COURSE, "L-55", CourseRole.LEARNER),
    ),
    "inviting.renew": (
        frozenset({"owner"}),
        lambda c: inviting.renew(c.repo, c.person, COURSE, c.repo.person(CODES["peer"])),
    ),
    "phrases.keep": (MEMBERS, lambda c: phrases.keep(c.repo, c.person, f"{UUID}8", "Well guarded")),
    "phrases.drop": (MAKER, lambda c: phrases.drop(c.repo, c.person, f"{UUID}9")),
    "retention.erase_due": (frozenset({"owner", "elsewhere"}), lambda c: retention.erase_due(c.home, c.person)),
    "retention.set_days": (
        frozenset({"owner", "elsewhere"}),
        lambda c: retention.set_days(c.home, c.person, 90),
    ),
    "standards.expect": (
        TEACHING,
        lambda c: standards.expect(c.repo, c.person, COURSE, "balance_only", {(STEP, None): 0.5}),
    ),
    "recordings.add": (MEMBERS, lambda c: recordings.add(c.home, c.person, Path("nowhere.mp4"))),
}
"""What is done to no recording, or to one certain thing: who may, and how it is done."""

DENIES_NOTHING: Final = {
    "belonging.course_for": "reads which of a person's own courses was meant",
    "belonging.no_room_for": "reads how much room one of a person's own courses has",
    "belonging.known_to": "refuses by itself a film that somebody else added",
    "erasing.erase_for": "what `erase` and the job for dates do once it is decided; the person is who is noted",
    "grades.id_of": "computes an id; stores nothing",
    "operations.acknowledged": "reads how far a queue of the person's own was done",
    "signing.ground": "reads what the person's own grades add up to; stores nothing",
    "signing_in.change_password": "one's own account; needs the old password",
    "signing_in.end_login": "one's own logins; tests/actions/test_signing_in.py tries another's",
    "signing_in.end_other_logins": "one's own logins",
    "unchanged.demand_unchanged": "compares; stores nothing",
    "uncovering.is_uncovered": "reads what the person uncovered",
}
"""Public functions of the actions that take a person and need no deed, and why."""


def taking_a_person() -> set[str]:
    """Return the names of all public functions of the actions that take a person."""
    found = set()
    for module in pkgutil.walk_packages(review.actions.__path__, "review.actions."):
        held = importlib.import_module(module.name)
        for name, one in vars(held).items():
            own = inspect.isfunction(one) and one.__module__ == module.name and not name.startswith("_")
            if own and "person" in inspect.signature(one).parameters:
                found.add(f"{module.name.removeprefix('review.actions.')}.{name}")
    return found


def test_every_action_stands_in_a_table() -> None:
    """A new one must be named with who may do it, or with why it denies nothing."""
    assert taking_a_person() == {*ON_FILM, *IN_COURSE, *DENIES_NOTHING}


class _Undone(Exception):
    """Raised to have a transaction undone."""


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> School:
    """Build the home once, with a mark, a comment and a phrase of the maker's."""
    found = build(tmp_path_factory.mktemp("deeds") / "home")
    now = datetime.now(UTC)
    with repository(found.home) as repo:
        maker = repo.person(CODES["maker"])
        repo.phrases().put(Phrase(f"{UUID}9", maker.id, "Well guarded", now))
        for film in found.films.values():
            at = Interval(1.0, 2.0)
            repo.put_mark(Mark(_own("m", film), film.id, STEP, None, at, maker.id, now))
            repo.put_comment(Comment(_own("c", film), film.id, at, "Look", maker.id, now))
            repo.refusals().put(Refusal(_own("r", film), film.id, STEP, None, at, maker.id, now))
    return found


def _denied(school: School, action: str, act: Act, name: str, kind: str) -> bool:
    """Tell whether an action is denied to somebody; what it did otherwise is undone."""
    module, function = action.split(".")
    held = getattr(importlib.import_module(f"review.actions.{module}"), function)
    inside = next(iter(inspect.signature(held).parameters)) == "repo"
    return (_denied_inside if inside else _denied_alone)(school, act, name, kind)


def _denied_inside(school: School, act: Act, name: str, kind: str) -> bool:
    try:
        with repository(school.home) as repo:
            act(Case(school.home, repo, repo.person(CODES[name]), repo.recording(film_id(kind))))
            raise _Undone
    except NotAllowed:
        return True
    except (_Undone, RunthroughError):
        return False


def _denied_alone(school: School, act: Act, name: str, kind: str) -> bool:
    put_back = forms.kept(school.home)
    with reading(school.home) as repo:
        case = Case(school.home, repo, repo.person(CODES[name]), repo.recording(film_id(kind)))
    try:
        act(case)
    except NotAllowed:
        return True
    except (RunthroughError, OSError):
        pass
    put_back()
    return False


@pytest.mark.parametrize("action", list(ON_FILM))
def test_recordings_are_open_to_whom_the_table_names(school: School, action: str) -> None:
    """Each action, each person, each way of sharing: denied, or not."""
    may_do, act = ON_FILM[action]
    let_in = {kind: {name for name in CODES if not _denied(school, action, act, name, kind)} for kind in FILMS}
    assert let_in == may_do


@pytest.mark.parametrize("action", list(IN_COURSE))
def test_courses_are_open_to_whom_the_table_names(school: School, action: str) -> None:
    """What is done to no recording is denied to all but those of the table."""
    may_do, act = IN_COURSE[action]
    assert {name for name in CODES if not _denied(school, action, act, name, "exemplar")} == may_do


@pytest.mark.parametrize("kind", list(operations.KINDS))
def test_no_operation_of_a_queue_is_done_for_who_may_not_see(school: School, kind: str) -> None:
    """Whatever the queue holds, a learner whom nobody asked and an outsider are denied before it is looked at."""
    for name in ("fellow", "elsewhere", "nowhere"):
        with reading(school.home) as repo:
            person = repo.person(CODES[name])
        with reading(school.home) as repo, pytest.raises(NotAllowed):
            operations.apply(repo, person, film_id("shared"), "browser-1", [{"seq": 1, "op": kind}])


def test_a_browser_name_is_each_persons_own(school: School) -> None:
    """Another's operations cannot be taken for done by sending higher numbers under the same name."""
    keep = {"op": "keep_phrase", "phrase_id": f"{UUID}8", "text": "Well guarded"}
    try:
        with repository(school.home) as repo:
            maker, peer = repo.person(CODES["maker"]), repo.person(CODES["peer"])
            taken = [{**keep, "seq": 50}]
            assert operations.apply(repo, peer, film_id("shared"), "browser-1", taken) == (50, [])
            mine = [{**keep, "seq": 1, "phrase_id": f"{UUID}7"}]
            assert operations.apply(repo, maker, film_id("shared"), "browser-1", mine) == (1, [])
            assert {one.id for one in repo.phrases().of(maker.id)} == {f"{UUID}7", f"{UUID}9"}
            raise _Undone
    except _Undone:
        pass
