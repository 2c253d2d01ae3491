"""Comments for players: at their seconds, in the form of WebVTT, nothing that is covered."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from review.actions import checklists, comments, people
from review.actions.uncovering import uncover
from review.domain.model import Comment, Interval, Person, Recording, Role
from review.exchange.cues import web_vtt
from review.report.comment_track import comment_track, cue_of
from review.store.home import Home, find_home
from review.store.repository import repository
from tests.store.made import WHEN, recording

SAID = Comment("c1", "b1", Interval(3725.5, 3725.5), "Look again.", "p1", WHEN)


def test_a_moment_stays_for_three_seconds() -> None:
    """A short remark at a moment is a cue of 3 s with hours, minutes, seconds and milliseconds."""
    assert web_vtt([cue_of(SAID, "I-02")]) == "WEBVTT\n\nc1\n01:02:05.500 --> 01:02:08.500\nI-02: Look again.\n"


@pytest.mark.parametrize(
    ("seconds", "text", "end"),
    [
        (Interval(10, 10), "x" * 75, "00:00:15.000"),
        (Interval(10, 10), "x" * 999, "00:00:18.000"),
        (Interval(10, 40), "x", "00:00:40.000"),
    ],
    ids=["as long as it takes to read", "no longer than 8 s", "its own stretch"],
)
def test_how_long_a_comment_stays(seconds: Interval, text: str, end: str) -> None:
    """A second for every 15 characters, up to 8 s; a comment on a longer stretch stays for that."""
    written = web_vtt([cue_of(replace(SAID, interval=seconds, text=text), "I-02")])
    assert f"00:00:10.000 --> {end}" in written


def test_no_comment_can_break_the_form() -> None:
    """Arrows, tags and blank lines in a comment stay text of one cue; cues come by their onset."""
    wild = replace(SAID, id="c2", interval=Interval(1, 1), text="a --> b\n\n<b>&amp;")
    blocks = web_vtt([cue_of(SAID, "I-02"), cue_of(wild, "L-07")]).strip().split("\n\n")
    assert blocks[0] == "WEBVTT"
    assert [block.split("\n")[0] for block in blocks[1:]] == ["c2", "c1"]
    assert blocks[1].split("\n")[2:] == ["L-07: a --&gt; b", "&lt;b&gt;&amp;amp;"]


@pytest.fixture
def said(tmp_path: Path) -> tuple[Home, Recording, Person]:
    """Make a home in which an instructor said something of a step, and a learner looks."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner, instructor = people.ensure(repo, "L-07", Role.LEARNER), people.ensure(repo, "I-02", Role.INSTRUCTOR)
        film = recording(checklist_id="balance_only", checklist_version=1, added_by=learner.id, duration_s=20.0)
        repo.add_recording(film)
        comments.write(repo, instructor, film, 4.0, None, "Stand nearer.", "position_guard")
        comments.write(repo, learner, film, 5.0, None, "I was nervous.", "position_guard")
    return home, film, learner


def test_the_track_is_blind_first(said: tuple[Home, Recording, Person]) -> None:
    """What others said of a step comes when it is uncovered; what one said oneself is always there."""
    home, film, learner = said
    before = comment_track(home, learner, film.id)
    with repository(home) as repo:
        uncover(repo, learner, film)
    after = comment_track(home, learner, film.id)
    assert ("Stand nearer." in before, "I was nervous." in before) == (False, True)
    assert "I-02: Stand nearer." in after
