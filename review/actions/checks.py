"""What every entry must keep: a place in the checklist, times in the film, ids that are UUIDs."""

from __future__ import annotations

import math
from typing import Final
from uuid import UUID

from review.domain.checklist import Checklist, Step
from review.domain.errors import EntryRefused
from review.domain.model import Interval, Recording, Side
from review.store.repository import Repository

_ROUNDING_S: Final = 0.001
_HEIGHT_MM: Final = (500.0, 2500.0)
_SLOWEST: Final = 40.0


def checklist_of(repo: Repository, recording: Recording) -> Checklist:
    """Return the checklist, in the version, that a recording is reviewed by.

    Raises
    ------
    EntryRefused
        If none was chosen yet.
    """
    if recording.checklist_id is None:
        raise EntryRefused(
            f"Recording {recording.name!r} has no checklist yet, so its steps are not known. Choose one first."
        )
    return repo.checklist(recording.checklist_id, recording.checklist_version)


def check_place(repo: Repository, recording: Recording, step_id: str, side: Side | None) -> tuple[Checklist, Step]:
    """Return the recording's checklist and step after seeing that the side belongs to the step.

    Raises
    ------
    NotFound
        If the checklist has no such step.
    EntryRefused
        If it does not, or the recording has no checklist.
    """
    checklist = checklist_of(repo, recording)
    step = checklist.step(step_id)
    if side not in step.places:
        sides = " or ".join(step.sides) or "no side"
        raise EntryRefused(
            f"Side {side or 'none'!r} came for the step {step.title!r}; expected {sides}. Nothing was changed."
        )
    return checklist, step


def check_interval(recording: Recording, onset_s: float, offset_s: float) -> Interval:
    """Return the stretch from `onset_s` to `offset_s` after seeing that it lies in the film.

    A millisecond beyond the film's end is taken for rounding and means the end.

    Raises
    ------
    EntryRefused
        If a time is not a finite number or lies outside the film, or the end comes before the start.
    """
    faults = [
        f"the {name} is {time_s} s"
        for name, time_s in (("start", onset_s), ("end", offset_s))
        if not (math.isfinite(time_s) and 0 <= time_s <= recording.duration_s + _ROUNDING_S)
    ]
    if faults:
        raise EntryRefused(
            f"{' and '.join(faults).capitalize()}; expected times within the film, from 0 to "
            f"{recording.duration_s:.3f} s. Nothing was changed."
        )
    return Interval(min(float(onset_s), recording.duration_s), min(float(offset_s), recording.duration_s))


def check_id(given: str) -> str:
    """Return an id made by a caller, in its usual form.

    Raises
    ------
    EntryRefused
        If it is not a UUID.
    """
    try:
        return str(UUID(given))
    except ValueError as error:
        raise EntryRefused(f"{given[:60]!r} came as an id; expected a UUID. Nothing was changed.") from error


def check_height(height_mm: float | None) -> None:
    """See that a height, if one is given, is a person's.

    Raises
    ------
    EntryRefused
        If it is not, as when it came in centimetres.
    """
    low, high = _HEIGHT_MM
    if height_mm is not None and not low <= height_mm <= high:
        raise EntryRefused(
            f"A height of {height_mm:g} mm came; expected {low:g} to {high:g} mm. Give the examined person's standing "
            "height in millimetres, such as 1720, or leave it out."
        )


def check_slowness(slow_motion: float) -> None:
    """See that a film is not slower than any camera makes it, nor faster than life.

    Raises
    ------
    EntryRefused
        If it is.
    """
    if not 1 <= slow_motion <= _SLOWEST:
        raise EntryRefused(
            f"A slow motion of {slow_motion:g} times came; expected 1 (an ordinary film) to {_SLOWEST:g}. Give frames "
            "filmed a second divided by frames played a second, such as 8 for 240 played at 30."
        )
