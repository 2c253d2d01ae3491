"""What people said of one attempt, as files carry it: plain texts, and times in whole milliseconds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Final

from review.domain.model import Side

SCHEMA_VERSION: Final = 1
"""Version of all our exported files; it rises when a reader of the old ones would misread the new ones."""

LONGEST_S: Final = 1e7
"""No film lasts longer."""


@dataclass(frozen=True, slots=True)
class Author:
    """Who said something: a code such as L-07, and the role."""

    code: str
    role: str


@dataclass(frozen=True, slots=True)
class SaidMark:
    """A mark: where a step lies, in milliseconds from the first frame."""

    id: str
    step: str
    side: Side | None
    onset_ms: int
    offset_ms: int
    by: Author
    at: datetime


@dataclass(frozen=True, slots=True)
class SaidComment:
    """A comment; `step` is None where it is about none, `reply_to` the id of what it answers.

    `shape` is what is drawn, under the names of `review.domain.model.Shape`; as a file gives it, it may be anything.
    """

    id: str
    step: str | None
    side: Side | None
    onset_ms: int
    offset_ms: int
    text: str
    by: Author
    at: datetime
    reply_to: str | None = None
    shape: Any = None
    settled: bool = False


@dataclass(frozen=True, slots=True)
class SaidGrade:
    """A grade; `onset_ms` and `offset_ms` are the seconds it is about, None where the step is not marked."""

    id: str
    step: str
    side: Side | None
    criterion: str | None
    level: str
    word: str
    confidence: int | None
    given: str | None
    by: Author
    at: datetime
    onset_ms: int | None = None
    offset_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Said:
    """What people said of one attempt, as far as the person who asks may see it.

    Parameters
    ----------
    film_sha256, name, width_px, height_px, duration_ms
        The film.
    checklist, checklist_version
        The sheet.
    titles
        Title of each step by its id.
    left_out
        How many grades, comments and entries of others are still covered and not in here.
    """

    film_sha256: str
    name: str
    width_px: int
    height_px: int
    duration_ms: int
    checklist: str
    checklist_version: int
    titles: Mapping[str, str]
    marks: tuple[SaidMark, ...] = ()
    comments: tuple[SaidComment, ...] = ()
    grades: tuple[SaidGrade, ...] = ()
    left_out: int = 0


@dataclass(slots=True)
class Heard:
    """What a file says: marks and comments, each with where it stands in the file; and what is wrong with it.

    `films` are the SHA-256 sums of the films it speaks of, `passed_over` counts what is not read back, by its kind.
    """

    films: set[str] = field(default_factory=set)
    marks: list[tuple[str, SaidMark]] = field(default_factory=list)
    comments: list[tuple[str, SaidComment]] = field(default_factory=list)
    passed_over: dict[str, int] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def pass_over(self, kind: str) -> None:
        """Count something that is not read back."""
        self.passed_over[kind] = self.passed_over.get(kind, 0) + 1


def moment_text(at: datetime) -> str:
    """Write a moment by ISO 8601, in coordinated universal time, to the microsecond."""
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def read_moment(text: str) -> datetime:
    """Read a moment by ISO 8601.

    Raises
    ------
    ValueError
        If it is none, or has no zone.
    """
    at = datetime.fromisoformat(text)
    if at.tzinfo is None:
        raise ValueError(f"the time {text[:40]!r} has no zone; expected one such as 2026-05-04T10:00:00Z")
    return at


def whole_ms(seconds: float) -> int:
    """Return seconds as whole milliseconds.

    Raises
    ------
    ValueError
        If they are no number, or more than any film has.
    """
    if not abs(seconds) < LONGEST_S:
        raise ValueError(f"a time is {seconds} s; expected seconds of a film")
    return round(1000 * seconds)


def read_side(text: str | None) -> Side | None:
    """Read a side; nothing and empty text are none.

    Raises
    ------
    ValueError
        If it is neither left nor right.
    """
    if text in (None, ""):
        return None
    if text == "left":
        return "left"
    if text == "right":
        return "right"
    raise ValueError(f"the side is {str(text)[:20]!r}; expected left, right or nothing")
