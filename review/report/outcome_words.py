"""What a sheet asks for, and what grades come to, in words."""

from __future__ import annotations

from review.domain.checklist import Checklist
from review.domain.result import Result, percent


def rule_words(sheet: Checklist) -> str:
    """Say what a checklist asks for, in a sentence or two."""
    rule, critical = sheet.rule, any(step.critical for step in sheet.steps())
    asked = [f"{percent(rule.share)} of the points"] if rule.share is not None else []
    asked += [f"{percent(rule.section_share)} in each section"] if rule.section_share is not None else []
    asked += [
        f"{percent(section.pass_share)} in {section.title}"
        for section in sheet.sections
        if section.pass_share is not None
    ]
    asked += ["every critical step (\u25c6) done"] if rule.critical and critical else []
    asked += ["all time limits kept"] if rule.time else []
    limit = f" Time limit: {time_words(sheet.limit_s)}." if sheet.limit_s is not None else ""
    need = "To pass: " + "; ".join(asked) + "." if asked else "This sheet names nothing that must be reached."
    return f"{sheet.points:g} points. {need}{limit}"


def time_words(seconds: float) -> str:
    """Say how long something may take."""
    return f"{seconds / 60:g} min" if seconds >= 60 and seconds % 30 == 0 else f"{seconds:g} s"


def result_words(result: Result) -> str:
    """Say in one line what grades add up to: whether it passes, points, share."""
    share = " so far" if result.share is None else f", {percent(result.share)}"
    return f"{_outcome(result.outcome)}: {result.total.won:g} of {result.total.possible:g} points{share}"


def _outcome(outcome: str) -> str:
    words = {"open": "Open, not all is known", "no rule": "No pass rule"}
    return words.get(outcome, outcome.capitalize())
