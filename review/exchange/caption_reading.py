"""Captions out of a WebVTT file: cues as plain text, without their markup."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from review.exchange.timed_text import TimedText, read_cues

_VOICE: Final = re.compile(r"<v(?:\.[^ \t\n>]*)?[ \t\n]+([^>]+)>")
_TAG: Final = re.compile(r"<[^>]*>")
_UNSEEN: Final = str.maketrans("", "", "\u200e\u200f")


def read_captions(text: str, faults: list[str]) -> Iterator[TimedText]:
    """Go through the cues of a file of captions, their text on one line; cues without words are passed over.

    What breaks the rules of WebVTT, or is no caption but an annotation of ours, is added to `faults`.
    """
    for cue in read_cues(text, faults):
        if _is_annotation(cue.text):
            faults.append(
                f"cue at line {cue.line}: its text is JSON, as in the file of marks and comments; expected plain words"
            )
            continue
        plain = plain_text(cue.text)
        if plain:
            yield replace(cue, text=plain)


def plain_text(text: str) -> str:
    """Return the text of a cue as it is read aloud: on one line, who speaks before a colon, no other markup.

    References
    ----------
    W3C, WebVTT: The Web Video Text Tracks Format, section 4.2.2 (WebVTT caption or subtitle cue text).

    Examples
    --------
    >>> plain_text("<v.loud Examiner>Close your <i>eyes</i>,<00:00:02.000> please</v> &amp; stand still")
    'Examiner: Close your eyes, please & stand still'
    """
    named = _VOICE.sub(lambda found: f"{' '.join(found[1].split())}: ", text)
    return " ".join(html.unescape(_TAG.sub("", named)).translate(_UNSEEN).split())


def _is_annotation(text: str) -> bool:
    if not text.lstrip().startswith("{"):
        return False
    try:
        return isinstance(json.loads(text), dict)
    except (ValueError, RecursionError):
        return False
