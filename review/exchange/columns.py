"""The tables that are exported: their columns, what each means, and the codebook that says so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final, Literal

Kind = Literal["text", "integer", "number", "yes or no", "moment"]

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: name, kind of value, unit (empty for none) and meaning."""

    name: str
    kind: Kind
    unit: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table: name, what one row is, and the columns."""

    name: str
    row: str
    columns: tuple[Column, ...]


def _text(name: str, meaning: str) -> Column:
    return Column(name, "text", "", meaning)


def _times(prefix: str, what: str) -> tuple[Column, ...]:
    """Return four columns: both ends of a stretch, in seconds to three decimals and in whole milliseconds."""
    ends = (("onset", "start"), ("offset", "end"))
    units: tuple[tuple[Kind, str], ...] = (("number", "s"), ("integer", "ms"))
    return tuple(
        Column(f"{prefix}{end}_{unit}", kind, unit, f"{word} of {what}, from the first frame of the film")
        for end, word in ends
        for kind, unit in units
    )


ATTEMPT: Final = (
    Column("schema_version", "integer", "", "version of these tables"),
    _text("film_sha256", "SHA-256 of the film's file, 64 hexadecimal digits"),
    _text("recording_id", "id of the recording here"),
    _text("recording_name", "name of the recording"),
    Column("attempt", "integer", "", "number of the attempt"),
    _text("checklist_id", "id of the check-off sheet"),
    Column("checklist_version", "integer", "", "version of the sheet"),
)
"""Columns that begin every table."""

_STEP: Final = (
    _text("step_id", "id of the step in the sheet; empty where it is about no step"),
    _text("step_title", "title of the step"),
    _text("side", "left or right, the examined person's own; empty for a step without sides"),
)
_WHO: Final = (
    _text("rater", "code of the person who said it"),
    _text("role", "learner, peer or instructor"),
)

GRADES: Final = Table(
    "grades",
    "a rater and an item: a step on a side, or one criterion of it",
    (
        *ATTEMPT,
        _text("section_id", "id of the section of the sheet"),
        *_STEP,
        _text("criterion_id", "id of the criterion; empty for the step as a whole"),
        Column("critical", "yes or no", "", "whether missing the step fails the sheet"),
        Column(
            "points_possible", "number", "points", "points for the full item; empty for a criterion without its own"
        ),
        Column("weight", "number", "", "how many times the points count in the sums"),
        *_WHO,
        Column("covered", "yes or no", "", "whether the grade is kept from the person who exported (blind first)"),
        _text("level", "key of the level on the sheet's scale; empty where not graded or covered"),
        _text("level_word", "the level's word"),
        Column("points", "number", "points", "points that the level gives, unweighted; empty for not assessable"),
        Column("confidence", "integer", "", "how sure the rater was: 1 unsure, 2 fairly sure, 3 sure"),
        _text("given", "before or after the rater saw estimates and others' grades; empty where not noted"),
        Column("graded_at", "moment", "", "when the grade was given"),
        *_times("mark_", "the rater's own mark of the step (the last one)"),
    ),
)

MARKS: Final = Table(
    "marks",
    "a mark",
    (
        *ATTEMPT,
        _text("mark_id", "id of the mark, a UUID"),
        *_STEP,
        *_WHO,
        *_times("", "the mark"),
        Column("marked_at", "moment", "", "when the mark was set or moved"),
    ),
)

COMMENTS: Final = Table(
    "comments",
    "a comment",
    (
        *ATTEMPT,
        _text("comment_id", "id of the comment, a UUID"),
        *_STEP,
        *_WHO,
        *_times("", "what the comment is about; a moment has both ends equal"),
        _text("text", "the comment"),
        _text("reply_to", "id of the comment that it answers"),
        Column("settled", "yes or no", "", "whether somebody said that it is settled"),
        _text("shape_kind", "what is drawn on the frame at the start: point, circle or arrow"),
        Column(
            "shape_x",
            "number",
            "share",
            "place of the point, middle of the circle, start of the arrow; share of the width",
        ),
        Column("shape_y", "number", "share", "the same, share of the height from the top"),
        Column("shape_x2", "number", "share", "place on the rim of the circle, tip of the arrow; share of the width"),
        Column("shape_y2", "number", "share", "the same, share of the height from the top"),
        Column("written_at", "moment", "", "when the comment was written or changed"),
    ),
)

ENTRIES: Final = Table(
    "entries",
    "a typed-in result",
    (
        *ATTEMPT,
        _text("entry_id", "id of the entry, a UUID"),
        *_STEP,
        *_WHO,
        _text("kind", "kind of result: acuity, whisper, reflex, weber or rinne"),
        _text("text", "the result as typed"),
        _text("words", "the result as it was read, with its conversions"),
        Column("entered_at", "moment", "", "when it was entered"),
    ),
)

SIGN_OFFS: Final = Table(
    "sign_offs",
    "a version of the sign-off",
    (
        *ATTEMPT,
        Column("version", "integer", "", "number of the version; the last one holds"),
        _text("rater", "code of the instructor who signed"),
        Column("covered", "yes or no", "", "whether the result is kept from the person who exported (blind first)"),
        _text(
            "result",
            "passed, passed_with_conditions, not_passed or to_be_repeated; empty for a version that takes the one "
            "before back, or where covered",
        ),
        Column("taken_back", "yes or no", "", "whether the version says that the one before holds no more"),
        _text("conditions", "conditions, or why the version before was taken back"),
        _text("outcome", "what the signer's grades came to by the sheet's own rule; empty where covered"),
        Column("points", "number", "points", "points won; empty where covered"),
        Column("points_possible", "number", "points", "points that could be won; empty where covered"),
        Column("changed_since", "yes or no", "", "whether what the last version rests on is otherwise now; else empty"),
        _text("digest", "SHA-256 of what was signed, 64 hexadecimal digits"),
        Column("signed_at", "moment", "", "when it was signed"),
    ),
)

VALUES: Final = Table(
    "values",
    "a value of a measure on a step that is uncovered for the person who exported",
    (
        *ATTEMPT,
        *_STEP,
        _text("measure", "name of the measure"),
        _text("measure_title", "its title"),
        _text("value_side", "the examined person's own side that the value is of, where the measure has sides"),
        Column("value", "number", "column unit", "the number; empty where there is none"),
        Column("low", "number", "column unit", "lower end of its 95 % interval"),
        Column("high", "number", "column unit", "upper end of its 95 % interval"),
        _text("unit", "unit of value, low and high; 1 for a ratio or a count"),
        Column("usable", "number", "share", "share of the frames that could be used, 0 to 1"),
        _text("reasons", "why the number is missing or weak, parted by semicolons"),
        _text("evidence", "the seconds that the number rests on, such as 3.000-7.500, parted by blanks"),
        Column("target_low", "number", "column unit", "lower end of the expected range; empty for none"),
        Column("target_high", "number", "column unit", "upper end of the expected range; empty for none"),
        _text("verdict", "within, outside or cannot tell; empty where nothing is expected"),
        _text("seconds_from", "code of the person whose mark gave the seconds"),
        *_times("mark_", "the mark that was measured"),
    ),
)

TABLES: Final[Mapping[str, Table]] = MappingProxyType(
    {table.name: table for table in (GRADES, MARKS, COMMENTS, ENTRIES, VALUES, SIGN_OFFS)}
)
"""All tables by name."""

CODEBOOK: Final = Table(
    "codebook",
    "a column of a table",
    (
        _text("table", "name of the table"),
        _text("column", "name of the column"),
        _text("kind", "text, integer, number, yes or no, or moment (ISO 8601, UTC)"),
        _text("unit", "unit of the numbers; empty for none"),
        _text("meaning", "what the column says"),
    ),
)


def codebook(tables: Sequence[Table] = (*TABLES.values(), CODEBOOK)) -> list[dict[str, str]]:
    """Return one row for each column of the tables, itself included."""
    return [
        {"table": table.name, "column": one.name, "kind": one.kind, "unit": one.unit, "meaning": one.meaning}
        for table in tables
        for one in table.columns
    ]
