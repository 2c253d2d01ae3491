"""A step's first measure over the step's own seconds, thinned to what fits into a row of the sheet."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.checklist import Target
from review.domain.measure import Measure
from review.domain.model import Interval, Reason, Side
from review.report.tracks import columns_of

MOST_POINTS: Final = 48
_BETWEEN_LOOKS_S: Final = 0.7
"""Two looks nearer than this have no gap between them."""

Floats = npt.NDArray[np.float64]


def sparkline(of: Measure, trace: xr.DataArray, seconds: Interval, side: Side | None, target: Target | None) -> Any:
    """Return a measure's course over a stretch as plain JSON values; None where nothing of it was looked at.

    Of a measure with several columns that of the side is taken, else the first. The stretch is cut into equal parts;
    each is told as the mean of its usable samples.

    Returns
    -------
    dict or None
        ``title, column, unit``; ``points`` (None where unusable); ``low, high``, the ends of the target where the
        curve shows the quantity that the target is about; ``why``, the most frequent reason of what is unusable.
    """
    times = trace["time"].values
    inside = (times >= seconds.onset_s) & (times <= seconds.offset_s) & (trace["reason"].values != Reason.NOT_LOOKED)
    if seconds.duration_s <= 0 or not inside.any():
        return None
    columns = columns_of(of, trace)
    column = columns.index(side) if side in columns else 0
    flat = trace.transpose("time", ...).values.reshape(trace.sizes["time"], -1)
    unit = str(trace.attrs.get("units", ""))
    shown = of.level if of.level is not None else len(columns) == 1 and target is not None and target.unit == unit
    return {
        "title": of.curve or of.title,
        "column": columns[column] if len(columns) > 1 else "",
        "unit": "" if unit == "1" else unit,
        "points": _points(times[inside], flat[inside, column].astype(float), seconds),
        "low": target.low if target and shown else None,
        "high": target.high if target and shown else None,
        "why": _why(flat[inside, column], trace["reason"].values[inside]),
    }


def _points(times: Floats, values: Floats, seconds: Interval) -> list[float | None]:
    count = min(MOST_POINTS, times.size)
    edges = np.linspace(seconds.onset_s, seconds.offset_s, count + 1)
    part = np.clip(np.searchsorted(edges, times, side="right") - 1, 0, count - 1)
    points: list[float | None] = []
    for place in range(count):
        found = values[part == place]
        if not found.size:
            middle = (edges[place] + edges[place + 1]) / 2
            nearest = int(np.argmin(np.abs(times - middle)))
            found = values[nearest : nearest + 1] if abs(times[nearest] - middle) < _BETWEEN_LOOKS_S else found
        usable = found[np.isfinite(found)]
        points.append(float(f"{usable.mean():.4g}") if usable.size else None)
    return points


def _why(values: npt.NDArray[np.generic], reasons: npt.NDArray[np.generic]) -> str:
    missing = reasons[~np.isfinite(values.astype(float))].astype(int)
    counts = np.bincount(missing[missing > 0]) if (missing > 0).any() else np.zeros(1, int)
    return Reason(int(counts.argmax())).words if counts.any() else ""
