"""One's own marks as chapters: a file of nested cues only, as the standard defines it, and nobody else's marks."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.actions import checklists, marks, people
from review.domain.model import Role
from review.exchange.cues import Cue, web_vtt
from review.exchange.timed_text import read_cues
from review.report.chapters import chapters, nested
from review.store.home import find_home
from review.store.repository import repository
from tests.store.made import recording

NESTED = """WEBVTT

00:00.000 --> 01:24.000
Introduction

00:00.000 --> 00:44.000
Topics

00:44.000 --> 01:19.000
Presenters

01:24.000 --> 05:00.000
Scrolling Effects

01:35.000 --> 03:00.000
Achim's Demo

03:00.000 --> 05:00.000
Timeline Panel
"""
"""The example of the standard, section 4.5.1, of a file that uses only nested cues."""

NOT_NESTED = """WEBVTT

00:00.000 --> 01:00.000
The First Minute

00:30.000 --> 01:30.000
The Final Minute
"""
"""The example of the same section of a file that does not."""


def read(text: str) -> list[Cue]:
    """Read the cues of a file that breaks none of the standard's rules."""
    faults: list[str] = []
    found = [Cue(cue.id, cue.onset_ms, cue.offset_ms, cue.text) for cue in read_cues(text, faults)]
    assert faults == []
    return found


def only_nested(cues: list[Cue]) -> bool:
    """Say whether any two cues lie apart, or one fully within the other: what makes the tree of section 4.5.1."""
    return all(
        one.offset_ms <= two.onset_ms
        or two.offset_ms <= one.onset_ms
        or (one.onset_ms >= two.onset_ms and one.offset_ms <= two.offset_ms)
        or (one.onset_ms <= two.onset_ms and one.offset_ms >= two.offset_ms)
        for one, two in combinations(cues, 2)
    )


def times(cues: list[Cue]) -> list[tuple[int, int]]:
    """Return onsets and ends in seconds."""
    return [(cue.onset_ms // 1000, cue.offset_ms // 1000) for cue in cues]


def test_what_is_nested_stays_as_it_is() -> None:
    """The standard's own example of nested cues comes out unchanged."""
    cues = read(NESTED)
    assert only_nested(cues)
    assert nested(cues) == cues


def test_what_overlaps_is_trimmed() -> None:
    """In the standard's example of a file that is not nested, the first minute ends where the final minute begins."""
    cues = read(NOT_NESTED)
    assert not only_nested(cues)
    assert times(nested(cues)) == [(0, 30), (30, 90)]


@pytest.mark.parametrize(
    ("spans", "left"),
    [
        ([(0, 10), (2, 8), (5, 9)], [(0, 10), (2, 5), (5, 9)]),
        ([(0, 10), (1, 9), (5, 20)], [(0, 5), (1, 5), (5, 20)]),
        ([(0, 5), (0, 10)], [(0, 10), (0, 5)]),
        ([(3, 4), (3, 4)], [(3, 4), (3, 4)]),
        ([(0, 4), (4, 8)], [(0, 4), (4, 8)]),
    ],
    ids=["within a third", "two at once", "same onset", "the same twice", "one after the other"],
)
def test_only_ends_are_moved(spans: list[tuple[int, int]], left: list[tuple[int, int]]) -> None:
    """A cue within another stays; one that begins within and outlasts it ends it."""
    assert times(nested(Cue(str(at), 1000 * on, 1000 * off, "") for at, (on, off) in enumerate(spans))) == left


@given(st.lists(st.tuples(st.integers(0, 40), st.integers(1, 40)), max_size=12))
def test_any_marks_make_a_file_of_nested_cues(spans: list[tuple[int, int]]) -> None:
    """Whatever was marked: the file breaks no rule of the standard, its cues nest, and every onset is there."""
    cues = [Cue(f"m{at}", onset, onset + length, "Step <1> & --> 2") for at, (onset, length) in enumerate(spans)]
    found = read(web_vtt(nested(cues)))
    assert only_nested(found)
    assert {(cue.id, cue.onset_ms) for cue in found} == {(cue.id, cue.onset_ms) for cue in cues}
    assert all(cue.text == "Step &lt;1&gt; &amp; --&gt; 2" for cue in found)


def test_chapters_are_ones_own_marks_with_an_end(tmp_path: Path) -> None:
    """Titles are the sheet's numbers and words; marks of others, and one that has no end yet, are left out."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner, instructor = people.ensure(repo, "L-07", Role.LEARNER), people.ensure(repo, "I-02", Role.INSTRUCTOR)
        film = recording(checklist_id="neuro_screening", checklist_version=2, added_by=learner.id, duration_s=20.0)
        repo.add_recording(film)
        for step, side, onset_s, offset_s in (
            ("reflex_patellar", "left", 8.0, 12.0),
            ("introduction_consent", None, 1.0, 4.5),
            ("hand_hygiene", None, 15.0, 15.0),
        ):
            marks.place(repo, learner, film, step, side, onset_s, offset_s)
        marks.place(repo, instructor, film, "introduction_consent", None, 2.0, 5.0)
    found = read(chapters(home, learner, film))
    assert times(found) == [(1, 4), (8, 12)]
    assert re.fullmatch(r"\d+ .*, left", found[1].text)
    assert [len(read(chapters(home, one, film))) for one in (learner, instructor)] == [2, 1]
