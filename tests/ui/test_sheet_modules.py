"""The modules of the contact sheet, called in a real browser without the pages around them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.screens import Site, modules_run

pytestmark = pytest.mark.browser

Run = Callable[..., Any]

MODULES = ("comment", "filters", "link", "phrases", "shapes", "sparkline", "state", "story")

LEVELS = [
    {"key": "done", "word": "done", "share": 1},
    {"key": "missed", "word": "missed", "share": 0},
    {"key": "not_assessable", "word": "cannot be judged", "share": None},
]


@pytest.fixture(scope="module")
def run(chromium: Any, site: Site) -> Iterator[Run]:
    """Return a function that evaluates code in a page of ours, with the modules' exports in `m`."""
    with modules_run(chromium, site, *MODULES) as evaluated:
        yield evaluated


def facts(own: str | None = None, *others: str, covered: bool = False, marked: bool = True) -> dict[str, Any]:
    """Make what is known of a step: one's own grade and those of others."""
    mark = {"onset_s": 1, "offset_s": 2} if marked else None
    grade = None if own is None else {"level": own}
    given = [{"level": level} for level in others]
    known = {"mark": mark, "otherMarks": [], "grade": grade, "graded": grade is not None, "otherGrades": given}
    return {**known, "covered": covered, "levels": LEVELS}


@pytest.mark.parametrize(
    ("name", "known", "shown"),
    [
        ("all", facts(), True),
        ("unmarked", facts(marked=False), True),
        ("unmarked", facts(), False),
        ("ungraded", facts(None, "done"), True),
        ("ungraded", facts("done"), False),
        ("missed", facts("missed"), True),
        ("missed", facts("done", "missed"), True),
        ("missed", facts(None, "missed", covered=True), False),
        ("missed", facts("not_assessable"), False),
        ("disagreed", facts("done", "missed"), True),
        ("disagreed", facts("done", "done"), False),
        ("disagreed", facts("done"), False),
        ("disagreed", facts("done", "missed", covered=True), False),
    ],
)
def test_filters_look_at_what_one_may_see(run: Run, name: str, known: dict[str, Any], shown: bool) -> None:
    """Not assessable is no miss, and what is covered does not count."""
    assert run("([name, facts]) => m.fits(name, facts)", [name, known]) is shown


def test_the_key_goes_through_all_filters_and_round(run: Run) -> None:
    """As many presses as there are filters lead back to all."""
    code = """() => {
        const seen = ["all"];
        do seen.push(m.nextFilter(seen.at(-1))); while (seen.at(-1) !== "all");
        return seen;
    }"""
    assert run(code) == ["all", "unmarked", "ungraded", "missed", "disagreed", "all"]


def test_runs_of_a_small_curve(run: Run) -> None:
    """What is there and what is not alternate, and together they are the whole curve."""
    runs = run("() => m.runsOf([null, 1, 2, null, null, 3])")
    assert [(one["there"], one["from"], one["to"]) for one in runs] == [
        (False, 0, 1),
        (True, 1, 3),
        (False, 3, 5),
        (True, 5, 6),
    ]


def test_a_small_curve_in_words(run: Run) -> None:
    """A screen reader hears range, unit, and how much is missing and why."""
    spark = {"title": "sway", "column": "", "unit": "mm", "points": [1, None, 3.25, 2], "why": "feet out of view"}
    assert run("(spark) => m.sparkWords(spark)", spark) == "sway: from 1 to 3.25 mm, 25 % unusable: feet out of view"
    assert run("(spark) => m.sparkWords(spark)", {**spark, "points": [None, None]}).startswith("sway: nothing usable")


@pytest.mark.parametrize(
    ("text", "start", "end", "result", "at"),
    [
        ("", 0, 0, "Nearer.", 7),
        ("Stand", 5, 5, "Stand Nearer.", 13),
        ("Stand ", 6, 6, "Stand Nearer.", 13),
        ("Stand please", 6, 6, "Stand Nearer. please", 14),
        ("Stand far", 6, 9, "Stand Nearer.", 13),
    ],
    ids=["empty", "behind", "behind a blank", "between", "over a selection"],
)
def test_a_phrase_is_put_in_with_blanks(run: Run, text: str, start: int, end: int, result: str, at: int) -> None:
    """Words never run together, and the cursor stands behind what was put in."""
    found = run("([text, from, to]) => m.inserted(text, from, to, 'Nearer.')", [text, start, end])
    assert found == {"text": result, "at": at}


@pytest.mark.parametrize(
    ("ends", "time", "playing", "on"),
    [
        ((4.0, 4.0), 4.0, False, True),
        ((4.0, 4.0), 4.04, False, False),
        ((4.0, 4.0), 4.5, True, True),
        ((4.0, 4.0), 5.0, True, False),
        ((4.0, 6.0), 5.9, False, True),
        ((4.0, 6.0), 3.9, True, False),
    ],
)
def test_a_drawing_is_on_at_its_time(run: Run, ends: tuple[float, float], time: float, playing: bool, on: bool) -> None:
    """A moment's drawing is on its frame, and a little longer while the film plays; a stretch's all through it."""
    comment = {"onset_s": ends[0], "offset_s": ends[1]}
    assert run("([comment, time, playing]) => m.isOn(comment, time, playing)", [comment, time, playing]) is on


def test_a_shape_moved_by_keys_stays_in_the_picture(run: Run) -> None:
    """Moved as a whole or at its rim, no place leaves the picture; a point has one place only."""
    circle = {"kind": "circle", "x": 0.98, "y": 0.5, "x2": 0.99, "y2": 0.5}
    code = "([shape, right, down, end]) => m.moved(shape, right, down, end)"
    assert run(code, [circle, 0.05, 0, False]) == {**circle, "x": 1, "x2": 1}
    assert run(code, [circle, 0, -0.01, True]) == {**circle, "y2": 0.49}
    assert run("(shape) => m.stored({ ...shape, kind: 'point' })", circle) == {"kind": "point", "x": 0.98, "y": 0.5}


def test_answers_stand_behind_what_they_answer(run: Run) -> None:
    """Two comments of one moment keep their answers apart; an answer to one that is gone stands by itself."""
    comments = [("a", None), ("b", None), ("c", "a"), ("d", "gone"), ("e", "c")]
    given = [{"id": name, "reply_to": to} for name, to in comments]
    assert run("(all) => m.threaded(all).map((one) => one.id)", given) == ["a", "c", "e", "b", "d"]


@pytest.mark.parametrize(
    ("history", "text"),
    [
        ([("done", "before", False)], ""),
        ([("done", "before", False), ("missed", "after", False)], "Graded before seeing: done; after: missed"),
        ([("done", "before", False), ("done", "after", False)], ""),
        ([("missed", "after", False)], "Graded after seeing: missed"),
        ([("done", None, False), ("missed", None, False)], ""),
        ([("done", "before", False), ("missed", "after", True)], ""),
    ],
    ids=["blind only", "changed", "kept", "never blind", "not noted", "taken back"],
)
def test_grading_before_and_after_seeing_in_a_line(run: Run, history: list[tuple[Any, ...]], text: str) -> None:
    """Only a change, or a grade that was never blind, is worth a line."""
    told = [{"level": level, "confidence": 2, "when": when, "removed": gone} for level, when, gone in history]
    assert run("([history, levels]) => m.gradingStory({ history }, levels)", [told, LEVELS]) == text


@pytest.mark.parametrize(
    ("hash_", "time"),
    [("#t=12.5", 12.5), ("#t=0", 0), ("#a=1&t=3", 3), ("", None), ("#t=", None), ("#t=-1", None), ("#tt=3", None)],
)
def test_second_in_an_address(run: Run, hash_: str, time: float | None) -> None:
    """Only a plain number of seconds counts."""
    assert run("(hash) => m.timeOfHash(hash)", hash_) == time


def test_link_names_recording_and_second_and_nobody(run: Run) -> None:
    """What leads to the second leads to it for whoever opens it."""
    address = "http://127.0.0.1:8610/review?recording=ab12&as=I-02#t=1"
    assert run("(address) => m.linkTo(address, 'ab12', 217 / 30)", address).endswith("#t=7.234")
    assert (
        run("(address) => m.linkTo(address, 'ab12', 4.2)", address)
        == "http://127.0.0.1:8610/review?recording=ab12#t=4.200"
    )


def test_of_several_marks_the_open_or_nearest_is_in_hand(run: Run) -> None:
    """Brackets mean the mark without an end, else the one around or nearest to the film's time."""
    mark = {"step": "w", "side": None, "mine": True}
    two = [{**mark, "id": "one", "onset_s": 1, "offset_s": 3}, {**mark, "id": "two", "onset_s": 8, "offset_s": 9}]
    code = "([marks, time]) => m.ofRow({ marks, grades: [], comments: [] }, { step: 'w', side: null }, time).mark.id"
    assert [run(code, [two, time]) for time in (0, 2, 5, 6.5, 20)] == ["one", "one", "one", "two", "two"]
    begun = {**mark, "id": "open", "onset_s": 15, "offset_s": 15}
    assert run(code, [[*two, begun], 2]) == "open"
