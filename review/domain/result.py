"""What the grades of one person add up to on a checklist: points, share, and whether the attempt passes.

Definition. A step is graded on each of its sides. The grade of the step as a whole gives its level's share of the
points; where there is none and the criteria carry points, the criteria's grades give the share of theirs. What is *not
assessable* leaves the sum: its points are neither won nor possible. Points count `Step.weight` times. The share of the
sheet is points won by points possible or, where sections carry weights, the mean of the sections' shares by those
weights. As long as something is not graded, the share lies between the one with nothing won there and the one with all.
The verdict is "passed" or "not passed" only where that holds for every share in between.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from review.domain.checklist import NOT_ASSESSABLE, Checklist, Criterion, PassRule, Section, Step
from review.domain.model import Grade, Interval, Side

Outcome = Literal["passed", "not passed", "open", "no rule"]

Place = tuple[str, Side | None]

_CLOSE: Final = 1e-9


@dataclass(frozen=True, slots=True)
class PlaceResult:
    """What a step, on one of its sides, won.

    Parameters
    ----------
    step, side
        Where.
    level
        Key of the level that the step as a whole was given; None where only its criteria were graded, or nothing.
    won
        Points won so far, weighted.
    possible
        Points that could be won, weighted, without what is not assessable.
    open
        Those of `possible` that are not graded yet.
    graded
        Whether the step as a whole was graded, or each of the criteria that carry its points.
    """

    step: Step
    side: Side | None
    level: str | None
    won: float
    possible: float
    open: float
    graded: bool

    @property
    def assessable(self) -> bool:
        """Whether anything of it counts."""
        return self.possible > 0 or self.step.points * self.step.weight == 0

    @property
    def title(self) -> str:
        """The step's name with its side."""
        return self.step.titled(self.side)


@dataclass(frozen=True, slots=True)
class Sum:
    """Points of several steps: won, possible, and not graded yet."""

    won: float
    possible: float
    open: float

    @property
    def least(self) -> float | None:
        """Share if nothing is won of what is not graded yet; None where nothing counts."""
        return self.won / self.possible if self.possible > 0 else None

    @property
    def most(self) -> float | None:
        """Share if all is won of what is not graded yet; None where nothing counts."""
        return (self.won + self.open) / self.possible if self.possible > 0 else None


@dataclass(frozen=True, slots=True)
class Result:
    """What one person's grades add up to.

    Parameters
    ----------
    places
        One result a step and side, in the sheet's order.
    sections
        Sum of each section, by its id.
    total
        Sum of all.
    least, most
        Ends of the share (0 to 1) of the sheet; equal once all is graded, None where nothing counts.
    outcome
        Whether it passes; "open" while that depends on what is not graded or not assessable, "no rule" where the sheet
        asks for nothing.
    reasons
        Why, in sentences; then what else should be known.
    missed
        Titles of the critical steps that were not done, where the sheet's rule asks for them.
    """

    places: tuple[PlaceResult, ...]
    sections: Mapping[str, Sum]
    total: Sum
    least: float | None
    most: float | None
    outcome: Outcome
    reasons: tuple[str, ...]
    missed: tuple[str, ...]

    @property
    def share(self) -> float | None:
        """The share of the sheet once all of it is graded; None before, and where nothing counts."""
        return self.least if self.total.open == 0 else None


def result_of(sheet: Checklist, grades: Iterable[Grade], marks: Mapping[Place, Interval] | None = None) -> Result:
    """Work out what one person's grades add up to.

    Parameters
    ----------
    sheet
        The checklist, in the version of the attempt.
    grades
        Current grades of one person; those of steps the sheet does not have are passed over.
    marks
        Where steps lie in time, to hold time limits against; None or a missing step says nothing of time.
    """
    given = {(grade.step_id, grade.side, grade.criterion_id): grade.level for grade in grades}
    places = tuple(_place(sheet, step, side, given) for step in sheet.steps() for side in step.places)
    sections = {section.id: _sum(_within(section, places)) for section in sheet.sections}
    total = _sum(places)
    least, most = (_share(sheet, sections, end) for end in ("least", "most"))
    judged = [
        *_judge_share(sheet.rule.share, least, most, "the whole sheet"),
        *_judge_sections(sheet, sections),
        *_judge_critical(sheet, places),
        *_judge_time(sheet, marks or {}),
    ]
    return Result(
        places=places,
        sections=sections,
        total=total,
        least=least,
        most=most,
        outcome=_outcome(judged),
        reasons=(*(words for _, words in judged), *_remarks(sheet, places, marks or {})),
        missed=tuple(place.title for place in _critical(sheet, places) if _judge_place(sheet, place)[0] is False),
    )


Judged = tuple[bool | None, str]
"""Whether one demand is met (None: not known yet) and the sentence that says so."""


def _outcome(judged: list[Judged]) -> Outcome:
    met = [one for one, _ in judged]
    if not met:
        return "no rule"
    return "not passed" if False in met else "open" if None in met else "passed"


def _place(
    sheet: Checklist, step: Step, side: Side | None, given: Mapping[tuple[str, Side | None, str | None], str]
) -> PlaceResult:
    level, full = given.get((step.id, side, None)), step.points * step.weight
    if level is not None:
        share = sheet.scale.level(level).share
        return PlaceResult(step, side, level, full * (share or 0.0), 0.0 if share is None else full, 0.0, True)
    if not step.by_criteria:
        return PlaceResult(step, side, None, 0.0, full, full, False)
    parts = [_criterion(sheet, one, step.weight, given.get((step.id, side, one.id))) for one in step.criteria]
    found, graded = _added(parts), all((step.id, side, one.id) in given for one in step.criteria)
    return PlaceResult(step, side, None, found.won, found.possible, found.open, graded)


def _criterion(sheet: Checklist, criterion: Criterion, weight: float, level: str | None) -> Sum:
    full = (criterion.points or 0.0) * weight
    if level is None:
        return Sum(0.0, full, full)
    share = sheet.scale.level(level).share
    return Sum(full * (share or 0.0), 0.0 if share is None else full, 0.0)


def _within(section: Section, places: Iterable[PlaceResult]) -> list[PlaceResult]:
    known = {step.id for step in section.steps}
    return [one for one in places if one.step.id in known]


def _sum(places: Iterable[PlaceResult]) -> Sum:
    return _added(Sum(one.won, one.possible, one.open) for one in places)


def _added(parts: Iterable[Sum]) -> Sum:
    listed = list(parts)
    return Sum(sum(one.won for one in listed), sum(one.possible for one in listed), sum(one.open for one in listed))


def _share(sheet: Checklist, sections: Mapping[str, Sum], end: Literal["least", "most"]) -> float | None:
    """Return the share of the sheet; a weighted section of which nothing counts leaves the mean."""
    if all(section.weight is None for section in sheet.sections):
        total = _added(sections.values())
        return total.least if end == "least" else total.most
    pairs = [(section.weight or 0.0, getattr(sections[section.id], end)) for section in sheet.sections]
    known = [(weight, share) for weight, share in pairs if share is not None]
    weights = sum(weight for weight, _ in known)
    return sum(weight * share for weight, share in known) / weights if weights > 0 else None


def _judge_share(need: float | None, least: float | None, most: float | None, what: str) -> list[Judged]:
    if need is None:
        return []
    asked = f"{what} asks for {percent(need)}"
    if least is None or most is None:
        return [(None, f"Nothing of it counts yet: {asked}.")]
    if least >= need - _CLOSE:
        return [(True, f"{percent(least)} reached: {asked}.")]
    if most < need - _CLOSE:
        return [(False, f"{percent(most)} {'reached' if most == least else 'at most'}: {asked}.")]
    return [(None, f"Between {percent(least)} and {percent(most)}, as not all is graded: {asked}.")]


def _judge_sections(sheet: Checklist, sections: Mapping[str, Sum]) -> list[Judged]:
    return [
        judged
        for section in sheet.sections
        for judged in _judge_share(
            sheet.rule.section_share if section.pass_share is None else section.pass_share,
            sections[section.id].least,
            sections[section.id].most,
            f"the section {section.title}",
        )
    ]


def _critical(sheet: Checklist, places: Iterable[PlaceResult]) -> list[PlaceResult]:
    """Return the places of critical steps; none where the rule does not ask for them."""
    return [place for place in places if place.step.critical and sheet.rule.critical]


def _judge_critical(sheet: Checklist, places: Iterable[PlaceResult]) -> list[Judged]:
    critical = _critical(sheet, places)
    if not critical:
        return []
    judged = [_judge_place(sheet, place) for place in critical]
    told: list[Judged] = [one for one in judged if one[0] is not True]
    return told or [(True, f"All critical steps are done ({len(critical)}).")]


def _judge_place(sheet: Checklist, place: PlaceResult) -> Judged:
    if place.level == NOT_ASSESSABLE or not place.assessable:
        return None, f"Critical step not assessable: {place.title}. It has to be shown again."
    if place.open > 0:
        return None, f"Critical step not graded yet: {place.title}."
    if place.level is None:
        done = place.won / place.possible > _least_share(sheet) if place.possible else True
    else:
        done = _enough(sheet.rule, place.level, [level.key for level in sheet.scale.worth])
    return done, f"Critical step {'done' if done else 'missed'}: {place.title}."


def _enough(rule: PassRule, level: str, keys: list[str]) -> bool:
    if rule.critical_level is None:
        return keys.index(level) < len(keys) - 1
    return keys.index(level) <= keys.index(rule.critical_level)


def _least_share(sheet: Checklist) -> float:
    """Return the share above which criteria's points do for a critical step."""
    if sheet.rule.critical_level is not None:
        return (sheet.scale.level(sheet.rule.critical_level).share or 0.0) - _CLOSE
    return (sheet.scale.worth[-1].share or 0.0) + _CLOSE


def _judge_time(sheet: Checklist, marks: Mapping[Place, Interval]) -> list[Judged]:
    """Hold the time limits where they count for passing; what is not marked is taken to have kept its limit."""
    if not sheet.rule.time:
        return []
    broken: list[Judged] = [(False, words) for words in over_time(sheet, marks)]
    return broken or [(True if marks else None, "Time limits are kept, as far as steps are marked.")]


def over_time(sheet: Checklist, marks: Mapping[Place, Interval]) -> list[str]:
    """Say which time limits were gone over: the sheet's, the sections', the steps'."""
    told = []
    spans: list[tuple[str, float | None, list[Interval]]] = [
        ("the whole sheet", sheet.limit_s, _spans(sheet.sections, marks))
    ]
    spans += [(f"the section {one.title}", one.limit_s, _spans([one], marks)) for one in sheet.sections]
    for step in sheet.steps():
        for side in step.places:
            found = marks.get((step.id, side))
            spans.append((step.titled(side), step.limit_s, [found] if found else []))
    for what, limit, found_at in spans:
        if limit is None or not found_at:
            continue
        took = max(one.offset_s for one in found_at) - min(one.onset_s for one in found_at)
        if took > limit + _CLOSE:
            told.append(f"Took {took:.0f} s where {limit:g} s are allowed: {what}.")
    return told


def _spans(sections: Iterable[Section], marks: Mapping[Place, Interval]) -> list[Interval]:
    places = [(step.id, side) for section in sections for step in section.steps for side in step.places]
    return [marks[place] for place in places if place in marks]


def _remarks(sheet: Checklist, places: Iterable[PlaceResult], marks: Mapping[Place, Interval]) -> list[str]:
    """Say what leaves the sum, what is still to be graded, and limits gone over where they do not count."""
    listed = list(places)
    hidden = [place.title for place in listed if place.level == NOT_ASSESSABLE]
    waiting = [place.title for place in listed if not place.graded]
    told = [] if sheet.rule.time else over_time(sheet, marks)
    if hidden:
        word = sheet.scale.level(NOT_ASSESSABLE).word
        told.append(f"Left out of the sum as {word}: {'; '.join(hidden)}.")
    if waiting:
        told.append(f"Not graded yet: {len(waiting)} of {len(listed)}.")
    return told


def percent(share: float) -> str:
    """Say a share (0 to 1) in percent, with no more than one decimal; rounded down, so that nothing looks reached.

    Examples
    --------
    >>> percent(0.7999), percent(0.8), percent(2 / 3)
    ('79.9 %', '80 %', '66.6 %')
    """
    return f"{int(share * 1000 + 1e-3) / 10:g} %"
