from __future__ import annotations

import math
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from review.domain.checklist_file import parse_checklist
from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Estimate, Event, Interval, Pointing, Reason, Role, Value
from review.store.database import Database
from review.store.home import Home
from review.store.repository import Job, Repository, reading, repository
from tests.store import made

RECORDING = "a1b2c3"


def _other(repo: Repository, identity: str, **facts: Any) -> None:
    repo.add_recording(made.recording(identity, **facts))


def test_a_recording_comes_back_as_it_was(database: Database) -> None:
    """Every fact of a recording survives, with microseconds, missing height and notes."""
    with reading(database) as repo:
        assert repo.recording(RECORDING) == made.recording()
        assert repo.recording_of(made.recording().sha256) == made.recording()
        assert repo.recording_of("f" * 64) is None


def test_recordings_are_listed_newest_first(database: Database) -> None:
    """The order is that of adding, read as moments: 20:00 at +03:00 lies before 18:30 at UTC."""
    early = datetime(2026, 3, 2, 20, 0, tzinfo=timezone(timedelta(hours=3)))
    with repository(database) as repo:
        _other(repo, "b1", added_at=made.WHEN + timedelta(days=1))
        _other(repo, "b2", added_at=early)
    with reading(database) as repo:
        assert [recording.id for recording in repo.recordings()] == ["b1", RECORDING, "b2"]
        assert repo.recording("b2").added_at == early
        assert repo.recording("b2").added_at.tzinfo == UTC


@pytest.mark.parametrize(
    ("asked", "found"), [("a1b2c3", "a1b2c3"), ("a1b2d", "a1b2d4"), ("a1b2c3f", "a1b2c3ff")], ids=str
)
def test_a_recording_is_found_by_its_id_or_a_beginning(database: Database, asked: str, found: str) -> None:
    """A whole id wins over longer ones that begin with it; else the beginning must fit one."""
    with repository(database) as repo:
        _other(repo, "a1b2d4")
        _other(repo, "a1b2c3ff")
    with reading(database) as repo:
        assert repo.recording(asked).id == found


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("a1", "begins the ids of 2 recordings: a1b2c3, a1b2d4"),
        (made.recording().name, "is the name of 2 recordings: a1b2c3, a1b2d4"),
        ("zz", "No recording is called 'zz'"),
        ("", "''"),
    ],
    ids=["ambiguous", "same name", "unknown", "empty"],
)
def test_a_recording_that_cannot_be_told_is_not_guessed(database: Database, asked: str, words: str) -> None:
    """A beginning of several ids, or of none, names what there is."""
    with repository(database) as repo:
        _other(repo, "a1b2d4")
    with pytest.raises(NotFound, match=words), reading(database) as repo:
        repo.recording(asked)


def test_a_recording_is_found_by_its_name(database: Database) -> None:
    """Where only one is called so."""
    with reading(database) as repo:
        assert repo.recording(made.recording().name).id == RECORDING


def test_a_film_is_one_recording(database: Database) -> None:
    """The same film under another id is refused and names the one that is there."""
    with pytest.raises(EntryRefused, match="already, as recording a1b2c3"), repository(database) as repo:
        repo.add_recording(replace(made.recording(), id="other"))


def test_facts_of_a_recording_can_be_changed_but_not_its_film(database: Database) -> None:
    """Answers given later are stored; another film under the same id is not."""
    changed = replace(made.recording(), mirrored=True, partner_height_mm=1720.0, notes=())
    with repository(database) as repo:
        repo.recording(RECORDING)
        repo.update_recording(changed)
        assert repo.recording(RECORDING) == changed
    with pytest.raises(NotFound, match="of this film"), repository(database) as repo:
        repo.update_recording(replace(changed, sha256="e" * 64))


def test_people_are_found_by_code_or_id(database: Database) -> None:
    """Both names lead to the same person; an unknown one is answered with close codes."""
    with reading(database) as repo:
        assert repo.person("L-07") == repo.person(made.LEARNER.id) == made.LEARNER
        assert [person.code for person in repo.people()] == ["I-01", "L-07", "L-12", "P-03"]
        with pytest.raises(NotFound, match=r"'L-70'\. Did you mean .*L-07"):
            repo.person("L-70")


def test_a_person_can_change_the_role(database: Database) -> None:
    """Putting a person again replaces the facts under the same id."""
    with repository(database) as repo:
        repo.put_person(replace(made.PEER, role=Role.INSTRUCTOR))
    with reading(database) as repo:
        assert repo.person("P-03").role is Role.INSTRUCTOR


def test_checklists_keep_their_versions(database: Database) -> None:
    """Without a version the newest is taken; an old one stays as it was."""
    text = made.SHEET.replace("version = 1", "version = 2").replace("Short sheet", "Changed sheet")
    with repository(database) as repo:
        repo.put_checklist(parse_checklist(text, "second"), text)
    with reading(database) as repo:
        assert repo.checklist("short_sheet").title == "Changed sheet"
        assert repo.checklist("short_sheet", 1).title == "Short sheet"
        assert [(sheet.id, sheet.version) for sheet in repo.checklists()] == [("short_sheet", 2)]
        with pytest.raises(NotFound, match=r"short_sheet, version 3.*Did you mean"):
            repo.checklist("short_sheet", 3)
        with pytest.raises(NotFound, match="Did you mean short_sheet"):
            repo.checklist("short_shed")


def test_a_stored_version_is_never_rewritten(database: Database) -> None:
    """The same version with the same text is taken silently, with another text refused."""
    with repository(database) as repo:
        sheet = repo.checklist("short_sheet")
        repo.put_checklist(sheet, made.SHEET)
    with pytest.raises(EntryRefused, match="raise the version"), repository(database) as repo:
        repo.put_checklist(sheet, made.SHEET + "\n# changed")


Kind = tuple[str, Callable[..., Any]]
KINDS: list[Kind] = [("mark", made.mark), ("grade", made.grade), ("comment", made.comment), ("entry", made.entry)]
SEVERAL = {"mark": "marks", "grade": "grades", "comment": "comments", "entry": "entries"}
ENTRIES = pytest.mark.parametrize(("kind", "make"), KINDS, ids=[name for name, _ in KINDS])


@ENTRIES
def test_every_revision_is_kept_and_the_highest_counts(database: Database, kind: str, make: Callable[..., Any]) -> None:
    """Three revisions of an entry are three entries of its history, of which the last is the current one."""
    revisions = [make(f"{kind}-x", number, at=made.WHEN + timedelta(seconds=number)) for number in (1, 2, 3)]
    for entry in revisions:
        with repository(database) as repo:
            getattr(repo, f"put_{kind}")(entry)
    with reading(database) as repo:
        assert getattr(repo, f"{kind}_history")(f"{kind}-x") == tuple(revisions)
        assert getattr(repo, SEVERAL[kind])(RECORDING) == (revisions[-1],)
        assert getattr(repo, kind)(f"{kind}-x") == revisions[-1]


@ENTRIES
def test_a_removed_entry_leaves_the_current_ones_and_keeps_its_history(
    database: Database, kind: str, make: Callable[..., Any]
) -> None:
    """A last revision that says removed takes the entry out of the list, not out of the history."""
    with repository(database) as repo:
        for entry in (make("x"), make("x", 2, removed=True), make("y")):
            getattr(repo, f"put_{kind}")(entry)
        assert [entry.id for entry in getattr(repo, SEVERAL[kind])(RECORDING)] == ["y"]
        assert [entry.removed for entry in getattr(repo, f"{kind}_history")("x")] == [False, True]
        assert getattr(repo, kind)("x").removed


@ENTRIES
@pytest.mark.parametrize("revision", [1, 3, 0], ids=["again", "skipping one", "none"])
def test_a_revision_must_follow_the_last(
    database: Database, kind: str, make: Callable[..., Any], revision: int
) -> None:
    """Whoever changes an entry that was changed meanwhile is told, and nothing is overwritten."""
    with repository(database) as repo:
        getattr(repo, f"put_{kind}")(make("x"))
    with pytest.raises(EntryRefused, match=rf"{kind} was changed meanwhile.*expected 2"), repository(database) as repo:
        getattr(repo, f"put_{kind}")(make("x", revision))


@ENTRIES
@pytest.mark.parametrize("facts", [{"recording_id": "b1"}, {"person_id": made.PEER.id}], ids=["recording", "person"])
def test_an_entry_stays_with_its_recording_and_person(
    database: Database, kind: str, make: Callable[..., Any], facts: dict[str, str]
) -> None:
    """A second revision under another recording's or person's name is refused."""
    with repository(database) as repo:
        _other(repo, "b1")
        getattr(repo, f"put_{kind}")(make("x"))
    with pytest.raises(EntryRefused, match="belongs to another"), repository(database) as repo:
        getattr(repo, f"put_{kind}")(make("x", 2, **facts))


@ENTRIES
def test_an_unknown_entry_is_said(database: Database, kind: str, make: Callable[..., Any]) -> None:
    """One that never was has no history and is not found."""
    with reading(database) as repo:
        assert getattr(repo, f"{kind}_history")("never") == ()
        with pytest.raises(NotFound, match=f"No {kind} has the id 'never'"):
            getattr(repo, kind)("never")


def test_marks_and_comments_come_in_the_order_of_the_film(database: Database) -> None:
    """Both are sorted by onset, whatever order they were put in; other recordings' stay out."""
    with repository(database) as repo:
        _other(repo, "b1")
        repo.put_mark(made.mark("elsewhere", recording_id="b1"))
        for onset_s in (9.0, 2.5, 7.0):
            repo.put_mark(made.mark(f"m{onset_s}", onset_s=onset_s))
            repo.put_comment(made.comment(f"c{onset_s}", interval=Interval(onset_s, onset_s)))
        assert [mark.interval.onset_s for mark in repo.marks(RECORDING)] == [2.5, 7.0, 9.0]
        assert [comment.interval.onset_s for comment in repo.comments(RECORDING)] == [2.5, 7.0, 9.0]


NUMBERS = st.none() | st.floats(allow_nan=True, allow_infinity=True)
SIDES = st.sampled_from(["left", "right", None])
SECONDS = st.floats(0, 7200)
INTERVALS = st.builds(lambda onset_s, length_s: Interval(onset_s, onset_s + length_s), SECONDS, SECONDS)
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)
EVENTS = st.builds(Event, TEXTS, INTERVALS, SIDES, st.none() | st.floats(allow_infinity=False))
ESTIMATES = st.builds(
    Estimate,
    NUMBERS,
    NUMBERS,
    NUMBERS,
    st.floats(0, 1) | st.just(math.nan),
    st.lists(st.sampled_from(Reason), max_size=4).map(tuple),
    st.lists(INTERVALS, max_size=3).map(tuple),
    SIDES,
)
VALUES = st.lists(
    st.builds(
        Value,
        recording_id=st.just(RECORDING),
        measure=TEXTS,
        unit=st.sampled_from(["deg", "1", "mm"]),
        estimate=ESTIMATES,
        step_id=st.just("romberg"),
        step_side=SIDES,
        events=st.lists(EVENTS, max_size=3).map(tuple),
    ),
    max_size=5,
)


def _stated(number: float | None) -> float | None:
    return None if number is None or number != number else number


def _as_stored(value: Value) -> Value:
    """Say what a value must be after storing: None for NaN, and no usable frames for a share that is NaN."""
    estimate = value.estimate
    numbers = {name: _stated(getattr(estimate, name)) for name in ("value", "low", "high")}
    events = tuple(replace(event, peak=_stated(event.peak)) for event in value.events)
    return replace(value, estimate=replace(estimate, **numbers, usable=_stated(estimate.usable) or 0.0), events=events)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(values=VALUES)
def test_values_come_back_with_what_is_missing_said(database: Database, values: list[Value]) -> None:
    """Any values come back in their order, bit for bit, with None where a number was NaN or None."""
    with repository(database) as repo:
        repo.put_values(RECORDING, "romberg", values)
    with reading(database) as repo:
        assert repo.values(RECORDING) == tuple(_as_stored(value) for value in values)


def test_numbers_of_numpy_are_stored_as_numbers(database: Database) -> None:
    """Single-precision numbers and NaN of numpy do not land as bytes."""
    estimate = Estimate(np.float32(0.5), np.float64(0.25), np.float32(np.nan), np.float64(1))
    with repository(database) as repo:
        repo.put_values(RECORDING, None, [Value(RECORDING, "stance_width", "1", estimate)])
        assert [value.estimate for value in repo.values(RECORDING)] == [Estimate(0.5, 0.25, None, 1.0)]


def test_computed_values_are_replaced_for_their_step_only(database: Database) -> None:
    """Computing a step again replaces its values and leaves those of the film and of other steps."""

    def value(step_id: str | None, number: float) -> Value:
        return Value(RECORDING, "stance_width", "1", Estimate(number, number, number, 1.0), step_id)

    with repository(database) as repo:
        repo.put_values(RECORDING, "romberg", [value("romberg", 1), value("romberg", 2)])
        repo.put_values(RECORDING, None, [value(None, 3)])
        repo.put_values(RECORDING, "knee", [value("knee", 4)])
        repo.put_values(RECORDING, "romberg", [value("romberg", 5)])
        found = [(one.step_id, one.estimate.value) for one in repo.values(RECORDING)]
        assert found == [(None, 3), ("knee", 4), ("romberg", 5)]
        repo.put_values(RECORDING, None, [])
        assert [one.step_id for one in repo.values(RECORDING)] == ["knee", "romberg"]
        with pytest.raises(EntryRefused, match="expected those of recording"):
            repo.put_values(RECORDING, "knee", [value("romberg", 6)])


def test_browsers_are_told_apart(database: Database) -> None:
    """Each browser has its own last number, 0 before the first."""
    with repository(database) as repo:
        repo.set_applied("one", 7)
        repo.set_applied("one", 9)
        assert [repo.applied("one"), repo.applied("two")] == [9, 0]


def test_a_job_is_kept_in_its_last_state(database: Database) -> None:
    """Progress overwrites progress; a recording never analysed has no job."""
    job = Job(RECORDING, "running", 3, 10, "", made.WHEN, 4711)
    with repository(database) as repo:
        assert repo.job(RECORDING) is None
        repo.put_job(job)
        repo.put_job(replace(job, state="done", done=10, pid=None))
    with reading(database) as repo:
        assert repo.job(RECORDING) == replace(job, state="done", done=10, pid=None)


def test_jobs_come_with_those_served_longest_ago_first(database: Database) -> None:
    """A recording that was never served comes before one that was, so that no film waits behind a long one."""
    with repository(database) as repo:
        _other(repo, "b1")
        repo.put_job(Job(RECORDING, "running", 3, 10, "", made.WHEN, 1, "Looking closely", 12.5, made.WHEN))
        repo.put_job(Job("b1", "waiting", 0, 10, "", made.WHEN))
        assert [job.recording_id for job in repo.jobs()] == ["b1", RECORDING]
        assert repo.jobs()[1].left_s == 12.5


def test_pointings_are_kept_by_moment_and_can_be_taken_back(database: Database) -> None:
    """The earliest moment comes first; what was taken back is not given."""
    first = Pointing("p1", RECORDING, 4.0, 0.25, 0.5, made.LEARNER.id, made.WHEN)
    second = Pointing("p2", RECORDING, 1.5, 0.75, 0.5, made.LEARNER.id, made.WHEN)
    with repository(database) as repo:
        repo.put_pointing(first)
        repo.put_pointing(second)
        assert repo.pointings(RECORDING) == (second, first)
        repo.put_pointing(replace(second, removed=True))
        assert repo.pointings(RECORDING) == (first,)


def test_erasing_takes_everything_of_a_recording_out_of_the_files(home: Home, filed: Database) -> None:
    """After erasing, neither rows nor bytes of a recording's entries are left, though another process looks on."""
    watching = sqlite3.connect(home.database)
    watching.execute("SELECT count(*) FROM recordings").fetchall()
    secret = "an-unusual-remark-to-look-for"
    estimate = Estimate(1.0, 0.5, 1.5, 1.0)
    with repository(filed) as repo:
        _other(repo, "b1")
        repo.put_comment(made.comment("kept", recording_id="b1", text="kept remark"))
        repo.put_comment(made.comment(text=secret))
        repo.put_comment(made.comment(revision=2, text="changed", removed=True))
        repo.put_mark(made.mark())
        repo.put_grade(made.grade())
        repo.put_entry(made.entry(text="an-unusual-result"))
        repo.put_values(RECORDING, None, [Value(RECORDING, "gaze_sweep", "deg", estimate)])
        repo.put_job(Job(RECORDING, "done", 1, 1, "", made.WHEN))
    assert _bytes(home).count(secret.encode()) > 0
    with repository(filed) as repo:
        repo.erase_recording(RECORDING)
    with reading(filed) as repo:
        assert [recording.id for recording in repo.recordings()] == ["b1"]
        assert [comment.text for comment in repo.comments("b1")] == ["kept remark"]
        assert (
            repo.comment_history("c1")
            == repo.mark_history("m1")
            == repo.grade_history("g1")
            == repo.entry_history("e1")
            == ()
        )
        assert repo.values(RECORDING) == ()
        assert repo.job(RECORDING) is None
    assert secret.encode() not in _bytes(home)
    assert b"gaze_sweep" not in _bytes(home)
    assert b"an-unusual-result" not in _bytes(home)
    assert b"kept remark" in _bytes(home)
    watching.close()


def _bytes(home: Home) -> bytes:
    return b"".join(path.read_bytes() for path in sorted(home.root.iterdir()) if path.is_file())


def test_erasing_something_unknown_is_said(database: Database) -> None:
    """A recording that is not there cannot be erased."""
    with pytest.raises(NotFound), repository(database) as repo:
        repo.erase_recording("zz")
