"""A checklist for paper, as HTML: blank, to be filled in by hand, or with the grades and points of one rater."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from importlib.resources import files
from typing import Final

from review.domain.checklist import NOT_ASSESSABLE, Checklist, Criterion, GradeLevel, Section, Step
from review.domain.model import Side
from review.domain.result import PlaceResult, percent
from review.report.attempt import NOTICE
from review.report.outcome_words import result_words, rule_words, time_words
from review.report.results import AddedUp
from review.report.sign_off import ToldSignOff

_LINES: Final = ("Learner", "Partner", "Examiner", "Date", "Start", "End")
_BOX: Final = "\u25a1"
_CHOSEN: Final = "\u25a0"

IN_THE_TRAIL: Final = "sheet for paper"
"""What the trail says was taken out where a filled sheet was made."""


def blank_page(sheet: Checklist) -> str:
    """Return a checklist to be filled in by hand: a box a level, lines for points, initials and date."""
    fields = "".join(f'<div class="field"><dt>{word}</dt><dd></dd></div>' for word in _LINES)
    sign = '<p class="sign"><span>Points</span><span>Result</span><span>Signature</span><span>Date</span></p>'
    return _page(sheet, f"<dl>{fields}</dl>", _sections(sheet, None), sign)


def filled_page(graded: AddedUp, signed: ToldSignOff | None = None) -> str:
    """Return a checklist with the grades and points that one rater gave to an attempt, and what is signed of it."""
    recording, rater = graded.recording, graded.rater
    facts = {
        "Attempt": f"{recording.name}, number {recording.attempt}",
        "Added": f"{recording.added_at:%Y-%m-%d}",
        "Graded by": f"{rater.code} ({rater.role})",
        "Sheet": f"{graded.sheet.id}, version {graded.sheet.version}",
    }
    fields = "".join(_field(word, text) for word, text in facts.items())
    return _page(
        graded.sheet, f"<dl>{fields}</dl>{_verdict(graded)}", _sections(graded.sheet, graded), _signature(signed)
    )


def _page(sheet: Checklist, head: str, body: str, foot: str) -> str:
    style = files("review.report").joinpath("paper.css").read_text("utf-8")
    notes = "".join(f"<p>{escape(note)}</p>" for note in sheet.notes)
    version = f"{escape(sheet.id)}, version {sheet.version}. {escape(_levels(sheet))}"
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(sheet.title)}</title><style>{style}</style></head><body><main>"
        f'<header><h1>{escape(sheet.title)}</h1><p class="notice">{escape(sheet.notice or NOTICE)}</p></header>'
        f'{head}<p class="rule">{escape(rule_words(sheet))}</p>{body}'
        f'<footer>{notes}{foot}<p class="version">{version}</p></footer></main></body></html>'
    )


def _levels(sheet: Checklist) -> str:
    return "Scale: " + "; ".join(f"{level.word} {_worth(level)}" for level in sheet.scale.worth) + "."


def _worth(level: GradeLevel) -> str:
    if level.points is not None:
        return f"{level.points:g}"
    return percent(level.share or 0.0)


def _signature(told: ToldSignOff | None) -> str:
    """Return what is signed, in the place of the lines to sign on; empty where nothing is."""
    if told is None or told.last is None:
        return ""
    last = told.last
    warning = "Not as it was signed." if told.faults else "Changed since it was signed." if told.changed else ""
    who = f"Version {last.signed.version}, signed by {last.person.code} ({last.person.role})"
    lines = [
        *((warning, *told.faults, *told.changes) if warning else ()),
        last.conditions,
        last.sum_words,
        f"{who} on {last.signed.at:%Y-%m-%d %H:%M %Z}. SHA-256 {last.signed.digest}",
    ]
    told_lines = "".join(f"<p>{escape(line)}</p>" for line in lines if line)
    return f'<section class="verdict signed"><h2>Sign-off: {escape(last.words)}</h2>{told_lines}</section>'


def _field(word: str, text: str) -> str:
    return f'<div class="field"><dt>{escape(word)}</dt><dd>{escape(text)}</dd></div>'


def _verdict(graded: AddedUp) -> str:
    result = graded.result
    if result is None:
        return (
            f'<p class="verdict">Still covered for you: {graded.covered} of the grades of {escape(graded.rater.code)}. '
            "So nothing is added up; grade those steps first.</p>"
        )
    reasons = "".join(f"<li>{escape(reason)}</li>" for reason in result.reasons)
    return f'<section class="verdict"><h2>{escape(result_words(result))}</h2><ul>{reasons}</ul></section>'


def _sections(sheet: Checklist, graded: AddedUp | None) -> str:
    number = 0
    parts = []
    for section in sheet.sections:
        parts.append(_table(sheet, section, graded, number))
        number += len(section.steps)
    return "".join(parts)


def _table(sheet: Checklist, section: Section, graded: AddedUp | None, before: int) -> str:
    heads = "".join(f'<th scope="col" class="level">{escape(level.word)}</th>' for level in sheet.scale.levels)
    last = "" if graded else '<th scope="col" class="initials">Initials</th>'
    rows = "".join(_step(sheet, step, graded, number) for number, step in enumerate(section.steps, start=before + 1))
    limit = f", at most {time_words(section.limit_s)}" if section.limit_s is not None else ""
    limit += f", weight {section.weight:g}" if section.weight is not None else ""
    total = graded.result.sections[section.id] if graded and graded.result else None
    points = f"{total.won:g} of {total.possible:g} points" if total else f"{section.points:g} points"
    return (
        f"<table><caption>{escape(section.title)} <span>{points}{limit}</span></caption><thead><tr>"
        f'<th scope="col" class="number">No.</th><th scope="col">Step</th>{heads}'
        f'<th scope="col" class="points">Points</th>{last}</tr></thead><tbody>{rows}</tbody></table>'
    )


def _step(sheet: Checklist, step: Step, graded: AddedUp | None, number: int) -> str:
    """Return the rows of a step: one for each side, one with what is to be known, then one a criterion and side."""
    rows = [_row(sheet, step, side, None, graded, number) for side in step.places]
    width = len(sheet.scale.levels) + (2 if graded else 3)
    rows.append(f'<tr class="told"><td></td><td colspan="{width}">{_told(step)}</td></tr>')
    for criterion in step.criteria:
        rows += [_row(sheet, step, side, criterion, graded, number) for side in step.places]
    return "".join(rows)


def _row(
    sheet: Checklist, step: Step, side: Side | None, part: Criterion | None, graded: AddedUp | None, number: int
) -> str:
    first = part is None and side == step.places[0]
    where = f' <span class="side">{side}</span>' if side else ""
    title = f"{escape(step.title)}{_signs(step)}" if part is None else escape(part.text)
    head = f"<b>{title}</b>{where}" if part is None else f"{title}{where}"
    given = _given(graded, step, side, part)
    boxes = "".join(_box(level, given) for level in sheet.scale.levels)
    last = "" if graded else "<td></td>"
    shown = str(number) if first else ""
    return (
        f'<tr class="{"part" if part else "step"}"><td class="number">{shown}</td><td>{head}</td>{boxes}'
        f'<td class="points">{_points(step, side, part, graded)}</td>{last}</tr>'
    )


def _signs(step: Step) -> str:
    return ' <span title="critical">\u25c6</span>' if step.critical else ""


def _told(step: Step) -> str:
    """Say what to do, what is expected, what to say and what can hurt."""
    lines = [
        ("", step.action if step.action != step.title else ""),
        ("Expected", step.expected),
        ("Say", "; ".join(f"\u201c{phrase}\u201d" for phrase in step.finding)),
        ("Equipment", "; ".join(step.equipment)),
        ("Time", f"at most {time_words(step.limit_s)}" if step.limit_s is not None else ""),
        ("Caution", step.caution),
    ]
    return "".join(_line(word, text) for word, text in lines if text)


def _line(word: str, text: str) -> str:
    label = f"<i>{word}:</i> " if word else ""
    return f'<p class="{word.lower() or "do"}">{label}{escape(text)}</p>'


def _given(graded: AddedUp | None, step: Step, side: Side | None, part: Criterion | None) -> str | None:
    found: Iterable[str] = (
        grade.level
        for grade in (graded.grades if graded else ())
        if (grade.step_id, grade.side, grade.criterion_id) == (step.id, side, part.id if part else None)
    )
    return next(iter(found), None)


def _box(level: GradeLevel, given: str | None) -> str:
    chosen = given == level.key
    said = f'<span class="said">{escape(level.word)}</span>' if chosen else ""
    return f'<td class="level{" chosen" if chosen else ""}">{_CHOSEN if chosen else _BOX}{said}</td>'


def _points(step: Step, side: Side | None, part: Criterion | None, graded: AddedUp | None) -> str:
    weight = f" \u00d7 {step.weight:g}" if step.weight != 1 else ""
    if part is not None:
        return "" if part.points is None else f"{part.points:g}"
    if graded is None or graded.result is None:
        return f"{step.points:g}{weight}"
    found = next(one for one in graded.result.places if (one.step.id, one.side) == (step.id, side))
    return _won(found)


def _won(place: PlaceResult) -> str:
    if place.level == NOT_ASSESSABLE:
        return "\u2013"
    if place.open == place.possible > 0 and place.level is None:
        return "not graded"
    return f"{place.won:g} / {place.possible:g}"
