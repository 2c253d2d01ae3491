"""Measures of standing sway, for one axis or for two: formulas as printed, each with its source.

Every function takes evenly sampled displacement: one series (medio-lateral or antero-posterior) or both, each of
shape ``(time,)`` in one unit of length. Distances are from the mean position, or from `about` (one coordinate for
each axis) where another point is given. NaN anywhere gives NaN.

References
----------
.. [1] Prieto T. E., Myklebust J. B., Hoffmann R. G., Lovett E. G., Myklebust B. M. (1996), Measures of postural
   steadiness: differences between healthy young and elderly adults, IEEE Trans. Biomed. Eng. 43:956-966 (from memory).
.. [2] Schubert P., Kirchner M. (2014), Ellipse area calculations and their applicability in posturography,
   Gait & Posture 39:518-522.
.. [3] Quijoux F. et al. (2021), A review of center of pressure (COP) variables to quantify standing balance in
   elderly people, Physiological Reports 9:e15067.
.. [4] Chew V. (1966), Confidence, prediction, and tolerance regions for the multivariate normal distribution,
   J. Am. Stat. Assoc. 61:605-617 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import scipy

Points = npt.NDArray[np.float64]
Origin = Sequence[float] | None


def _centred(axes: tuple[npt.ArrayLike, ...], about: Origin = None) -> Points:
    points = np.stack([np.asarray(axis, np.float64) for axis in axes], axis=1)
    return np.asarray(points - (points.mean(axis=0) if about is None else np.asarray(about, np.float64)))


def _radius(axes: tuple[npt.ArrayLike, ...], about: Origin) -> Points:
    return np.asarray(np.sqrt((_centred(axes, about) ** 2).sum(axis=1)))


def mean_distance(*axes: npt.ArrayLike, about: Origin = None) -> float:
    """Return the mean distance from the mean position, ``mean(sqrt(x**2 + y**2))``, or ``mean(|x|)`` [1]_."""
    return float(_radius(axes, about).mean())


def rms(*axes: npt.ArrayLike, about: Origin = None) -> float:
    """Return the root mean square distance from the mean position, ``sqrt(mean(x**2 + y**2))`` [1]_.

    For one axis this is the standard deviation with the divisor n.
    """
    return float(np.sqrt((_radius(axes, about) ** 2).mean()))


def sway_range(*axes: npt.ArrayLike) -> float:
    """Return the largest distance between any two positions; for one axis, maximum minus minimum [1]_."""
    points = _centred(axes)
    if np.isnan(points).any():
        return math.nan
    if points.shape[1] == 1:
        return float(np.ptp(points))
    return float(scipy.spatial.distance.pdist(_corners(points)).max(initial=0.0))


def _corners(points: Points) -> Points:
    try:
        return np.asarray(points[scipy.spatial.ConvexHull(points).vertices])
    except scipy.spatial.QhullError:
        return points


def path_length(*axes: npt.ArrayLike) -> float:
    """Return the length of the way travelled, ``sum(sqrt(diff(x)**2 + diff(y)**2))`` [1]_."""
    return float(np.sqrt((np.diff(_centred(axes), axis=0) ** 2).sum(axis=1)).sum())


def mean_velocity(*axes: npt.ArrayLike, rate_hz: float) -> float:
    """Return the way travelled per second, ``path_length / T`` with ``T = (n - 1) / rate_hz`` [1]_."""
    return path_length(*axes) * rate_hz / (len(np.asarray(axes[0])) - 1)


def mean_frequency(*axes: npt.ArrayLike, rate_hz: float, about: Origin = None) -> float:
    """Return the frequency, in Hz, of the simplest motion with this velocity and this mean distance [1]_.

    Two axes: of a circle, ``mean_velocity / (2 pi mean_distance)``. One axis: of a sine,
    ``mean_velocity / (4 sqrt(2) mean_distance)``.
    """
    turn = 2 * math.pi if len(axes) == 2 else 4 * math.sqrt(2)
    return mean_velocity(*axes, rate_hz=rate_hz) / (turn * mean_distance(*axes, about=about))


def sway_area_rate(x: npt.ArrayLike, y: npt.ArrayLike, rate_hz: float, about: Origin = None) -> float:
    """Return the area per second of the triangles that neighbouring positions span with the mean position.

    ``sum(|x[i+1] y[i] - x[i] y[i+1]|) / (2 T)`` with ``T = (n - 1) / rate_hz`` [1]_ [3]_.
    """
    points = _centred((x, y), about)
    twice = np.abs(points[1:, 0] * points[:-1, 1] - points[:-1, 0] * points[1:, 1])
    return float(twice.sum() * rate_hz / (2 * (len(points) - 1)))


def prediction_coefficient(count: int, level: float = 0.95) -> float:
    """Return what to multiply ``sqrt(det S)`` by for the area of the prediction ellipse.

    ``pi * 2 (n - 1)(n + 1) / (n (n - 2)) * F(level; 2, n - 2)``, S with the divisor n - 1 [2]_ [4]_.
    """
    share = 2 * (count - 1) * (count + 1) / (count * (count - 2))
    return float(math.pi * share * scipy.special.fdtri(2, count - 2, level))


def two_pi_f_coefficient(count: int, level: float = 0.95) -> float:
    """Return ``2 pi F(level; 2, n - 2)``, the multiplier of the ellipse area of [1]_, about 6 pi for long series."""
    return float(2 * math.pi * scipy.special.fdtri(2, count - 2, level))


def _root_determinant(x: npt.ArrayLike, y: npt.ArrayLike, divisor: int, about: Origin) -> float:
    points = _centred((x, y), about)
    (xx, xy), (_, yy) = points.T @ points / divisor
    return float(np.sqrt(np.maximum(0.0, xx * yy - xy**2)))


def prediction_ellipse_area(x: npt.ArrayLike, y: npt.ArrayLike, level: float = 0.95, about: Origin = None) -> float:
    """Return the area of the ellipse that a further position falls into with probability `level` [2]_.

    Covariance with the divisor n - 1. For long series it approaches ``pi chi2(level, 2) sqrt(det S)``.
    """
    count = len(np.asarray(x))
    return prediction_coefficient(count, level) * _root_determinant(x, y, count - 1, about)


def two_pi_f_ellipse_area(x: npt.ArrayLike, y: npt.ArrayLike, level: float = 0.95, about: Origin = None) -> float:
    """Return ``2 pi F sqrt(det S)`` with S over n: the "95 % ellipse" of [1]_, kept to compare with older figures."""
    count = len(np.asarray(x))
    return two_pi_f_coefficient(count, level) * _root_determinant(x, y, count, about)


def sway_direction_deg(x: npt.ArrayLike, y: npt.ArrayLike) -> float:
    """Return the angle of the main axis of sway from the second axis, 0 (all along y) to 90 deg (all along x)."""
    points = _centred((x, y))
    if np.isnan(points).any():
        return math.nan
    _, vectors = np.linalg.eigh(points.T @ points)
    return float(np.degrees(np.arccos(np.clip(np.abs(vectors[1, -1]), 0.0, 1.0))))
