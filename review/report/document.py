"""The report of one attempt as it is printed: what the Review page shows, in the order of the sheet."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from review.domain.model import Person, Recording, Shape
from review.exchange.qr import code_picture, is_reachable
from review.exchange.svg import drawn_on
from review.pipeline.stills import still_pictures
from review.report.attempt import board
from review.report.consents import consent_words
from review.report.outcome_words import result_words
from review.report.results import added_up
from review.store.home import Home
from review.store.repository import reading

FRAME_HEIGHT_PX: Final = 240
CODE: Final = "code.svg"
"""File name of the picture with the attempt's address."""

_SURE: Final = {1: "unsure", 2: "fairly sure", 3: "sure", None: ""}
_WHEN: Final = {"before": "before seeing estimates", "after": "after seeing estimates", None: ""}


@dataclass(frozen=True, slots=True)
class Document:
    """A report: its contents as plain JSON values, and its pictures by file name (``.jpg`` or ``.svg``)."""

    contents: Mapping[str, Any]
    pictures: Mapping[str, bytes]


@dataclass(slots=True)
class _Frames:
    """Collects the frames that a report shows, so that the film is read once."""

    asked: dict[str, tuple[float, Shape | None]] = field(default_factory=dict)

    def ask(self, time_s: float, words: str, shape: Shape | None = None) -> dict[str, str]:
        name = f"frame{len(self.asked):04d}.{'jpg' if shape is None else 'svg'}"
        self.asked[name] = (time_s, shape)
        return {"file": name, "time": clock_words(time_s), "alt": words}


def document(home: Home, person: Person, recording: Recording, address: str, made_at: datetime) -> Document:
    """Return the report of an attempt for one person; what is covered for that person is not in it.

    Parameters
    ----------
    address
        Where the pages are served, such as ``http://127.0.0.1:8610``: links to a second of the film begin so.
    made_at
        When the report is made, with a zone.
    """
    shown = board(home, recording.id, person)
    frames = _Frames()
    paper = _Paper(shown, frames, recording.id, address)
    code = {CODE: code_picture(paper.page)} if is_reachable(address) else {}
    contents = {
        "language": "en",
        "title": f"{recording.name}, attempt {recording.attempt}",
        "subject": f"Review of a practised check-off: {shown['title']}",
        "notice": shown["notice"],
        "facts": _facts(recording, shown, person, paper.link(0.0), made_at),
        "code": {"file": CODE, "alt": f"QR code of the address {paper.page}"} if code else None,
        "left_out": _left_out(shown),
        "raters": paper.raters(),
        "glance": paper.glance(),
        "sums": _sums(home, person, recording, paper.raters()),
        "sign_off": _sign_off(shown["sign_off"]),
        "sections": paper.sections(),
        "remarks": paper.comments(None, None),
    }
    return Document(contents, _pictures(home, recording, frames) | code)


def _sums(home: Home, person: Person, recording: Recording, raters: Sequence[str]) -> list[dict[str, Any]]:
    """Return what each rater's grades add up to; of those that are covered in part, that they are."""
    with reading(home) as repo:
        found = [added_up(repo, person, recording, repo.person(code)) for code in raters]
    return [
        {
            "who": f"{one.rater.code}, {one.rater.role}",
            "words": "covered in part" if one.result is None else result_words(one.result),
            "reasons": [] if one.result is None else list(one.result.reasons),
        }
        for one in found
    ]


def _sign_off(told: Mapping[str, Any]) -> dict[str, Any] | None:
    """Return what is signed, whether it still holds, and what was signed before; None where nothing is."""
    if not told["versions"]:
        return None
    warning = "Not as it was signed" if told["faults"] else "Changed since it was signed" if told["changed"] else ""
    return {
        "last": _version(told["versions"][-1]),
        "before": [_version(one) for one in told["versions"][-2::-1]],
        "warning": warning,
        "changes": told["faults"] or told["changes"],
    }


def _version(one: Mapping[str, Any]) -> dict[str, Any]:
    when = datetime.fromisoformat(one["at"])
    return {
        "words": "Result covered for you" if one["covered"] else str(one["words"]).capitalize(),
        "conditions": one["conditions"],
        "sum": one["sum"],
        "who": f"Version {one['version']}, signed by {one['person']}, {one['role']}, on {when:%Y-%m-%d %H:%M %Z}",
        "digest": f"Digest (SHA-256): {one['digest']}",
    }


def _facts(
    recording: Recording, shown: Mapping[str, Any], person: Person, link: str, made_at: datetime
) -> list[dict[str, str]]:
    told = {
        "Sheet": str(shown["title"]),
        "Film": f"{clock_words(recording.duration_s)} long, added on {recording.added_at:%Y-%m-%d}",
        "Printed for": f"{person.code}, {person.role}",
        "Printed on": f"{made_at:%Y-%m-%d %H:%M %Z}",
        "Examined person": consent_words(recording.sharing.consent, made_at.date()),
        "Film's SHA-256": recording.sha256,
        "Open the attempt": link,
    }
    return [{"word": word, "text": text} for word, text in told.items()]


def _left_out(shown: Mapping[str, Any]) -> str:
    """Say how much of what others said is covered and not printed; empty for nothing."""
    rows = [row["covers"] for section in shown["sections"] for row in section["rows"]]
    count = sum(row["grades"] + row["entries"] for row in rows) + sum(one["covered"] for one in shown["comments"])
    values = any(row["values"] for row in rows)
    told = [f"{count} grades, results and comments of others"] if count else []
    told += ["estimates of the film"] if values else []
    if not told:
        return ""
    return f"Not printed, since they are still covered for you: {' and '.join(told)}. Grade first, then print again."


def _pictures(home: Home, recording: Recording, frames: _Frames) -> dict[str, bytes]:
    times = [min(time_s, recording.duration_s) for time_s, _ in frames.asked.values()]
    found = still_pictures(home, recording, times, FRAME_HEIGHT_PX) if times else []
    width = round(FRAME_HEIGHT_PX * recording.width_px / recording.height_px)
    return {
        name: picture if shape is None else drawn_on(picture, shape, width, FRAME_HEIGHT_PX).encode()
        for (name, (_, shape)), picture in zip(frames.asked.items(), found, strict=True)
    }


def clock_words(time_s: float) -> str:
    """Write a time as minutes and seconds, as the pages do.

    Examples
    --------
    >>> clock_words(64.2), clock_words(59.999)
    ('1:04.20', '1:00.00')
    """
    hundredths = round(100 * time_s)
    return f"{hundredths // 6000}:{hundredths % 6000 / 100:05.2f}"


class _Paper:
    """Turns what a board shows into what is printed."""

    def __init__(self, shown: Mapping[str, Any], frames: _Frames, recording_id: str, address: str) -> None:
        self._shown = shown
        self._frames = frames
        self.page = f"{address.rstrip('/')}/review?recording={recording_id}"
        self._words = {level["key"]: level["word"] for level in shown["scale"]["levels"]}
        self._rows = [row for section in shown["sections"] for row in section["rows"]]

    def link(self, time_s: float) -> str:
        """Return the address of a second; rounded up, since rounded down it would be the frame before."""
        return f"{self.page}#t={math.ceil(time_s * 1000 - 1e-6) / 1000:.3f}"

    def raters(self) -> list[str]:
        """Return who graded a step as a whole, as far as it is not covered: those of the same role side by side."""
        order = {"learner": 0, "peer": 1, "instructor": 2}
        found = {(order[one["role"]], one["person"]) for one in self._shown["grades"] if one["criterion"] is None}
        return [code for _, code in sorted(found)]

    def glance(self) -> list[dict[str, Any]]:
        """Return a row for each step: its title, its seconds, and the grade of each rater."""
        return [
            {
                "title": _title(row),
                "critical": row["critical"],
                "seconds": self._seconds(row)["words"],
                "grades": [self._grade_of(row, code) for code in self.raters()],
            }
            for row in self._rows
        ]

    def _grade_of(self, row: Mapping[str, Any], code: str) -> str:
        """Return the word of a rater's grade of a step; of others' on covered steps not even whether there is one."""
        given = (one["level"] for one in self._of("grades", row) if one["person"] == code and one["criterion"] is None)
        level = next(given, None)
        if level is not None:
            return str(self._words.get(level, level))
        if any(one["person"] == code for one in self._of("grades", row)):
            return "by criteria"
        return "covered" if row["covered"] and code != self._shown["me"]["code"] else "no grade"

    def sections(self) -> list[dict[str, Any]]:
        """Return the sections with those steps of which something is said or marked."""
        found = [
            {"title": section["title"], "steps": [self._step(row) for row in section["rows"] if self._told_of(row)]}
            for section in self._shown["sections"]
        ]
        return [section for section in found if section["steps"]]

    def _told_of(self, row: Mapping[str, Any]) -> bool:
        said = [
            *self._of("grades", row),
            *self._of("entries", row),
            *self._of("comments", row),
            *self._of("marks", row),
        ]
        return bool(said)

    def _of(self, kind: str, row: Mapping[str, Any]) -> list[Mapping[str, Any]]:
        place = (row["step"], row["side"])
        return [one for one in self._shown[kind] if (one["step"], one["side"]) == place]

    def _step(self, row: Mapping[str, Any]) -> dict[str, Any]:
        title = _title(row)
        frames = [
            self._frames.ask(
                time_s, f"Frame {number} of {len(row['stills'])} of the step {title}, at {clock_words(time_s)}"
            )
            for number, time_s in enumerate(row["stills"], 1)
        ]
        return {
            "title": title,
            "critical": row["critical"],
            "points": f"{row['points']:g}",
            "expected": row["expected"],
            "caution": row["caution"],
            "seconds": self._seconds(row),
            "notes": list(row["notes"]),
            "frames": frames,
            "covered": row["covered"],
            "values": [self._value(value) for value in row["values"]],
            "grades": [self._grade(one, row) for one in self._of("grades", row)],
            "entries": [
                {"who": one["person"], "words": f"{one['text']} ({one['words']})"} for one in self._of("entries", row)
            ],
            "comments": self.comments(row["step"], row["side"]),
        }

    def _seconds(self, row: Mapping[str, Any]) -> dict[str, str]:
        """Return the seconds that count for the person who looks: the mark that the row's values come from."""
        own = [one for one in self._of("marks", row) if one["person"] == row["values_from"]]
        mark = max(own, key=lambda one: (one["onset_s"], one["offset_s"]), default=None)
        if mark is None:
            return {"words": "", "link": "", "by": ""}
        words = f"{clock_words(mark['onset_s'])} to {clock_words(mark['offset_s'])}"
        return {"words": words, "link": self.link(mark["onset_s"]), "by": str(mark["person"])}

    def _value(self, value: Mapping[str, Any]) -> dict[str, str]:
        title = f"{value['title']}, {value['side']}" if value["side"] else str(value["title"])
        return {"title": title, "words": str(value["words"]), "verdict": str(value["verdict"] or "")}

    def _grade(self, grade: Mapping[str, Any], row: Mapping[str, Any]) -> dict[str, str]:
        criteria = {one["id"]: one["text"] for one in row["criteria"]}
        last: Mapping[str, Any] = grade["history"][-1]
        return {
            "who": f"{grade['person']}, {grade['role']}",
            "of": criteria.get(grade["criterion"], grade["criterion"] or "the step"),
            "word": self._words.get(grade["level"], grade["level"]),
            "sure": "; ".join(filter(None, (_SURE.get(grade["confidence"], ""), _WHEN.get(last["when"], "")))),
        }

    def comments(self, step: str | None, side: str | None) -> list[dict[str, Any]]:
        """Return the comments about a step, or those about none, each with the answers to it after it."""
        here = [
            one for one in self._shown["comments"] if (one["step"], one["side"]) == (step, side) and not one["covered"]
        ]
        known = {one["id"] for one in here}
        first = [one for one in here if one["reply_to"] not in known]
        return [self._comment(one, _answers(here, one["id"])) for one in first]

    def _comment(self, comment: Mapping[str, Any], answers: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
        return {
            "who": f"{comment['person']}, {comment['role']}",
            "seconds": clock_words(comment["onset_s"]),
            "link": self.link(comment["onset_s"]),
            "text": comment["text"],
            "settled": comment["resolved"],
            "frame": self._drawn(comment),
            "answers": [{"who": f"{one['person']}, {one['role']}", "text": one["text"]} for one in answers],
        }

    def _drawn(self, comment: Mapping[str, Any]) -> dict[str, str] | None:
        if comment["shape"] is None:
            return None
        shape = Shape(**comment["shape"])
        place = f"{100 * shape.x:.0f} % from the left and {100 * shape.y:.0f} % from the top"
        words = (
            f"Frame at {clock_words(comment['onset_s'])} with the {shape.kind} that {comment['person']} drew, {place}"
        )
        return self._frames.ask(comment["onset_s"], words, shape)


def _answers(here: Sequence[Mapping[str, Any]], comment_id: str) -> list[Mapping[str, Any]]:
    """Return the answers to a comment and the answers to those, as written."""
    direct = [one for one in here if one["reply_to"] == comment_id]
    return [found for one in direct for found in (one, *_answers(here, one["id"]))]


def _title(row: Mapping[str, Any]) -> str:
    return f"{row['title']}, {row['side']}" if row["side"] else str(row["title"])
