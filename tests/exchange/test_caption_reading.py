"""Captions out of WebVTT files: the standard's own example, markup taken off, annotations of ours refused."""

from __future__ import annotations

from review.exchange.caption_reading import plain_text, read_captions

# W3C, WebVTT: The Web Video Text Tracks Format (Editor's Draft), "Caption cues with multiple lines".
ANNOUNCEMENT = """WEBVTT

00:01.000 --> 00:04.000
Never drink liquid nitrogen.

00:05.000 --> 00:09.000
\u2014 It will perforate your stomach.
\u2014 You could die.

00:10.000 --> 00:14.000
The Organisation for Sample Public Service Announcements accepts no liability for the content of this advertisement, \
or for the consequences of any actions taken on the basis of the information provided.
"""


def test_the_example_of_the_standard() -> None:
    """Three cues, at their milliseconds, with their words."""
    faults: list[str] = []
    found = [(one.onset_ms, one.offset_ms, one.text) for one in read_captions(ANNOUNCEMENT, faults)]
    assert faults == []
    assert found[:2] == [
        (1000, 4000, "Never drink liquid nitrogen."),
        (5000, 9000, "\u2014 It will perforate your stomach. \u2014 You could die."),
    ]
    assert found[2][2].startswith("The Organisation for Sample Public Service Announcements accepts no liability")


def test_markup_is_taken_off() -> None:
    """Classes, languages, ruby, times and escapes (section "WebVTT caption or subtitle cue text") leave plain words."""
    assert plain_text("<c.loud>Left</c> <00:01.000><lang en>two&nbsp;plus</lang>&lrm; &lt;2&gt;") == "Left two plus <2>"
    assert plain_text("<v L 07>Yes\n<v The partner>No") == "L 07: Yes The partner: No"


def test_all_faults_are_told_and_silence_is_passed_over() -> None:
    """An annotation and a broken time are both named; a cue of blanks is no caption."""
    faults: list[str] = []
    text = 'WEBVTT\n\n00:01.000 --> 00:02.000\n{"id": 1}\n\n9.0 --> 10.000\nx\n\n00:11.000 --> 00:12.000\n<b> </b>'
    assert list(read_captions(text, faults)) == []
    assert (len(faults), "its text is JSON" in faults[0], "expected times" in faults[1]) == (2, True, True)
    braces = "WEBVTT\n\n00:01.000 --> 00:02.000\n{sic} left\n"
    assert [one.text for one in read_captions(braces, faults)] == ["{sic} left"]
