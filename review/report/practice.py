"""What to practise next, and why: simple spacing of practice by how a step went last."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from review.domain.checklist import Step
from review.domain.model import Side

NEXT_DAY: Final = 1
IN_BETWEEN: Final = 3
A_WEEK: Final = 7
"""Days until a step is practised again: missed, done in part, done fully. Common practice, no source."""

RULE: Final = (
    "A step that was missed comes again the next day, one done in part after three days, one done fully after a week; "
    "a critical step that was not done fully comes the next day in any case. Critical steps stand first, then those "
    "that cost most points, then those whose last good run is longest ago. The lengths are common practice, no source; "
    "that practice spread over days helps was found in 43 of 63 experiments (Trumble 2023, Adv Health Sci Educ 29:689)."
)


@dataclass(frozen=True, slots=True)
class Run:
    """How a step went in one attempt.

    Parameters
    ----------
    attempt, day
        Number of the attempt, and when its film was added.
    share
        Share of the step's points; None where it could not be judged.
    word
        The grade in the scale's own words.
    who
        Code of the person who graded.
    """

    attempt: int
    day: date
    share: float | None
    word: str
    who: str

    @property
    def good(self) -> bool:
        """Whether the step was done fully."""
        return self.share is not None and self.share >= 1


@dataclass(frozen=True, slots=True)
class Practice:
    """A step to practise: when it is due, the sentences why, and what it is sorted by."""

    step: Step
    side: Side | None
    due: date
    why: tuple[str, ...]
    lost: float
    rank: tuple[bool, float, int]


def practice(step: Step, side: Side | None, runs: Sequence[Run], today: date) -> Practice | None:
    """Return when a step is due again and why; None for a step that was never graded.

    Parameters
    ----------
    step, side
        Which.
    runs
        How it went, oldest attempt first.
    today
        The day from which on time is told.
    """
    if not runs:
        return None
    last = runs[-1]
    lost = 0.0 if last.share is None else step.points * step.weight * (1 - last.share)
    good = [run for run in runs if run.good]
    since = (today - good[-1].day).days if good else 10_000
    why = [*_critical(step, last), _went(step, last), *_last_good(last, good, since)]
    due = last.day + timedelta(days=_days(step, last))
    return Practice(step, side, due, tuple(why), lost, (not (step.critical and not last.good), -lost, -since))


def due_words(due: date, today: date) -> str:
    """Say when something is due: "today", "tomorrow", "in 3 days"."""
    days = (due - today).days
    return "today" if days <= 0 else "tomorrow" if days == 1 else f"in {days} days"


def _days(step: Step, last: Run) -> int:
    if last.share is None:
        return 0
    if last.good:
        return A_WEEK
    return NEXT_DAY if last.share <= 0 or step.critical else IN_BETWEEN


def _critical(step: Step, last: Run) -> list[str]:
    return ["A critical step: missing it fails the sheet."] if step.critical and not last.good else []


def _went(step: Step, last: Run) -> str:
    said = f"in attempt {last.attempt} ({last.who}: {last.word})"
    if last.share is None:
        return f"It could not be judged {said}; film it so that it can."
    if last.good:
        return f"Done fully {said}; after a week it is worth another run."
    if not step.points:
        return f"Not done fully {said}."
    lost = step.points * (1 - last.share)
    return f"{lost:g} of {step.points:g} {'point' if step.points == 1 else 'points'} lost {said}."


def _last_good(last: Run, good: Sequence[Run], since: int) -> list[str]:
    if last.good:
        return []
    if not good:
        return ["Never done fully yet."]
    ago = "today" if since <= 0 else "yesterday" if since == 1 else f"{since} days ago"
    return [f"Last done fully {ago}, in attempt {good[-1].attempt}."]
