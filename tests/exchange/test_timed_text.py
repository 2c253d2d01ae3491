"""WebVTT: the standard's own examples are read, its rules are kept by what is written, all faults are told."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.exchange.timed_text import metadata_track, read_cues, read_track
from tests.exchange.said import COMMENTS, MARKS, SAID, SUM

# W3C, WebVTT: The Web Video Text Tracks Format, section 1.4, "Metadata example" (shortened to two cues).
METADATA = """WEBVTT

ATTRIBUTES
kind: metadata

NOTE
Thanks to the source

1
00:00:00.100 --> 00:00:07.342
{
 "type": "WikipediaPage"
}

2
00:07.810 --> 00:09.221
{
 "type": "LongLat"
}
"""

# The same, section 4.5.1, "WebVTT file using only nested cues".
NESTED = """WEBVTT

00:00.000 --> 01:24.000
Introduction

00:00.000 --> 00:44.000
Topics

00:44.000 --> 01:19.000
Presenters

01:24.000 --> 05:00.000
Scrolling Effects
"""

# The same, section 1.2, "Comments in WebVTT".
COMMENTED = """WEBVTT - with a title

NOTE check next cue

00:05.000 --> 00:09.000 position:10%
It will perforate your stomach.
You could die.

NOTE end of file
"""


def cues(text: str) -> tuple[list[tuple[str, int, int, str]], list[str]]:
    """Return the cues of a text, and its faults."""
    faults: list[str] = []
    return [(cue.id, cue.onset_ms, cue.offset_ms, cue.text) for cue in read_cues(text, faults)], faults


def test_examples_of_the_standard() -> None:
    """Ids, times with and without hours, settings, notes and payloads of several lines are read as the standard has."""
    assert cues(METADATA) == (
        [("1", 100, 7342, '{\n "type": "WikipediaPage"\n}'), ("2", 7810, 9221, '{\n "type": "LongLat"\n}')],
        [],
    )
    assert [cue[1:] for cue in cues(NESTED)[0]] == [
        (0, 84000, "Introduction"),
        (0, 44000, "Topics"),
        (44000, 79000, "Presenters"),
        (84000, 300000, "Scrolling Effects"),
    ]
    assert cues(COMMENTED) == ([("", 5000, 9000, "It will perforate your stomach.\nYou could die.")], [])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("WEBVTTX\n", "expected WEBVTT"),
        ("WEBVTT\n\n00:03.000 --> 00:03.000\nx", "ends at or before its start"),
        ("WEBVTT\n\n00:03.000 --> 00:04.000\nx\n\n00:02.000 --> 00:04.000\ny", "line 6: the cue starts before"),
        ("WEBVTT\n\n00:61.000 --> 01:04.000\nx", "expected times"),
        ("WEBVTT\n\n00:03.00 --> 00:04.000\nx", "expected times"),
        ("WEBVTT\n\n0:00:03.000 --> 00:04.000\nx", "expected times"),
        ("WEBVTT\n\nid\nno times\nx", "expected times"),
        ("WEBVTT\n\n00:03.000 --> 00:04.000\na --> b", "--> stands in the text"),
    ],
    ids=["head", "no length", "not in order", "61 seconds", "two decimals", "one hour digit", "no times", "arrow"],
)
def test_broken_rules_are_told(text: str, words: str) -> None:
    """What the standard forbids is a fault with its line."""
    faults = cues(text)[1]
    assert len(faults) == 1
    assert words in faults[0]


def test_the_track_keeps_the_rules() -> None:
    """Cues are in order, each has a length, no text can end a cue, and every payload is an annotation of one line."""
    text = metadata_track(SAID)
    found, faults = cues(text)
    assert faults == []
    assert len(found) == 6
    assert text.count("-->") == 6
    assert [onset for _, onset, _, _ in found] == sorted(onset for _, onset, _, _ in found)
    assert all(json.loads(payload)["type"] == "Annotation" for _, _, _, payload in found)
    assert ("urn:uuid:00000000-0000-4000-8000-000000000002", 24300, 24301) in [cue[:3] for cue in found]


def test_the_track_is_read_back() -> None:
    """Marks and comments come back as they were; grades are counted; the film is named by its SHA-256."""
    heard = read_track(metadata_track(SAID))
    assert heard.faults == []
    assert {one for _, one in heard.marks} == set(MARKS)
    assert sorted((one for _, one in heard.comments), key=lambda one: one.id) == list(COMMENTS)
    assert (heard.films, heard.passed_over) == ({SUM}, {"grade": 1})


@given(st.text(max_size=200))
def test_no_comment_can_break_the_track(words: str) -> None:
    """Whatever a comment says, lines, arrows and control characters with it, it comes back as it was."""
    heard = read_track(metadata_track(replace(SAID, comments=(replace(COMMENTS[2], text=words),), marks=(), grades=())))
    assert (heard.faults, [one.text for _, one in heard.comments]) == ([], [words])


def test_a_moved_cue_is_told() -> None:
    """A cue that was moved without its annotation is a fault that says both times, beside all other faults."""
    text = metadata_track(SAID).replace("00:00:05.200 --> 00:00:24.200\n{", "00:00:05.100 --> 00:00:24.200\n{", 1)
    heard = read_track(text + "\n00:01:00.000 --> 00:01:01.000\nJust words.\n")
    assert len(heard.faults) == 2
    assert "00:00:05.100 to 00:00:24.200, its annotation at 00:00:05.200" in heard.faults[0]
    assert "its text is no JSON, as in captions and chapters" in heard.faults[1]
