"""What to practise next and why, and attempts over time."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from review.actions import checklists
from review.domain.checklist import Step
from review.domain.model import Person, Recording, Role, Uncovering
from review.report.practice import Run, due_words, practice
from review.report.progress import progress
from review.store.home import Home, find_home
from review.store.repository import repository
from tests.graded import furnish
from tests.store import made
from tests.store.made import WHEN

DAY = date(2026, 3, 16)
Furnished = tuple[Home, dict[str, Person], list[Recording]]


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Furnished:
    """Three attempts of L-07, a week apart."""
    return furnish(tmp_path_factory.mktemp("progress") / "home")


def step(critical: bool = False, points: float = 4) -> Step:
    """Make a step."""
    return Step("s", "Step", "", "", (), (), "Guard.", points, critical, (), (), (), ())


def run(share: float | None, days_ago: int = 0, attempt: int = 1) -> Run:
    """Make a run of a step so many days before `DAY`."""
    return Run(attempt, DAY - timedelta(days=days_ago), share, "a word", "I-02")


@pytest.mark.parametrize(
    ("critical", "share", "days"),
    [(False, 1, 7), (True, 1, 7), (False, 0.5, 3), (True, 0.5, 1), (False, 0, 1), (True, 0, 1), (False, None, 0)],
    ids=["fully", "critical, fully", "in part", "critical, in part", "missed", "critical, missed", "not judged"],
)
def test_how_a_step_went_sets_when_it_comes_again(critical: bool, share: float | None, days: int) -> None:
    """A week, three days, the next day; at once where it could not be judged."""
    planned = practice(step(critical), None, [run(share)], DAY)
    assert planned is not None
    assert (planned.due - DAY).days == days


def test_reasons_say_points_whether_critical_and_since_when() -> None:
    """Each reason is a sentence with its numbers."""
    planned = practice(step(critical=True), None, [run(1, 12, 1), run(0.5, 5, 2)], DAY)
    assert planned is not None
    assert planned.why == (
        "A critical step: missing it fails the sheet.",
        "2 of 4 points lost in attempt 2 (I-02: a word).",
        "Last done fully 12 days ago, in attempt 1.",
    )
    never = practice(step(points=1), None, [run(0)], DAY)
    assert never is not None
    assert never.why == ("1 of 1 point lost in attempt 1 (I-02: a word).", "Never done fully yet.")


def test_order_is_critical_then_points_then_longest_ago() -> None:
    """Critical steps first, then most points, then the last good run that lies furthest back."""
    plans = {
        "critical": practice(step(True, 1), None, [run(0)], DAY),
        "dear": practice(step(False, 5), None, [run(0)], DAY),
        "cheap, never good": practice(step(False, 2), None, [run(0)], DAY),
        "cheap, good long ago": practice(step(False, 2), None, [run(1, 30), run(0)], DAY),
        "cheap, good lately": practice(step(False, 2), None, [run(1, 3), run(0)], DAY),
    }
    ranks = {name: plan.rank for name, plan in plans.items() if plan is not None}
    assert sorted(ranks, key=lambda name: ranks[name]) == list(plans)


def test_never_graded_is_no_plan() -> None:
    """A step without a grade has nothing to be planned by."""
    assert practice(step(), None, [], DAY) is None


@pytest.mark.parametrize(("days", "words"), [(-3, "today"), (0, "today"), (1, "tomorrow"), (5, "in 5 days")])
def test_when_is_said_in_words(days: int, words: str) -> None:
    """What is overdue is due today."""
    assert due_words(DAY + timedelta(days=days), DAY) == words


def test_the_instructors_grade_counts(furnished: Furnished) -> None:
    """Of four grades of a step the one an instructor gave last counts; own grades only where nobody else's do."""
    home, cast, films = furnished
    told = progress(home, cast["L-07"], today=WHEN.date() + timedelta(days=15))
    json.dumps(told, allow_nan=False)
    assert [one["points"] for one in told["attempts"]] == [40.0, 65.0, pytest.approx(100 * 8 / 12)]
    guard = next(one for one in told["rows"] if one["step"] == "position_guard")
    assert [(cell["word"], cell["person"], cell["at"]) for cell in guard["cells"]] == [
        ("not yet", "I-02", 7.0),
        ("not yet", "I-03", 7.0),
        ("not yet", "I-03", 7.0),
    ]
    first = told["next"][0]
    assert (first["step"], first["due"], first["recording"], first["at"]) == (
        "position_guard",
        "today",
        films[2].id,
        7.0,
    )
    assert first["why"][1] == "4 of 4 points lost in attempt 3 (I-03: not yet)."
    assert first["caution"]


def test_another_learner_counts_as_a_peer(tmp_path: Path) -> None:
    """Where no instructor graded, the grade of whoever is not the learner counts before the learner's own."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        made.fill(repo)
        for who, level in ((made.OTHER_LEARNER, "not_yet"), (made.LEARNER, "yes")):
            repo.put_grade(made.grade(f"g-{who.code}", person_id=who.id, step_id="romberg", side=None, level=level))
        repo.uncoverings().note(Uncovering("a1b2c3", made.LEARNER.id, None, None, WHEN))
    (only,) = progress(home, made.LEARNER, today=DAY)["rows"]
    assert [(cell["word"], cell["person"]) for cell in only["cells"]] == [("not yet", "L-12")]


def test_what_is_covered_does_not_count(furnished: Furnished) -> None:
    """L-07 has not graded the closed eyes of attempt 3: what instructors said of them stays out, and is counted."""
    home, cast, _ = furnished
    told = progress(home, cast["L-07"], today=DAY)
    closed = next(one for one in told["rows"] if one["step"] == "eyes_closed")
    assert closed["cells"][2] is None
    assert told["covered"] == 2
    seen = progress(home, cast["I-03"], learner="L-07", today=DAY)
    assert next(one for one in seen["rows"] if one["step"] == "eyes_closed")["cells"][2]["word"] == "yes"


def test_what_is_not_due_comes_later(furnished: Furnished) -> None:
    """On the day of the last attempt, steps done fully then wait for a week; what could not be judged does not wait."""
    home, cast, _ = furnished
    told = progress(home, cast["L-07"], today=WHEN.date() + timedelta(days=14))
    assert [one["step"] for one in told["next"]] == ["result", "eyes_closed"]
    assert {one["step"]: one["due"] for one in told["later"]} == {
        "position_guard": "tomorrow",
        "consent_safety": "in 7 days",
        "place_ready": "in 7 days",
        "eyes_open": "in 7 days",
    }


def test_an_empty_home_says_what_to_do_first(tmp_path: Path) -> None:
    """Without attempts there is one sentence."""
    home = find_home(tmp_path / "home")
    me = Person("p", "L-01", Role.LEARNER)
    with repository(home) as repo:
        checklists.install_shipped(repo)
        repo.put_person(me)
    assert "Add a film on the page Recordings" in progress(home, me)["empty"]


def test_ungraded_attempts_say_what_to_do_first(furnished: Furnished) -> None:
    """For somebody to whom all is covered there is nothing to go by."""
    home, _, _ = furnished
    told = progress(home, Person("p-other", "L-30", Role.PEER), learner="L-07", today=DAY)
    assert "No step of these attempts is graded yet" in told["empty"]
    assert told["next"] == []
