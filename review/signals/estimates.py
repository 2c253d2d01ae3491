"""From a trace to an estimate: which share could be used, why the rest could not, what the number rests on."""

from __future__ import annotations

from collections import Counter

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.model import Estimate, Interval, Reason, Side
from review.signals.runs import true_runs
from review.signals.uncertainty import Bounded

Flags = npt.NDArray[np.bool_]

_MENTIONED_SHARE = 0.05
_MAX_EVIDENCE_GAP_S = 0.5


def reason_codes(trace: xr.DataArray) -> npt.NDArray[np.int8]:
    """Return the trace's ``reason`` coordinate, shape ``(time,)``."""
    return np.asarray(trace["reason"].values, dtype=np.int8)


def usable(trace: xr.DataArray) -> Flags:
    """Tell for every frame whether the trace has a value there (on any side); shape ``(time,)``."""
    known = np.isfinite(trace.values)
    return np.asarray(known.reshape(len(known), -1).any(axis=1))


def usable_share(trace: xr.DataArray) -> float:
    """Return the share of usable frames among those that were looked at; 0 when none was."""
    looked = reason_codes(trace) != int(Reason.NOT_LOOKED)
    return float(usable(trace)[looked].mean()) if looked.any() else 0.0


def reasons_met(trace: xr.DataArray) -> tuple[Reason, ...]:
    """Return the reasons that cost at least a twentieth of the looked-at frames, most frequent first.

    Frames that were not looked at count only when no frame was.
    """
    codes = reason_codes(trace)
    looked = codes[codes != int(Reason.NOT_LOOKED)]
    if len(looked) == 0:
        return (Reason.NOT_LOOKED,)
    counts = Counter(int(code) for code in looked if code != int(Reason.NONE))
    return tuple(Reason(code) for code, count in counts.most_common() if count >= _MENTIONED_SHARE * len(looked))


def evidence(trace: xr.DataArray, flags: npt.ArrayLike | None = None) -> tuple[Interval, ...]:
    """Return the stretches of usable frames (or of `flags`), joined over gaps of up to half a second."""
    clock = trace["time"].values
    marked = usable(trace) if flags is None else np.asarray(flags, bool)
    return tuple(
        Interval(max(0.0, run.onset_s), max(0.0, run.offset_s))
        for run in true_runs(clock, marked, bridge_s=_MAX_EVIDENCE_GAP_S)
    )


def stated(
    trace: xr.DataArray,
    number: Bounded,
    *,
    weak: tuple[Reason, ...] = (),
    rests_on: tuple[Interval, ...] | None = None,
    side: Side | None = None,
) -> Estimate:
    """Make the estimate that says a number.

    Parameters
    ----------
    trace
        What the number was made from, with its ``reason`` coordinate.
    number
        Value and 95 % interval.
    weak
        Reasons why the number is weak, put before those met in the trace.
    rests_on
        The stretches it rests on, when these are not all usable frames.
    side
        The examined person's own side, if the measure has sides.
    """
    reasons = tuple(dict.fromkeys((*weak, *reasons_met(trace))))
    moments = evidence(trace) if rests_on is None else rests_on
    return Estimate(number.value, number.low, number.high, usable_share(trace), reasons, moments, side)


def unstated(
    trace: xr.DataArray,
    reason: Reason | None = None,
    *,
    rests_on: tuple[Interval, ...] = (),
    side: Side | None = None,
) -> Estimate:
    """Make the estimate that says no number, with `reason` before those met in the trace.

    Without any reason at all, `Reason.TOO_FEW_FRAMES` is given: a missing number always says why.
    """
    given = () if reason is None else (reason,)
    reasons = tuple(dict.fromkeys((*given, *reasons_met(trace)))) or (Reason.TOO_FEW_FRAMES,)
    return Estimate(None, None, None, usable_share(trace), reasons, rests_on, side)
