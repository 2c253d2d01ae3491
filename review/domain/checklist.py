"""The check-off sheet: sections, steps, criteria, targets and the grade scale that belongs to it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

from review.domain.errors import NotFound
from review.domain.model import Estimate, Reason, Side
from review.domain.phrases import Run, runs, too_short

NOT_ASSESSABLE: Final = "not_assessable"
"""Key of the level that every grade scale has: it carries no points and leaves the sum."""

Verdict = Literal["within", "outside", "cannot tell"]

DEFAULT_CHECKLIST: Final = "neuro_screening"
"""Id of the packaged checklist that is taken where none is chosen."""


@dataclass(frozen=True, slots=True)
class GradeLevel:
    """One level of a grade scale: `share` (0 to 1) of the step's points, None for *not assessable*.

    `points` is what the level is worth on a scale that counts in points, such as 3, 2, 1; None on other scales.
    """

    key: str
    word: str
    share: float | None
    points: float | None = None


@dataclass(frozen=True, slots=True)
class GradeScale:
    """The levels a step can be graded with, best first; the last one is always *not assessable*."""

    name: str
    levels: tuple[GradeLevel, ...]

    def level(self, key: str) -> GradeLevel:
        """Return the level with this key.

        Raises
        ------
        NotFound
            If the scale has no such level; the message names those it has.
        """
        for level in self.levels:
            if level.key == key:
                return level
        raise NotFound.among("grade level", key, [level.key for level in self.levels])

    @property
    def worth(self) -> tuple[GradeLevel, ...]:
        """The levels that carry a share of the points: all but *not assessable*."""
        return tuple(level for level in self.levels if level.share is not None)

    @property
    def most_points(self) -> float | None:
        """What the best level is worth on a scale that counts in points; None on other scales."""
        return self.levels[0].points if self.levels else None


@dataclass(frozen=True, slots=True)
class PassRule:
    """What an attempt must reach to pass.

    Parameters
    ----------
    share
        Least share (0 to 1) of the sheet's points; None asks for none.
    critical
        Whether every critical step must be done on each of its sides.
    critical_level
        Key of the lowest level that is enough for a critical step; None for any level above the lowest.
    section_share
        Least share of the points in each section that has none of its own; None asks for none.
    time
        Whether the time limits must be kept; else going over them is only said.
    """

    share: float | None = None
    critical: bool = True
    critical_level: str | None = None
    section_share: float | None = None
    time: bool = False


@dataclass(frozen=True, slots=True)
class Target:
    """Range in which a measure's value is expected on a step; None leaves an end open."""

    measure: str
    low: float | None
    high: float | None
    unit: str
    source: str

    def judge(self, estimate: Estimate) -> Verdict:
        """Say whether the 95 % interval lies within the range, outside of it, or cannot tell.

        The whole interval inside gives "within", the whole interval outside gives "outside"; an interval that
        crosses an end, or a missing value, gives "cannot tell".
        """
        if estimate.value is None or estimate.low is None or estimate.high is None:
            return "cannot tell"
        low = float("-inf") if self.low is None else self.low
        high = float("inf") if self.high is None else self.high
        if estimate.high < low or estimate.low > high:
            return "outside"
        return "within" if low <= estimate.low and estimate.high <= high else "cannot tell"

    def served(self, estimate: Estimate) -> Estimate:
        """Return an estimate as it serves this range: without its number where that is too unsure to be of use.

        That is so where the 95 % interval is wider than the range and not wholly outside of it: no value could be
        told to lie within. A range that is open at an end, or a single number, asks nothing of the width.
        """
        if self.low is None or self.high is None or estimate.low is None or estimate.high is None:
            return estimate
        too_wide = 0 < self.high - self.low < estimate.high - estimate.low
        if not too_wide or self.judge(estimate) != "cannot tell":
            return estimate
        reasons = tuple(dict.fromkeys((Reason.TOO_UNSURE, *estimate.reasons)))
        return replace(estimate, value=None, low=None, high=None, reasons=reasons)


@dataclass(frozen=True, slots=True)
class Criterion:
    """One thing to look for inside a step; `points` of the step's it carries, None where it carries none itself."""

    id: str
    text: str
    points: float | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the sheet.

    Parameters
    ----------
    id, title
        Key (unique in the sheet) and name.
    action
        What the examiner does.
    expected
        What should be seen.
    finding
        Phrases, any of which states the finding aloud; empty when the step has none.
    equipment
        What must be at hand.
    caution
        What can hurt and how to avoid it; never empty.
    points
        Points for the full step, on each of its sides.
    critical
        Whether missing the step fails the sheet.
    sides
        The examined person's sides the step is done on, in the sheet's order; empty for none.
    criteria, targets
        Parts to look for; expected ranges of measures.
    shown
        Further measures whose values are shown on the step with nothing expected of them.
    view
        What must be in the picture: some of "face", "upper_body", "whole_body", "feet", "hands", "limb".
    entry
        Kind of result that is typed in on the step, a name out of `review.domain.entries.KINDS`; None for none.
    weight
        How many times the step's points count in the sums.
    limit_s
        Most seconds for the step, on each of its sides; None for no limit.
    spoken
        Phrases that are listened for, any of which states the finding; see `review.domain.phrases`. Without any, those
        of `finding` are listened for that are long enough.
    """

    id: str
    title: str
    action: str
    expected: str
    finding: tuple[str, ...]
    equipment: tuple[str, ...]
    caution: str
    points: float
    critical: bool
    sides: tuple[Side, ...]
    criteria: tuple[Criterion, ...]
    targets: tuple[Target, ...]
    view: tuple[str, ...]
    shown: tuple[str, ...] = ()
    entry: str | None = None
    weight: float = 1.0
    limit_s: float | None = None
    spoken: tuple[str, ...] = ()

    @property
    def listened(self) -> tuple[Run, ...]:
        """The runs of words any of which states the finding aloud."""
        if self.spoken:
            return tuple(run for phrase in self.spoken for run in runs(phrase))
        plain = (tuple(phrase.split()) for phrase in self.finding)
        return tuple(run for run in plain if not too_short(run))

    @property
    def measures(self) -> tuple[str, ...]:
        """Names of the measures of the step: those with a target first, each once."""
        return tuple(dict.fromkeys([*(target.measure for target in self.targets), *self.shown]))

    def target(self, measure: str) -> Target | None:
        """Return what is expected of a measure, None where nothing is."""
        return next((target for target in self.targets if target.measure == measure), None)

    def titled(self, side: Side | None) -> str:
        """Return the step's title with its side."""
        return f"{self.title}, {side}" if side else self.title

    @property
    def by_criteria(self) -> bool:
        """Whether grades of its criteria count where the step as a whole has none: then they carry its points."""
        return any(criterion.points is not None for criterion in self.criteria)

    @property
    def places(self) -> tuple[Side | None, ...]:
        """The sides to mark and grade: those of the step, or None alone for a step without sides."""
        return self.sides or (None,)


@dataclass(frozen=True, slots=True)
class Section:
    """A titled run of steps.

    Parameters
    ----------
    weight
        How much the section counts in the whole beside the others; None on all sections lets points simply add up.
    pass_share
        Least share (0 to 1) of the section's points; None for what the pass rule says of all sections.
    limit_s
        Most seconds from the section's first mark to its last; None for no limit.
    """

    id: str
    title: str
    steps: tuple[Step, ...]
    weight: float | None = None
    pass_share: float | None = None
    limit_s: float | None = None

    @property
    def points(self) -> float:
        """All points of the section, each side of a step counted and weighted."""
        return sum(step.points * step.weight * len(step.places) for step in self.steps)


@dataclass(frozen=True, slots=True)
class Checklist:
    """A check-off sheet in one version.

    `limit_s` is the most seconds from the first mark to the last, None for no limit; `notes` are remarks that belong to
    the sheet as a whole.
    """

    id: str
    version: int
    title: str
    summary: str
    notice: str
    scale: GradeScale
    sections: tuple[Section, ...]
    rule: PassRule = PassRule()
    limit_s: float | None = None
    notes: tuple[str, ...] = ()

    @property
    def points(self) -> float:
        """All points of the sheet, each side of a step counted and weighted."""
        return sum(section.points for section in self.sections)

    def titles(self) -> dict[tuple[str, Side | None], str]:
        """Return the title of every step, with its side, by step and side in the sheet's order."""
        return {(step.id, side): step.titled(side) for step in self.steps() for side in step.places}

    def steps(self) -> Iterator[Step]:
        """Go through all steps in the sheet's order."""
        for section in self.sections:
            yield from section.steps

    def step(self, step_id: str) -> Step:
        """Return the step with this id.

        Raises
        ------
        NotFound
            If the sheet has no such step; the message offers close ones.
        """
        for step in self.steps():
            if step.id == step_id:
                return step
        raise NotFound.among("step", step_id, [step.id for step in self.steps()])
