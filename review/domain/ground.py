"""What a sign-off rests on: the film, the sheet, and the signer's own grades and marks, with what they add up to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from review.domain.checklist import Checklist
from review.domain.model import Grade, Mark, Recording
from review.domain.result import Result, result_of
from review.domain.signoff import Facts, canonical, digest_of


@dataclass(frozen=True, slots=True)
class Ground:
    """What one person's sign-off of a recording would rest on.

    Parameters
    ----------
    sheet
        The checklist, in the version of the attempt.
    facts
        Film, sheet, levels and seconds as a statement keeps them, in an order of their own.
    result
        What the grades add up to.
    """

    sheet: Checklist
    facts: dict[str, Any]
    result: Result

    @property
    def digest(self) -> str:
        """The SHA-256 of the facts."""
        return digest_of(canonical(self.facts))

    @property
    def ungraded(self) -> tuple[str, ...]:
        """Titles of the steps, with their sides, that the person has not graded."""
        return tuple(place.title for place in self.result.places if not place.graded)

    @property
    def added_up(self) -> dict[str, Any]:
        """What the grades add up to as a statement keeps it; points and shares (0 to 1) as texts."""
        result = self.result
        return {
            "outcome": result.outcome,
            "won": f"{result.total.won:g}",
            "possible": f"{result.total.possible:g}",
            "share": None if result.share is None else f"{result.share:.6f}",
            "reasons": list(result.reasons),
        }


def ground_of(
    recording: Recording, sheet: Checklist, person_id: str, grades: Iterable[Grade], marks: Iterable[Mark]
) -> Ground:
    """Return what a person's sign-off would rest on, out of everybody's current grades and marks."""
    given = [one for one in grades if one.person_id == person_id]
    marked = [one for one in marks if one.person_id == person_id]
    facts = {
        "film_sha256": recording.sha256,
        "checklist": sheet.id,
        "checklist_version": sheet.version,
        "grades": sorted(map(_grade_facts, given), key=canonical),
        "marks": sorted(map(_mark_facts, marked), key=canonical),
    }
    seconds = {(one.step_id, one.side): one.interval for one in marked}
    return Ground(sheet, facts, result_of(sheet, given, seconds))


def _grade_facts(grade: Grade) -> dict[str, Any]:
    return {"step": grade.step_id, "side": grade.side, "criterion": grade.criterion_id, "level": grade.level}


def _mark_facts(mark: Mark) -> dict[str, Any]:
    ends = (round(1000 * mark.interval.onset_s), round(1000 * mark.interval.offset_s))
    return {"step": mark.step_id, "side": mark.side, "onset_ms": ends[0], "offset_ms": ends[1]}


def changes_since(then: Facts, now: Ground) -> tuple[str, ...]:
    """Say, in sentences, what a sign-off rests on that is otherwise now; empty for nothing.

    Parameters
    ----------
    then
        The facts of the ground when it was signed.
    now
        The ground as it is.
    """
    sheet, here = now.sheet, now.facts
    told = [] if then["film_sha256"] == here["film_sha256"] else ["The film is another one."]
    by_then, by_now = ((facts["checklist"], facts["checklist_version"]) for facts in (then, here))
    if by_then != by_now:
        told.append(
            f"The attempt was reviewed by {by_then[0]}, version {by_then[1]}, and is now by {by_now[0]}, "
            f"version {by_now[1]}."
        )
    levels, levels_now = _levels(then["grades"]), _levels(here["grades"])
    told += [
        f"{_place_words(sheet, place)}: {_level_words(sheet, levels.get(place))} when it was signed, "
        f"{_level_words(sheet, levels_now.get(place))} now."
        for place in _in_order(levels | levels_now)
        if levels.get(place) != levels_now.get(place)
    ]
    return (*told, *_moved(sheet, then["marks"], here["marks"]))


def _moved(sheet: Checklist, then: Iterable[Facts], now: Iterable[Facts]) -> list[str]:
    before, after = ({canonical(one): one for one in marks} for marks in (then, now))
    different = [one for text, one in (before | after).items() if text not in before or text not in after]
    places = {(one["step"], one["side"], None) for one in different}
    return [f"{_place_words(sheet, place)}: marked otherwise than when it was signed." for place in _in_order(places)]


_Place = tuple[str, str | None, str | None]


def _in_order(places: Iterable[_Place]) -> list[_Place]:
    return sorted(places, key=lambda place: tuple(part or "" for part in place))


def _levels(grades: Iterable[Facts]) -> dict[_Place, str]:
    return {(one["step"], one["side"], one["criterion"]): one["level"] for one in grades}


def _place_words(sheet: Checklist, place: _Place) -> str:
    step_id, side, criterion_id = place
    step = next((one for one in sheet.steps() if one.id == step_id), None)
    title = step.title if step else step_id
    texts = {one.id: one.text.rstrip(".") for one in step.criteria} if step else {}
    criterion = texts.get(criterion_id or "", criterion_id)
    return ", ".join(part for part in (title, side, criterion) if part)


def _level_words(sheet: Checklist, key: str | None) -> str:
    if key is None:
        return "not graded"
    return next((level.word for level in sheet.scale.levels if level.key == key), key)
