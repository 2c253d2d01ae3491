"""The policy where people sign in: how one stands to a recording, what its examined person agreed to, one's courses."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import pytest

from review.access import Deed, demand, may
from review.domain.course import CourseRole
from review.domain.errors import NotAllowed
from review.domain.model import Person, Recording, Role
from review.domain.sharing import Audience, Bystanders, Purpose, Request, Sharing
from tests.store import made

DAY = date(2026, 3, 9)
COURSE = "balance"
MAKER = Person(made.LEARNER.id, "L-07", Role.LEARNER, {COURSE: CourseRole.LEARNER})
PEER = Person("p-peer", "L-12", Role.LEARNER, {COURSE: CourseRole.LEARNER})
FELLOW = Person("p-fellow", "L-20", Role.LEARNER, {COURSE: CourseRole.LEARNER})
TEACHER = Person("p-teacher", "I-01", Role.INSTRUCTOR, {COURSE: CourseRole.INSTRUCTOR})
OWNER = Person("p-owner", "I-02", Role.INSTRUCTOR, {COURSE: CourseRole.OWNER})
ELSEWHERE = Person("p-elsewhere", "I-09", Role.INSTRUCTOR, {"other": CourseRole.OWNER})
NOWHERE = Person("p-nowhere", "L-99", Role.INSTRUCTOR, {})
CAST = {
    "maker": MAKER,
    "peer": PEER,
    "fellow": FELLOW,
    "teacher": TEACHER,
    "owner": OWNER,
    "elsewhere": ELSEWHERE,
    "nowhere": NOWHERE,
}

RATING = {"maker", "peer", "teacher", "owner"}
ON_RECORDING = {
    Deed.SEE: RATING,
    Deed.WATCH: RATING | {"fellow"},
    Deed.ANALYSE: {"maker", "teacher", "owner"},
    Deed.CHANGE_RECORDING: {"maker"},
    Deed.ERASE_RECORDING: {"maker", "owner"},
    Deed.CORRECT_CAPTIONS: {"maker", "teacher", "owner"},
    Deed.MASK: {"maker", "teacher", "owner"},
    Deed.MARK: RATING,
    Deed.GRADE: RATING,
    Deed.ENTER: RATING,
    Deed.COMMENT: RATING,
    Deed.RESOLVE: RATING,
    Deed.SIGN_OFF: {"teacher", "owner"},
    Deed.UNCOVER: RATING,
    Deed.ATTACH_EXEMPLAR: {"teacher", "owner"},
    Deed.DETACH_EXEMPLAR: {"teacher", "owner"},
    Deed.CHANGE_ENTRY: RATING,
    Deed.SHARE: {"maker"},
    Deed.NOTE_CONSENT: {"maker", "owner"},
    Deed.SEE_LOOKS: {"maker", "owner"},
    Deed.ASSIGN: {"teacher", "owner"},
}
"""Who may do what to a recording that is handed in, an exemplar, shared with a peer, and agreed to by all."""

IN_COURSE = {
    Deed.ADD_RECORDING: {"maker", "peer", "fellow", "teacher", "owner"},
    Deed.KEEP_PHRASE: {"maker", "peer", "fellow", "teacher", "owner"},
    Deed.SAVE_CHECKLIST: {"teacher", "owner"},
    Deed.RETIRE_CHECKLIST: {"teacher", "owner"},
    Deed.SEE_CLASS: {"teacher", "owner"},
    Deed.SET_RETENTION: {"owner"},
    Deed.RUN_COURSE: {"owner"},
}

SHARED = Sharing(
    course_id=COURSE,
    handed_in_at=made.WHEN,
    requests=(Request("a1b2c3", PEER.id, Purpose.PEER, MAKER.id, made.WHEN),),
    consent=made.consent(),
    exemplar=True,
)


def _film(**changes: object) -> Recording:
    return made.recording(sharing=replace(SHARED, **changes))


def _who(deed: Deed, film: Recording, day: date = DAY) -> set[str]:
    return {name for name, person in CAST.items() if may(person, deed, film, owner=person.id, day=day)}


def test_the_tables_name_every_deed() -> None:
    """A deed that is added must be added to one of these tables as well."""
    assert not set(ON_RECORDING) & set(IN_COURSE)
    assert set(ON_RECORDING) | set(IN_COURSE) >= set(Deed)


@pytest.mark.parametrize("deed", list(ON_RECORDING), ids=str)
def test_what_is_shared_with_all_is_open_to_whom_the_table_names(deed: Deed) -> None:
    """With everything agreed and handed in, each deed is open to those whom the table names and to nobody else."""
    assert _who(deed, _film()) == ON_RECORDING[deed]


@pytest.mark.parametrize(("deed", "name"), list(product(IN_COURSE, CAST)), ids=str)
def test_what_is_done_in_a_course_depends_on_what_one_is_in_it(deed: Deed, name: str) -> None:
    """Deeds that are done to no recording are open to those whom the table names, in their own course only."""
    person = CAST[name]
    assert may(person, deed, owner=person.id, course=COURSE) is (name in IN_COURSE[deed])


@pytest.mark.parametrize(
    ("changes", "seen", "watched"),
    [
        ({"consent": None}, {"maker"}, {"maker"}),
        ({"handed_in_at": None}, {"maker", "peer"}, RATING | {"fellow"}),
        ({"requests": ()}, {"maker", "teacher", "owner"}, RATING | {"fellow"}),
        ({"exemplar": False}, RATING, RATING),
        ({"course_id": None}, {"maker"}, {"maker"}),
        ({"consent": made.consent(withdrawn=True)}, set(), set()),
        ({"consent": made.consent(bystanders=Bystanders.UNASKED)}, {"maker"}, {"maker"}),
        ({"consent": made.consent(bystanders=Bystanders.AGREED)}, RATING, RATING | {"fellow"}),
        ({"consent": made.consent(audiences=frozenset())}, {"maker"}, {"maker"}),
        ({"consent": made.consent(audiences=frozenset({Audience.PEERS}))}, {"maker", "peer"}, {"maker", "peer"}),
        (
            {"consent": made.consent(audiences=frozenset({Audience.INSTRUCTORS}))},
            {"maker", "teacher", "owner"},
            {"maker", "teacher", "owner"},
        ),
    ],
    ids=[
        "nothing agreed",
        "not handed in",
        "nobody asked",
        "no exemplar",
        "no course",
        "taken back",
        "bystanders not asked",
        "bystanders agreed",
        "agreed to nobody",
        "agreed to peers",
        "agreed to instructors",
    ],
)
def test_each_condition_closes_what_rests_on_it(changes: dict[str, object], seen: set[str], watched: set[str]) -> None:
    """Consent, handing in, being asked and being an exemplar each open the film to those it names."""
    film = _film(**changes)
    assert (_who(Deed.SEE, film), _who(Deed.WATCH, film)) == (seen, watched)


def test_consent_ends_after_its_last_day() -> None:
    """On the last day that was agreed the film may be shown, on the next it may not."""
    film = _film(consent=made.consent(until=DAY))
    assert _who(Deed.SEE, film) == RATING
    assert _who(Deed.SEE, film, DAY + timedelta(days=1)) == {"maker"}


def test_consent_taken_back_leaves_erasing_to_maker_and_owner() -> None:
    """After it was taken back, the film can be erased or consent be noted anew, by maker and owner, and no more."""
    film = _film(consent=made.consent(withdrawn=True))
    open_still = {deed: _who(deed, film) for deed in ON_RECORDING}
    assert {deed: who for deed, who in open_still.items() if who} == {
        Deed.ERASE_RECORDING: {"maker", "owner"},
        Deed.NOTE_CONSENT: {"maker", "owner"},
        Deed.SEE_LOOKS: {"maker", "owner"},
    }


def test_an_instructor_asked_as_second_needs_the_hand_in() -> None:
    """Being asked as an instructor opens nothing by itself: the learner hands in, and the partner agrees."""
    request = Request("a1b2c3", TEACHER.id, Purpose.SECOND, OWNER.id, made.WHEN)
    assert _who(Deed.SEE, _film(handed_in_at=None, requests=(request,))) == {"maker"}


@pytest.mark.parametrize("deed", [Deed.SIGN_OFF], ids=str)
def test_nobody_signs_an_attempt_of_ones_own(deed: Deed) -> None:
    """An instructor who added a film, handed it in and graded it still needs somebody else to sign it."""
    film = replace(_film(), added_by=TEACHER.id)
    assert _who(deed, film) == {"owner"}
    alone = Person(TEACHER.id, "I-01", Role.INSTRUCTOR)
    assert not may(alone, deed, film)
    with pytest.raises(NotAllowed, match="it is an attempt of one's own; somebody else has to"):
        demand(alone, deed, film)


def test_a_role_alone_opens_nothing_where_people_sign_in() -> None:
    """Who is an instructor by role and belongs to no course may do nothing at all."""
    assert not [deed for deed in Deed if may(NOWHERE, deed, _film(), owner=NOWHERE.id, course=COURSE)]


@pytest.mark.parametrize(
    ("deed", "film", "words"),
    [
        (
            Deed.SEE,
            _film(handed_in_at=None),
            r"I-01 \(instructor\) may not see this recording: that is for: .*handed in",
        ),
        (Deed.MARK, _film(consent=made.consent(withdrawn=True)), "took the consent back"),
        (Deed.RUN_COURSE, None, "that is for: owner of a course"),
    ],
    ids=["standing", "withdrawn", "course"],
)
def test_a_denial_says_for_whom_it_is(deed: Deed, film: Recording | None, words: str) -> None:
    """The message says how one would have to stand to the recording or the course."""
    with pytest.raises(NotAllowed, match=words):
        demand(TEACHER, deed, film)
