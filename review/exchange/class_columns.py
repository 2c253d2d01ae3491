"""The tables of the Class page as they are exported: their columns, and what each means."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from review.exchange.columns import Column, Kind, Table


def _text(name: str, meaning: str) -> Column:
    return Column(name, "text", "", meaning)


def _count(name: str, meaning: str) -> Column:
    return Column(name, "integer", "", meaning)


def _figure(name: str, unit: str, meaning: str) -> tuple[Column, ...]:
    """Return three columns: a number and the ends of its 95 % interval."""
    kind: Kind = "number"
    return (
        Column(name, kind, unit, f"{meaning}; empty where it is not defined"),
        Column(f"{name}_low", kind, unit, f"lower end of the 95 % interval of {name}"),
        Column(f"{name}_high", kind, unit, f"upper end of the 95 % interval of {name}"),
    )


def _kind(name: str, meaning: str) -> tuple[Column, ...]:
    return (_count(name, f"grades that are {meaning}"), *_figure(f"{name}_share", "share", f"their share ({name})"))


WAITING: Final = Table(
    "class_waiting",
    "an attempt that waits for an instructor's grade",
    (
        _text("recording_id", "id of the recording here"),
        _text("recording_name", "name of the recording"),
        _text("learner", "code of the learner"),
        _count("attempt", "number of the attempt"),
        Column("since", "moment", "", "since when it waits"),
        Column("days", "integer", "d", "for how many days"),
        _text("waits_for", "whose grade it waits for, in words"),
    ),
)

STEPS: Final = Table(
    "class_steps",
    "a step of the sheet on a side, over the attempts that count; instructors' grades only",
    (
        _text("checklist_id", "id of the check-off sheet"),
        _text("attempts", "which attempts count: newest (of each learner) or all"),
        _text("section_title", "title of the section"),
        _text("step_id", "id of the step in the sheet"),
        _text("step_title", "title of the step"),
        _text("side", "left or right, the examined person's own; empty for a step without sides"),
        Column("critical", "yes or no", "", "whether missing the step fails the sheet"),
        _count("graded", "how many grades there are"),
        *_kind("fully", "the best level of the scale"),
        *_kind("partly", "a level between; empty on a scale of two levels"),
        *_kind("not_done", "the lowest level of the scale"),
        *_kind("not_assessable", "not assessable"),
        Column("mean", "number", "share", "mean share of the step's points where it was judged"),
        *_figure("discrimination", "1", "correlation with the rest of the sheet"),
        _count("discrimination_attempts", "on how many attempts that rests"),
        _count("pairs_agreed", "pairs of instructors' grades, each given before seeing the other's, that are the same"),
        _count("pairs", "all such pairs"),
        _count("covered", "grades that are kept from the person who exported (blind first)"),
    ),
)

LEARNERS: Final = Table(
    "class_learners",
    "a learner with an attempt at the sheet",
    (
        _text("checklist_id", "id of the check-off sheet"),
        _text("learner", "code of the learner"),
        _count("attempts", "how many attempts there are"),
        _count("attempts_waiting", "how many of them no instructor has graded"),
        _count("attempt", "number of the newest attempt that instructors graded; empty for none"),
        _text("day", "day on which its film was added"),
        Column("points_least", "number", "%", "points of 100, if nothing is won of what is not graded"),
        Column("points_most", "number", "%", "points of 100, if all is won of what is not graded"),
        _text("outcome", "passed, not passed, open or no rule; empty where not known or covered"),
        _text("critical_missed", "titles of the critical steps that were missed, parted by semicolons"),
        _text("missing", "what is missing by the sheet's rule, in sentences"),
        _count("last_passed_attempt", "number of the last attempt that passes; empty for none"),
        _text("last_passed_day", "day on which its film was added"),
        _count("covered", "grades that are kept from the person who exported (blind first)"),
        _text("words", "where the learner stands, in words"),
    ),
)

CUT: Final = Table(
    "class_cut",
    "a method to draw the line by",
    (
        _text("checklist_id", "id of the check-off sheet"),
        _text("method", "borderline regression, or Angoff"),
        *_figure("cut", "%", "points of 100 at which the line would lie"),
        _count("rests_on", "how many attempts with an overall rating, or how many judges, it rests on"),
        _text("words", "the same in words, with the method's cautions"),
    ),
)

CLASS_TABLES: Final[Mapping[str, Table]] = MappingProxyType(
    {"waiting": WAITING, "steps": STEPS, "learners": LEARNERS, "cut": CUT}
)
"""The tables of a class by the name that addresses and commands use."""
