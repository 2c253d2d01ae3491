"""What measures must say of a clip: records of the truth file, computed from what was drawn in every frame."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Columns = Mapping[str, NDArray[np.float64]]
"""Columns of the truth, one entry a frame, with ``time_s`` among them."""

Check = dict[str, Any]

UNITS: Final = {
    "stance_width": "1",
    "stance_width_mm": "mm",
    "base_of_support": "1",
    "postural_sway": "%",
    "postural_sway_mm": "mm",
    "sway_range": "%",
    "sway_range_mm": "mm",
    "sway_velocity": "%/s",
    "sway_velocity_mm": "mm/s",
    "eye_closure": "s",
    "eyes_closed_share": "1",
    "gaze_sweep": "1",
    "head_stillness": "1",
    "head_yaw_range": "deg",
    "hold_time": "s",
    "facial_movement": "1",
    "smile_asymmetry": "1",
    "brow_asymmetry": "1",
    "jaw_opening": "mm",
    "jaw_side": "mm",
    "neck_rotation": "deg",
    "neck_flexion": "deg",
    "neck_extension": "deg",
    "neck_side_bend": "deg",
    "gaze_steadiness": "deg",
    "shoulder_elevation": "1",
    "elbow_jerk": "deg",
    "wrist_jerk": "deg",
    "knee_jerk": "deg",
    "ankle_jerk": "deg",
    "tap_moment": "1",
    "touch_sequence": "1",
    "touch_rhythm": "1",
    "target_path": "1",
    "target_pace": "deg/s",
    "voice_level": "dB",
    "whispered_share": "1",
}
"""Measures that checks speak of, and the unit of each."""

_DIGITS: Final = {"mm": 2, "deg": 2, "s": 3, "dB": 2, "deg/s": 2, "%": 4, "mm/s": 2, "%/s": 4, "1": 4}


def must_read(
    measure: str,
    span: tuple[float, float],
    value: float,
    side: str | None = None,
    events: Iterable[Check] | None = None,
) -> Check:
    """Return the record of a number that `measure` must give for a stretch.

    Parameters
    ----------
    span
        Onset and offset of the stretch in seconds.
    events
        What must be found in it: records of `happening`.

    Raises
    ------
    KeyError
        If no measure has that name.
    """
    unit = UNITS[measure]
    record = _about(measure, span, side) | {"value": round(float(value), _DIGITS[unit]) + 0.0, "unit": unit}
    return record if events is None else record | {"events": list(events)}


def must_refuse(measure: str, span: tuple[float, float], why: str, side: str | None = None) -> Check:
    """Return the record of a stretch for which `measure` must give no number, with the reason in words."""
    if measure not in UNITS:
        raise KeyError(measure)
    return _about(measure, span, side) | {"refuse": True, "why": why}


def happening(kind: str, at_s: float, side: str | None = None) -> Check:
    """Return the record of an event that must be found, by its onset."""
    return {"kind": kind, "side": side, "at_s": round(float(at_s), 4)}


def faults(check: Check) -> list[str]:
    """Return what is wrong with the form of a check; nothing if it is well formed."""
    found = [f"{key} is missing" for key in ("measure", "onset_s", "offset_s", "side") if key not in check]
    if found:
        return found
    if check["measure"] not in UNITS:
        found.append(f"no measure is called {check['measure']!r}")
    if not 0 <= check["onset_s"] < check["offset_s"]:
        found.append(f"the stretch {check['onset_s']} to {check['offset_s']} s is empty")
    if check["side"] not in (None, "left", "right"):
        found.append(f"side is {check['side']!r}")
    if check.get("refuse"):
        return found if check.get("why") else [*found, "a refusal needs a reason"]
    if check.get("unit") != UNITS.get(check["measure"]) or not np.isfinite(check.get("value", np.nan)):
        found.append("value and unit are missing or wrong")
    return found + _stray_events(check)


def _stray_events(check: Check) -> list[str]:
    inside = (check["onset_s"], check["offset_s"])
    return [
        f"{event['kind']} at {event['at_s']} s lies outside of the stretch"
        for event in check.get("events", [])
        if not inside[0] <= event["at_s"] <= inside[1]
    ]


def onset(times_s: NDArray[np.float64], values: NDArray[np.float64], level: float) -> float | None:
    """Return when `values` first rise above `level`, between frames by a straight line; None if they never do."""
    above = np.flatnonzero(values > level)
    if not len(above):
        return None
    i = int(above[0])
    if i == 0:
        return float(times_s[0])
    share = (level - values[i - 1]) / (values[i] - values[i - 1])
    return float(times_s[i - 1] + share * (times_s[i] - times_s[i - 1]))


def span_of(times_s: Sequence[float] | NDArray[np.float64]) -> tuple[float, float]:
    """Return first and last moment of a clip, rounded for a record."""
    return round(float(times_s[0]), 4), round(float(times_s[-1]), 4)


def rest(values: NDArray[np.float64], frames: int = 12) -> float:
    """Return the value at rest: the median of the first frames."""
    return float(np.median(values[:frames]))


def _about(measure: str, span: tuple[float, float], side: str | None) -> Check:
    return {"measure": measure, "onset_s": span[0], "offset_s": span[1], "side": side}
