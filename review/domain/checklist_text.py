"""A checklist written as the text of its file; reading that text gives the same checklist."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

from review.domain.checklist import NOT_ASSESSABLE, Checklist, GradeScale, PassRule, Section, Step
from review.domain.checklist_file import FORM

_DELETE: Final = "\x7f"


def values_of(sheet: Checklist) -> dict[str, Any]:
    """Return a checklist as plain values in the shape of its file; what is as usual is left out.

    `review.domain.checklist_file.checklist_of` makes the same checklist of them.
    """
    return _kept(
        form=FORM,
        id=sheet.id,
        version=sheet.version,
        title=sheet.title,
        summary=sheet.summary,
        notice=sheet.notice,
        limit_s=sheet.limit_s,
        notes=list(sheet.notes) or None,
        scale=_scale(sheet.scale),
        **{"pass": _rule(sheet.rule) if sheet.rule != PassRule() else None},
        section=[_section(section) for section in sheet.sections],
    )


def text_of(sheet: Checklist) -> str:
    """Return a checklist as the text of a TOML file."""
    return toml_of(values_of(sheet))


def toml_of(values: Mapping[str, Any]) -> str:
    """Write plain values in the shape of a checklist file as TOML; they need not make a good checklist.

    Examples
    --------
    >>> print(toml_of({"id": "a", "scale": {"name": "Two"}, "section": [{"id": "b", "step": [{"id": "c"}]}]}))
    id = "a"
    <BLANKLINE>
    [scale]
    name = "Two"
    <BLANKLINE>
    [[section]]
    id = "b"
    <BLANKLINE>
    [[section.step]]
    id = "c"
    <BLANKLINE>
    """
    lines = _pairs({key: value for key, value in values.items() if key not in ("scale", "pass", "section")})
    for key in ("scale", "pass"):
        if key in values:
            lines += ["", f"[{key}]", *_pairs(values[key])]
    for section in values.get("section", ()):
        lines += ["", "[[section]]", *_pairs({key: value for key, value in section.items() if key != "step"})]
        for step in section.get("step", ()):
            lines += ["", "[[section.step]]", *_pairs(step)]
    return "\n".join(lines) + "\n"


def _pairs(values: Mapping[str, Any]) -> list[str]:
    return [f"{key} = {_written(value)}" for key, value in values.items()]


def _written(value: Any) -> str:
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace(_DELETE, "\\u007F")
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_written(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list | tuple):
        if value and isinstance(value[0], Mapping):
            return "[\n" + "".join(f"    {_written(inner)},\n" for inner in value) + "]"
        return "[" + ", ".join(map(_written, value)) + "]"
    return repr(value)


def _kept(**values: Any) -> dict[str, Any]:
    """Return what is not None; whole numbers without their decimal point."""
    return {key: _plain(value) for key, value in values.items() if value is not None}


def _plain(value: Any) -> Any:
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _scale(scale: GradeScale) -> dict[str, Any]:
    last = scale.level(NOT_ASSESSABLE).word
    levels = [
        _kept(
            key=level.key,
            word=level.word,
            share=level.share if level.points is None else None,
            points=level.points,
        )
        for level in scale.worth
    ]
    return _kept(name=scale.name, levels=levels, not_assessable=None if last == "not assessable" else last)


def _rule(rule: PassRule) -> dict[str, Any]:
    return _kept(
        share=rule.share,
        critical=rule.critical,
        critical_level=rule.critical_level,
        section_share=rule.section_share,
        time=rule.time or None,
    )


def _section(section: Section) -> dict[str, Any]:
    return _kept(
        id=section.id,
        title=section.title,
        weight=section.weight,
        pass_share=section.pass_share,
        limit_s=section.limit_s,
        step=[_step(step) for step in section.steps],
    )


def _step(step: Step) -> dict[str, Any]:
    return _kept(
        id=step.id,
        title=step.title,
        action=step.action,
        expected=step.expected,
        finding=list(step.finding) or None,
        equipment=list(step.equipment) or None,
        caution=step.caution,
        points=step.points,
        weight=None if step.weight == 1 else step.weight,
        critical=step.critical or None,
        sides=list(step.sides) or None,
        view=list(step.view) or None,
        limit_s=step.limit_s,
        criteria=[_kept(id=one.id, text=one.text, points=one.points) for one in step.criteria] or None,
        targets=[
            _kept(measure=one.measure, low=one.low, high=one.high, unit=one.unit, source=one.source)
            for one in step.targets
        ]
        or None,
        measures=list(step.shown) or None,
        entry=step.entry,
        spoken=list(step.spoken) or None,
    )
