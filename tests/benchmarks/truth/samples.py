"""Estimates against the known truth of the packaged sample clips.

The clips are analysed as any film is, and each estimate is set beside what the clip was rendered with. The clips have
one rendered person without noise: they show whether the arithmetic of the chain is right, not how well it does on
other people or real films.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.actions import checklists, people
from review.actions.recordings import add
from review.domain.model import Event, Role, Value
from review.domain.tracks import cut
from review.measures import measure
from review.pipeline.analyse import analyse
from review.pipeline.values import measured
from review.store.home import Home
from review.store.repository import repository
from sample_clips import clip_path, truth

Columns = dict[str, npt.NDArray[np.float64]]


@dataclass(frozen=True)
class Check:
    """One line of the table: what was known, what was estimated, and how far off it may be."""

    clip: str
    what: str
    truth: float
    estimate: float | None
    low: float | None
    high: float | None
    allowed: float

    @property
    def near(self) -> bool:
        """Whether the estimate is as near the truth as it has to be."""
        return self.estimate is not None and abs(self.estimate - self.truth) <= self.allowed

    @property
    def inside(self) -> bool | None:
        """Whether the truth lies inside the interval; None where the check has none."""
        if self.low is None or self.high is None:
            return None
        return self.low <= self.truth <= self.high


def tracks_of(home: Home, clip: str) -> xr.Dataset:
    """Add a sample clip to a home folder and return its tracks."""
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
    return analyse(home, add(home, learner, clip_path(clip))).load()


def columns(clip: str) -> Columns:
    """Return the truth's numeric columns as arrays over the clip's frames."""
    frames = truth(clip)["frames"]
    return {name: np.asarray(values, float) for name, values in frames.items() if isinstance(values, list)}


def segment(clip: str, name: str) -> tuple[float, float]:
    """Return the span of a named segment of a clip, in seconds."""
    found = next(one for one in truth(clip)["segments"] if one["name"] == name)
    return found["onset_s"], found["offset_s"]


def values(tracks: xr.Dataset, name: str, onset_s: float, offset_s: float) -> tuple[Value, ...]:
    """Run one measure over a stretch."""
    return measured(cut(tracks, onset_s, offset_s), measure(name), "clip")


def estimate(clip: str, what: str, known: float, value: Value, allowed: float) -> Check:
    """Set an estimate beside what is known."""
    found = value.estimate
    return Check(clip, what, known, found.value, found.low, found.high, allowed)


def stance(tracks: xr.Dataset, known: Columns) -> Iterator[Check]:
    """Set the stance beside the truth: apart, together and after the side step."""
    ratio = known["stance_m"] / known["shoulder_width_m"]
    for what, onset, offset in (("apart", 0.3, 2.3), ("together", 4.2, 45.8), ("after the step", 46.8, 47.9)):
        inside = (known["time_s"] >= onset) & (known["time_s"] <= offset)
        right = float(np.median(ratio[inside]))
        allowed = 0.07 if what == "together" else 0.1 * right
        yield estimate("romberg", f"stance {what}", right, values(tracks, "stance_width", onset, offset)[0], allowed)


def sway(tracks: xr.Dataset, known: Columns) -> Iterator[Check]:
    """Set the sideways sway of the shoulders, RMS in mm at the person's known height, beside the truth."""
    sized = tracks.assign_attrs(height_mm=1000 * truth("romberg")["person"]["height_m"])
    for what, onset, offset in (("eyes open", 4.5, 24.0), ("eyes shut", 26.0, 45.0)):
        inside = (known["time_s"] >= onset) & (known["time_s"] <= offset)
        right = float(1000 * np.std(known["sway_shoulder_x_m"][inside]))
        value = values(sized, "postural_sway_mm", onset, offset)[0]
        yield estimate("romberg", f"sway {what} (mm)", right, value, 0.2 * right)


def hold(tracks: xr.Dataset, known: Columns) -> Iterator[Check]:
    """Set the time with feet together and eyes shut beside the truth."""
    shut = (known["closed_left"] > 0.5) & (known["closed_right"] > 0.5) & (known["time_s"] > 20)
    right = float(np.ptp(known["time_s"][shut]))
    yield estimate("romberg", "hold time (s)", right, values(tracks, "hold_time", 0.0, 48.0)[0], 0.3)


def closures(clip: str, tracks: xr.Dataset) -> Iterator[Check]:
    """Count the closures found at the right time in the right eye, and those that were not there."""
    known = [event for event in truth(clip)["events"] if event["kind"] == "eye_closure"]
    found = [event for value in values(tracks, "eye_closure", 0.0, 999.0) for event in value.events]
    matched = [event for event in known if any(_same(event, other) for other in found)]
    if clip != "knee":  # seen from the side, where lids are refused
        yield Check(clip, "closures found", len(known), len(matched), None, None, 0)
    yield Check(clip, "closures invented", 0, len(found) - len(matched), None, None, 0)


def _same(known: dict[str, Any], found: Event) -> bool:
    seconds = found.interval
    near = abs(seconds.onset_s - known["onset_s"]) < 0.2 and abs(seconds.offset_s - known["offset_s"]) < 0.2
    return near and found.side == known["side"]


def head(tracks: xr.Dataset, known: Columns) -> Iterator[Check]:
    """Set the head's yaw and roll beside the truth, as RMS of the difference from rest."""
    angles = tracks["head_angle"].interp(time=known["time_s"])
    for name, allowed in (("yaw", 1.5), ("roll", 1.5)):
        seen = angles.sel(angle=name).values
        off = (seen - np.nanmedian(seen)) - (known[f"head_{name}_deg"] - np.median(known[f"head_{name}_deg"]))
        yield Check("face", f"head {name} (rms deg)", 0.0, float(np.sqrt(np.nanmean(off**2))), None, None, allowed)


def gaze(tracks: xr.Dataset) -> Iterator[Check]:
    """Count the gaze positions reached at the right time, and those that were not there."""
    known = {event["position"]: event for event in truth("face")["events"] if event["kind"] == "gaze_hold"}
    value = values(tracks, "gaze_sweep", 0.0, 999.0)[0]
    found = [event for event in value.events if event.kind in known]
    right = [event for event in found if _overlap(event, known[event.kind]) > 0.5]
    yield estimate("face", "gaze positions reached", len(known), value, 0)
    yield Check("face", "positions in the right place", len(known), len({event.kind for event in right}), None, None, 0)
    yield Check("face", "positions invented", 0, len(found) - len(right), None, None, 0)


def _overlap(found: Event, known: dict[str, Any]) -> float:
    """Share of the known hold that the found one covers."""
    shared = min(found.interval.offset_s, known["offset_s"]) - max(found.interval.onset_s, known["onset_s"])
    return shared / (known["offset_s"] - known["onset_s"])


def table(home: Home) -> list[Check]:
    """Analyse the three clips and return all checks."""
    romberg, face, knee = (tracks_of(home, clip) for clip in ("romberg", "face", "knee"))
    standing, close = columns("romberg"), columns("face")
    return [
        *stance(romberg, standing),
        *sway(romberg, standing),
        *hold(romberg, standing),
        *closures("romberg", romberg),
        *head(face, close),
        *gaze(face),
        *closures("face", face),
        *closures("knee", knee),
    ]


def _line(check: Check) -> str:
    numbers = [f"{number:8.3f}" if number is not None else "       -" for number in _numbers(check)]
    inside = {True: "inside", False: "OUTSIDE", None: ""}[check.inside]
    return f"{check.clip:8} {check.what:30} {' '.join(numbers)}  {'near' if check.near else 'FAR ':4} {inside}"


def _numbers(check: Check) -> tuple[float | None, ...]:
    return check.truth, check.estimate, check.low, check.high, check.allowed


def as_text(checks: list[Check]) -> str:
    """Return the table as a text for people."""
    head = f"{'clip':8} {'what':30} {'truth':>8} {'estimate':>8} {'low':>8} {'high':>8} {'allowed':>8}"
    return "\n".join([head, *map(_line, checks)])
