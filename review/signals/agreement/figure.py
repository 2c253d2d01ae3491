"""A number about raters as it is handed on: with its 95 % interval, or with the sentence why there is none."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

NORMAL_95: Final = 1.959963984540054
"""Standard deviations on either side that hold 95 % of a normal distribution."""

ONE_RATER: Final = "Only one person graded; agreement needs two."
NOTHING_SHARED: Final = "Nothing was graded by two people."
NO_WIDTH: Final = "All agree, so the formula of its interval gives no width; the interval of the raw agreement does."


@dataclass(frozen=True, slots=True)
class Figure:
    """One coefficient.

    Parameters
    ----------
    name
        What it is called.
    value
        The number; None where it is not defined. Never NaN.
    low, high
        Ends of its 95 % interval; both None where there is none.
    count
        On how many things that were graded it rests.
    note
        The sentence why there is no number or no interval, or what to beware of; empty for nothing.
    """

    name: str
    value: float | None
    low: float | None
    high: float | None
    count: int
    note: str = ""

    def noted(self, note: str) -> Figure:
        """Return the same figure with a further sentence."""
        return replace(self, note=" ".join(filter(None, (self.note, note))))


def unsaid(name: str, count: int, note: str) -> Figure:
    """Return a figure without a number: the sentence says why."""
    return Figure(name, None, None, None, count, note)


def around(
    name: str, value: float, error: float, count: int, spread: float = NORMAL_95, least: float = -1.0, most: float = 1.0
) -> Figure:
    """Return a figure with the interval ``value +- spread error``, cut at what is possible.

    Parameters
    ----------
    name, value, count
        As in `Figure`.
    error
        Standard error; 0 or NaN gives no interval, and a sentence that says so.
    spread
        How many standard errors hold 95 % on either side.
    least, most
        What the number can be at least and at most.
    """
    if not math.isfinite(error) or error <= 1e-12:
        return Figure(name, value, None, None, count, NO_WIDTH if value > 1 - 1e-12 else "Its interval has no width.")
    low, high = min(value, max(least, value - spread * error)), max(value, min(most, value + spread * error))
    return Figure(name, value, low, high, count)
