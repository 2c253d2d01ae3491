"""Checklists written as TOML: read into the types of `review.domain.checklist`, or refused with all faults at once.

The format, key by key, is described in ``docs/checklists.md``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from importlib.resources.abc import Traversable
from math import isclose
from pathlib import Path
from typing import Final, cast

from review.domain.checklist import Checklist, Criterion, GradeScale, Section, Step, Target
from review.domain.checklist_scale import SCALE_KEYS, pass_rule, read_scale
from review.domain.entries import KINDS
from review.domain.errors import ChecklistRefused, Fault, NotFound
from review.domain.model import Side
from review.domain.phrases import runs
from review.domain.toml_lines import KeyPath, line_map
from review.domain.toml_table import Table, repeated

MOST_BYTES: Final = 1_000_000
"""Size in bytes above which a file is not taken for a checklist."""

SIDES: Final = ("right", "left")
"""The examined person's sides, in the order checklists usually go through them."""

VIEWS: Final = ("face", "upper_body", "whole_body", "feet", "hands", "limb")
"""What a step can ask to have in the picture."""

FORM: Final = 2
"""The newest form of the file. Form 1 had no pass rule, points of levels and criteria, weights, limits and notes."""

KEYS: Final[Mapping[str, tuple[str, ...]]] = {
    "checklist": (
        *("form", "id", "version", "title", "summary", "notice", "scale", "pass", "limit_s", "notes", "section"),
    ),
    **SCALE_KEYS,
    "section": ("id", "title", "weight", "pass_share", "limit_s", "step"),
    "step": (
        *("id", "title", "action", "expected", "finding", "equipment", "caution", "points", "weight", "critical"),
        *("sides", "view", "limit_s", "criteria", "targets", "measures", "entry", "spoken"),
    ),
    "criterion": ("id", "text", "points"),
    "target": ("measure", "low", "high", "unit", "source"),
}
"""Every key of the format, by the kind of table it belongs to."""

_PLACE = re.compile(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", re.DOTALL)


def read_checklist(path: Path | Traversable, known_measures: Mapping[str, str] | None = None) -> Checklist:
    """Read a checklist file.

    Parameters
    ----------
    path
        The file, on disk or shipped inside a package.
    known_measures
        As for `parse_checklist`.

    Raises
    ------
    ChecklistRefused
        If the file cannot be opened, is too big, is not UTF-8 text, or has faults.
    """
    source = str(path)
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ChecklistRefused(source, [Fault(0, f"cannot be opened ({reason}); check the path.")]) from error
    if len(content) > MOST_BYTES:
        text = f"bigger than {MOST_BYTES} bytes; expected a checklist in TOML, much smaller."
        raise ChecklistRefused(source, [Fault(0, text)])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        fault = Fault(line, "here the file stops being UTF-8 text; expected TOML, saved with the encoding UTF-8.")
        raise ChecklistRefused(source, [fault]) from error
    return parse_checklist(text, source, known_measures)


def parse_checklist(text: str, source: str, known_measures: Mapping[str, str] | None = None) -> Checklist:
    """Read a checklist from TOML text.

    Parameters
    ----------
    text
        The whole file.
    source
        Name of the file, for the message.
    known_measures
        Unit of each measure that a target may name, by the measure's name. None leaves measures and units unchecked.

    Raises
    ------
    ChecklistRefused
        If anything in the text is wrong; it holds all faults, in the order of their lines. Text that is not TOML has
        one fault, because nothing behind it can be read.
    """
    try:
        values = tomllib.loads(text)
        lines = line_map(text)
    except (ValueError, RecursionError) as error:
        raise ChecklistRefused(source, [_not_toml(error, text)]) from error
    return checklist_of(values, source, known_measures, lines)


def checklist_of(
    values: Mapping[str, object],
    source: str,
    known_measures: Mapping[str, str] | None = None,
    lines: Mapping[KeyPath, int] | None = None,
) -> Checklist:
    """Make a checklist of the values that the format describes.

    Parameters
    ----------
    values
        What `tomllib` gives for a file, or a draft in the same shape.
    source, known_measures
        As for `parse_checklist`.
    lines
        Line of every way in the file; without them the faults carry their way alone.

    Raises
    ------
    ChecklistRefused
        If anything is wrong; it holds all faults.
    """
    page = Table("checklist", values, (), lines or {(): 0}, [])
    checklist = _checklist(page, known_measures)
    if page.faults:
        raise ChecklistRefused(source, sorted(page.faults, key=lambda fault: fault.line))
    return checklist


def _not_toml(error: ValueError | RecursionError, text: str) -> Fault:
    """Turn what `tomllib` said into a fault with its line."""
    if isinstance(error, RecursionError):
        return Fault(0, "lists or tables lie too deep in one another; expected a checklist in TOML.")
    found = _PLACE.fullmatch(str(error))
    reason, line, column = found.groups() if found else (str(error), None, None)
    place = f" at column {column}" if column else " at the end of the file" if found else ""
    at = int(line) if line else text.rstrip().count("\n") + 1 if found else 0
    return Fault(at, f"not TOML{place}: {reason}. Mend this first; the rest can be read only then.")


def _checklist(page: Table, known: Mapping[str, str] | None) -> Checklist:
    page.only(KEYS["checklist"])
    _judge_form(page)
    scale = read_scale(page.table("scale", "scale"))
    sections = page.tables("section", "section", needed=True)
    ids = [section.id("id") for section in sections]
    repeated(sections, ids, "id")
    steps = [section.tables("step", "step", needed=True) for section in sections]
    flat = [step for of_section in steps for step in of_section]
    read = [[_step(step, known, scale) for step in of_section] for of_section in steps]
    repeated(flat, [step.id for of_section in read for step in of_section], "id")
    _judge_weights(sections)
    return Checklist(
        id=page.id("id"),
        version=page.count("version"),
        title=page.text("title"),
        summary=page.text("summary"),
        notice=page.text("notice"),
        scale=scale,
        rule=pass_rule(page, scale),
        limit_s=_limit(page),
        notes=page.texts("notes"),
        sections=tuple(
            _section(section, key, tuple(of_section))
            for section, key, of_section in zip(sections, ids, read, strict=True)
        ),
    )


def _section(section: Table, key: str, steps: tuple[Step, ...]) -> Section:
    section.only(KEYS["section"])
    return Section(
        id=key,
        title=section.text("title"),
        steps=steps,
        weight=section.number("weight", 0) if "weight" in section.values else None,
        pass_share=section.number("pass_share", 0, 1) if "pass_share" in section.values else None,
        limit_s=_limit(section),
    )


def _judge_form(page: Table) -> None:
    if "form" in page.values and page.count("form") > FORM:
        page.fault(
            f"form is {page.values['form']}; expected up to {FORM}. A newer Runthrough wrote this file: update yours.",
            "form",
        )


def _judge_weights(sections: Sequence[Table]) -> None:
    weighted = [section for section in sections if "weight" in section.values]
    if weighted and not any(section.values["weight"] for section in weighted):
        weighted[0].fault("no section has a weight above 0; expected at least one that counts.", "weight")
    if weighted and len(weighted) < len(sections):
        for section in sections:
            if "weight" not in section.values:
                section.fault("this section has no weight, but others have; give every section one, or none.")


def _limit(table: Table) -> float | None:
    """Read a time limit in seconds, which must leave some time."""
    limit = table.number("limit_s", 0) if "limit_s" in table.values else None
    if limit == 0:
        table.fault("limit_s is 0; expected seconds above 0, or no limit_s for no limit.", "limit_s")
    return limit


def _step(step: Table, known: Mapping[str, str] | None, scale: GradeScale) -> Step:
    step.only(KEYS["step"])
    targets = _targets(step, known)
    criteria = _criteria(step)
    return Step(
        id=step.id("id"),
        title=step.text("title"),
        action=step.text("action"),
        expected=step.text("expected"),
        finding=step.texts("finding"),
        equipment=step.texts("equipment"),
        caution=_caution(step),
        points=_points(step, criteria, scale),
        weight=(step.number("weight", 0) or 0.0) if "weight" in step.values else 1.0,
        limit_s=_limit(step),
        critical=step.switch("critical"),
        sides=cast("tuple[Side, ...]", step.words("sides", "side", SIDES)),
        criteria=criteria,
        targets=targets,
        view=step.words("view", "view", VIEWS),
        shown=_shown(step, targets, known),
        entry=_entry(step),
        spoken=_spoken(step),
    )


def _spoken(step: Table) -> tuple[str, ...]:
    phrases = step.texts("spoken")
    for place, phrase in enumerate(phrases):
        try:
            runs(phrase)
        except ValueError as error:
            step.fault(f"{error}.", "spoken", place)
    return phrases


def _caution(step: Table) -> str:
    if "caution" in step.values:
        return step.text("caution")
    step.fault("this step has no caution; say what can hurt here and how to avoid it.")
    return ""


def _entry(step: Table) -> str | None:
    kind = step.text("entry") if "entry" in step.values else ""
    if kind and kind not in KINDS:
        step.fault(str(NotFound.among("kind of entry", kind, KINDS)), "entry")
    return kind or None


def _criteria(step: Table) -> tuple[Criterion, ...]:
    entries = step.tables("criteria", "criterion")
    for entry in entries:
        entry.only(KEYS["criterion"])
    criteria = tuple(
        Criterion(
            id=entry.id("id"),
            text=entry.text("text"),
            points=entry.number("points", 0) if "points" in entry.values else None,
        )
        for entry in entries
    )
    repeated(entries, [criterion.id for criterion in criteria], "id")
    return criteria


def _points(step: Table, criteria: tuple[Criterion, ...], scale: GradeScale) -> float:
    """Read a step's points; left out, they are the sum of its criteria's, or what the scale's best level is worth."""
    own = [criterion.points for criterion in criteria if criterion.points is not None]
    if own and len(own) < len(criteria):
        step.fault("some criteria of this step carry points and some do not; give points to all of them or to none.")
    if "points" not in step.values and (own or scale.most_points is not None):
        return sum(own) if own else scale.most_points or 0.0
    points = step.number("points", 0) or 0.0
    if own and len(own) == len(criteria) and not isclose(points, sum(own), abs_tol=1e-9):
        step.fault(f"points is {points:g}, but the criteria add up to {sum(own):g}; make them agree.", "points")
    return points


def _targets(step: Table, known: Mapping[str, str] | None) -> tuple[Target, ...]:
    entries = step.tables("targets", "target")
    targets = tuple(_target(entry, known) for entry in entries)
    repeated(entries, [target.measure for target in targets], "measure")
    return targets


def _shown(step: Table, targets: tuple[Target, ...], known: Mapping[str, str] | None) -> tuple[str, ...]:
    shown = step.texts("measures") if known is None else step.words("measures", "measure", known)
    for name in sorted({target.measure for target in targets} & set(shown)):
        step.fault(f"{name} has a target on this step already; take it off measures.", "measures")
    return shown


def _target(entry: Table, known: Mapping[str, str] | None) -> Target:
    entry.only(KEYS["target"])
    low, high = (entry.number(key) if key in entry.values else None for key in ("low", "high"))
    if not {"low", "high"} & set(entry.values):
        entry.fault("this target has no end; expected low, high or both.")
    elif low is not None and high is not None and low > high:
        entry.fault(f"low is {low:g}, above high, {high:g}; expected low at or below high.", "low")
    measure, unit = entry.text("measure"), entry.text("unit")
    if known is not None and measure:
        _judge_measure(entry, measure, unit, known)
    return Target(measure=measure, low=low, high=high, unit=unit, source=entry.text("source"))


def _judge_measure(entry: Table, measure: str, unit: str, known: Mapping[str, str]) -> None:
    if measure not in known:
        entry.fault(str(NotFound.among("measure", measure, known)), "measure")
    elif unit and unit != known[measure]:
        entry.fault(f"unit is {unit!r}; expected {known[measure]!r}, the unit of {measure}.", "unit")
