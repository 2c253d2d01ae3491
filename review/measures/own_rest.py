"""What a person's face or head does at rest: the value kept longest, the ends of the stretch counting more."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from review.measures.face_view import shares

EDGE_S: Final = 0.5
"""Who marks a step leaves about this much rest before and after what is done in it."""

_EDGES_COUNT_S = 6.0
_EDGES_TIMES = 2.0
_HOLE_S = 0.25
_BINS_IN_WIDTH = 20


def resting_value(
    times: npt.ArrayLike, values: npt.ArrayLike, width: float, likely: npt.ArrayLike | float = 1.0
) -> float:
    """Return the value that is kept longest, at the ends of a short stretch above all.

    The place where the density of the samples is highest under a Gaussian of `width`. Each sample counts for the time
    it stands for; those in the first and last `EDGE_S` together count for twice the others, but for no more than 6 s.
    So a smile held for three of four seconds is not taken for rest, and in a film of minutes the ends hardly matter.

    Parameters
    ----------
    times, values
        Clock in seconds and samples, shape ``(time,)``; NaN is left out.
    width
        Spread of the value at rest, in the unit of `values`.
    likely
        How likely each sample shows rest for other reasons, 0 to 1.

    Returns
    -------
    float
        NaN when there is no sample.

    Examples
    --------
    >>> times = [0.1 * place for place in range(40)]
    >>> round(resting_value(times, [0.0] * 5 + [8.0] * 30 + [0.0] * 5, 1.0), 1)
    0.0
    """
    clock, samples = np.asarray(times, np.float64), np.asarray(values, np.float64)
    known = np.isfinite(samples)
    if not known.any():
        return float("nan")
    clock, samples = clock[known], samples[known]
    weight = _weights(clock) * np.broadcast_to(np.asarray(likely, np.float64), known.shape)[known]
    weight = weight if weight.sum() > 0 else np.ones_like(clock)
    step = width / _BINS_IN_WIDTH
    place = np.round((samples - samples.min()) / step).astype(np.intp)
    counts = np.bincount(place, weights=weight)
    reach = 3 * _BINS_IN_WIDTH
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / _BINS_IN_WIDTH) ** 2)
    density = np.convolve(counts, kernel)[reach : reach + len(counts)]
    return float(samples.min() + step * int(np.argmax(density)))


def _weights(clock: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    weight = np.maximum(shares(clock, _HOLE_S), 1e-9)
    ends = (clock <= clock[0] + EDGE_S) | (clock >= clock[-1] - EDGE_S)
    others = float(weight[~ends].sum())
    if others > 0:
        weight[ends] *= min(_EDGES_TIMES * others, _EDGES_COUNT_S) / float(weight[ends].sum())
    return weight
