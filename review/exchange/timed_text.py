"""WebVTT: cues written and read, and a metadata track whose cues carry annotations.

References
----------
W3C, WebVTT: The Web Video Text Tracks Format, sections 4.1 (file structure), 4.2.1 (metadata text) and 6.1 (parsing).
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from review.exchange.annotation_reading import MOMENT_MS, hear
from review.exchange.said import Heard, Said, SaidComment, SaidMark
from review.exchange.web_annotation import annotated

_TIME: Final = r"(?:(\d{2,6}):)?([0-5]\d):([0-5]\d)\.(\d{3})"
_TIMING: Final = re.compile(rf"{_TIME}[ \t]+-->[ \t]+{_TIME}(?:[ \t]+(.*))?", re.ASCII)
_ASIDE: Final = ("NOTE", "STYLE", "REGION", "ATTRIBUTES")


@dataclass(frozen=True, slots=True)
class TimedText:
    """A cue as it was read: the line that it begins on, its id, its times in milliseconds, and its lines of text."""

    line: int
    id: str
    onset_ms: int
    offset_ms: int
    text: str


def clock(ms: int) -> str:
    """Write a time as WebVTT does: hours, minutes, seconds and three decimals."""
    minutes, rest = divmod(ms, 60_000)
    return f"{minutes // 60:02d}:{minutes % 60:02d}:{rest // 1000:02d}.{rest % 1000:03d}"


def metadata_track(said: Said) -> str:
    """Return marks, comments and grades as a WebVTT metadata track; the text of each cue is its annotation as JSON.

    Characters that could end a cue are written as JSON escapes, so that "-->" cannot occur.
    """
    cues = sorted(annotated(said), key=lambda one: (one[0], one[1], one[2]["id"]))
    blocks = [
        f"{annotation['id']}\n{clock(onset_ms)} --> {clock(max(offset_ms, onset_ms + MOMENT_MS))}\n{_json(annotation)}"
        for onset_ms, offset_ms, annotation in cues
    ]
    return "\n\n".join(["WEBVTT", *blocks]) + "\n"


def _json(annotation: dict[str, Any]) -> str:
    text = json.dumps(annotation, ensure_ascii=False)
    return text.replace(">", "\\u003e").replace("<", "\\u003c").replace("&", "\\u0026")


def read_track(text: str) -> Heard:
    """Read a metadata track of ours; what is wrong with it stands in the answer's faults, all at once."""
    heard = Heard()
    for cue in read_cues(text, heard.faults):
        where = f"cue at line {cue.line}"
        try:
            annotation = json.loads(cue.text)
        except (ValueError, RecursionError):
            heard.faults.append(
                f"{where}: its text is no JSON, as in captions and chapters; expected the file of marks and comments"
            )
            continue
        before = len(heard.marks), len(heard.comments)
        hear(heard, where, annotation)
        _agree(heard, before, cue, where)
    return heard


def _agree(heard: Heard, before: tuple[int, int], cue: TimedText, where: str) -> None:
    """Hold that a cue and its annotation speak of the same seconds."""
    told: list[tuple[str, SaidMark | SaidComment]] = [*heard.marks[before[0] :], *heard.comments[before[1] :]]
    for _, one in told:
        if (one.onset_ms, max(one.offset_ms, one.onset_ms + MOMENT_MS)) != (cue.onset_ms, cue.offset_ms):
            heard.faults.append(
                f"{where}: the cue is at {clock(cue.onset_ms)} to {clock(cue.offset_ms)}, its annotation at "
                f"{clock(one.onset_ms)} to {clock(one.offset_ms)}; expected the same: change both or none"
            )


def read_cues(text: str, faults: list[str]) -> Iterator[TimedText]:
    """Go through the cues of a WebVTT file; what breaks its rules is added to `faults` and passed over."""
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not re.fullmatch(r"WEBVTT(?:[ \t].*)?", lines[0]):
        faults.append(f"line 1: {lines[0][:40]!r} came; expected WEBVTT")
        return
    last_ms = 0
    for number, block in _blocks(lines):
        if block[0].split(" ")[0].split("\t")[0] in _ASIDE and not any("-->" in line for line in block):
            continue
        cue = _cue(number, block, last_ms, faults)
        if cue is not None:
            last_ms = cue.onset_ms
            yield cue


def _blocks(lines: Iterable[str]) -> Iterator[tuple[int, list[str]]]:
    """Go through the runs of lines that blank lines part, after the head; each with the number of its first line."""
    block: list[str] = []
    begun = 0
    for number, line in enumerate([*lines, ""], 1):
        if line:
            block.append(line)
            begun = begun or number
        elif block:
            if begun > 1:
                yield begun, block
            block, begun = [], 0


def _cue(number: int, block: list[str], last_ms: int, faults: list[str]) -> TimedText | None:
    at = next((place for place, line in enumerate(block[:2]) if "-->" in line), None)
    timing = None if at is None else _TIMING.fullmatch(block[at])
    if at is None or timing is None:
        told = block[0 if at is None else at][:60]
        faults.append(f"line {number}: {told!r} came; expected times such as 00:00:03.000 --> 00:00:07.500")
        return None
    onset_ms, offset_ms = _milliseconds(timing.groups()[:4]), _milliseconds(timing.groups()[4:8])
    told_faults = []
    if offset_ms <= onset_ms:
        told_faults.append(f"line {number + at}: the cue ends at or before its start; expected a later end")
    if onset_ms < last_ms:
        told_faults.append(f"line {number + at}: the cue starts before the one above it; expected them in order")
    if any("-->" in line for line in block[at + 1 :]):
        told_faults.append(f"line {number + at + 1}: --> stands in the text of a cue; expected no arrow there")
    faults += told_faults
    text = "\n".join(block[at + 1 :])
    return None if told_faults else TimedText(number, block[0] if at else "", onset_ms, offset_ms, text)


def _milliseconds(parts: Iterable[str | None]) -> int:
    hours, minutes, seconds, rest = (int(part or 0) for part in parts)
    return ((hours * 60 + minutes) * 60 + seconds) * 1000 + rest
