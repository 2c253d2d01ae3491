"""How sure a number is: noise measured in the series itself, and its joining with known bias and scale errors."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

NORMAL_95 = 1.959964
"""Standard deviations on either side that hold 95 % of a normal distribution."""

_MAD_TO_SD = 1.482602
_MEDIAN_TO_MEAN = 1.2533


@dataclass(frozen=True, slots=True)
class Bounded:
    """A number with the ends of its 95 % interval, in one unit."""

    value: float
    low: float
    high: float

    def within(self, least: float, most: float = math.inf) -> Bounded:
        """Return the number and its ends kept between what is possible at least and at most.

        Examples
        --------
        >>> Bounded(0.5, -1.0, 2.0).within(0.0)
        Bounded(value=0.5, low=0.0, high=2.0)
        """
        return Bounded(*(min(max(end, least), most) for end in (self.value, self.low, self.high)))


def noise_sd(values: npt.ArrayLike) -> float:
    """Estimate the standard deviation of frame-to-frame noise on a smooth curve.

    ``1.4826 median(|d|) / sqrt(6)`` with the second differences ``d[i] = x[i-1] - 2 x[i] + x[i+1]``: a straight
    stretch gives none, a few jumps hardly move it. Noise that neighbouring samples share is underestimated.

    Parameters
    ----------
    values
        Evenly sampled series, shape ``(time,)``; differences that touch a NaN are left out.

    Returns
    -------
    float
        In the unit of the series; NaN with fewer than three neighbouring values.

    References
    ----------
    Rice J. (1984), Bandwidth choice for nonparametric regression, Ann. Statist. 12:1215-1230, for the use of
    differences; the median in place of the mean is common practice (both from memory).
    """
    bends = np.diff(np.asarray(values, np.float64), n=2)
    bends = bends[np.isfinite(bends)]
    return float(_MAD_TO_SD * np.median(np.abs(bends)) / math.sqrt(6)) if len(bends) else math.nan


def effective_size(values: npt.ArrayLike) -> float:
    """Return how many independent samples carry as much about the mean as this correlated series does.

    ``n / (1 + 2 sum(r[k]))`` over the autocorrelations up to the first that is not positive.

    Parameters
    ----------
    values
        Evenly sampled series, shape ``(time,)``; NaN are left out.

    Returns
    -------
    float
        Between 1 and n; n for a constant series, 0 for an empty one.

    References
    ----------
    Bayley G. V., Hammersley J. M. (1946), The "effective" number of independent observations in an
    autocorrelated time series, J. R. Stat. Soc. Suppl. 8:184-197 (from memory).
    """
    series = np.asarray(values, np.float64)
    series = series[np.isfinite(series)] - (np.nanmean(series) if np.isfinite(series).any() else 0.0)
    count = len(series)
    power = float(series @ series)
    if count < 2 or power == 0:
        return float(count)
    padded = 2 ** math.ceil(math.log2(2 * count))
    correlation = np.fft.irfft(np.abs(np.fft.rfft(series, padded)) ** 2)[:count] / power
    ends = np.flatnonzero(correlation <= 0)
    together = float(correlation[1 : ends[0] if len(ends) else count].sum())
    return float(min(count, max(1.0, count / (1 + 2 * together))))


def median_error(values: npt.ArrayLike) -> float:
    """Return the standard error of the median of a correlated series: ``1.2533 sd / sqrt(effective size)``.

    The spread is the scaled median absolute deviation; NaN are left out; NaN for an empty series.
    """
    series = np.asarray(values, np.float64)
    series = series[np.isfinite(series)]
    if len(series) == 0:
        return math.nan
    spread = _MAD_TO_SD * float(np.median(np.abs(series - np.median(series))))
    return _MEDIAN_TO_MEAN * spread / math.sqrt(effective_size(series))


def bounded(value: float, *, noise: float = 0.0, offset: float = 0.0, scale: float = 0.0) -> Bounded:
    """Join independent errors into a 95 % interval: ``value +- 1.96 sqrt(noise^2 + offset^2 + (scale value)^2)``.

    Parameters
    ----------
    value
        The number.
    noise
        Standard error from the spread of the samples, same unit.
    offset
        Standard deviation of what a known bias leaves uncorrected, same unit.
    scale
        Standard deviation of the scale factor, as a share of the value.
    """
    half = NORMAL_95 * math.sqrt(noise**2 + offset**2 + (scale * value) ** 2)
    return Bounded(value, value - half, value + half)


def above_floor(total: Bounded, floor: Bounded) -> Bounded:
    """Take a noise floor off a magnitude in quadrature: ``sqrt(total^2 - floor^2)``, never below 0.

    Independent noise adds to the square of a root mean square, so it is taken off there. The low end pairs the low
    total with the high floor, the high end the other way round. A low end of 0 says that the floor alone could
    have made the total.

    Examples
    --------
    >>> above_floor(Bounded(5.0, 5.0, 5.0), Bounded(3.0, 0.0, 4.0))
    Bounded(value=4.0, low=3.0, high=5.0)
    """
    return Bounded(
        _quadrature(total.value, floor.value),
        _quadrature(total.low, floor.high),
        _quadrature(total.high, floor.low),
    )


def _quadrature(total: float, floor: float) -> float:
    return math.sqrt(max(0.0, max(0.0, total) ** 2 - max(0.0, floor) ** 2))


@dataclass(frozen=True, slots=True)
class Bias:
    """What a chain of instruments adds to the truth: ``reading = scale * truth + offset``, and how sure that is.

    Seen from aside, ``scale`` becomes ``scale * (1 + view * (1 - cos(angle)))``: by the same share of how much a
    length that points to the camera loses.

    Parameters
    ----------
    offset, offset_sd
        What is added, and the standard deviation of what is left after taking it off, in the unit of the reading.
    scale, scale_sd
        By how much it is multiplied, and the standard deviation of what is left after that, as a share of the truth.
    view, view_sd
        How the scale goes with the view, without unit, and the standard deviation of that: -1 for what is
        foreshortened like a line on the turned body, 0 for what looks alike from everywhere.
    """

    offset: float = 0.0
    offset_sd: float = 0.0
    scale: float = 1.0
    scale_sd: float = 0.0
    view: float = 0.0
    view_sd: float = 0.0

    def corrected(self, reading: float, *, noise: float = 0.0, scale_sd: float = 0.0, view_deg: float = 0.0) -> Bounded:
        """Take the bias off a reading and join what is left of it with noise and scale into a 95 % interval.

        Parameters
        ----------
        reading
            As it was measured.
        noise
            Its standard error from the spread of its samples, same unit.
        scale_sd
            Standard deviation of a further scale, such as that of a length in the picture, as a share of the value.
        view_deg
            Angle between the view and the one from which the reading is best, deg.

        Examples
        --------
        >>> Bias(offset=1.0, scale=2.0).corrected(5.0)
        Bounded(value=2.0, low=2.0, high=2.0)
        >>> round(Bias(view=-1.0).corrected(5.0, view_deg=60.0).value, 6)
        10.0
        """
        aside = 1 - math.cos(math.radians(view_deg))
        seen = 1 + self.view * aside
        scale = self.scale * seen
        share = math.hypot(self.scale_sd, scale_sd, self.view_sd * aside / seen)
        return bounded((reading - self.offset) / scale, noise=noise / scale, offset=self.offset_sd, scale=share)
