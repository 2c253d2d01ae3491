"""A share of things counted, with the interval after Wilson."""

from __future__ import annotations

import math

from review.signals.agreement.figure import NORMAL_95, Figure, unsaid


def wilson(name: str, counted: int, of: int) -> Figure:
    """Return the share ``counted / of`` with Wilson's 95 % score interval.

    ``(p + z^2 / 2n +- z sqrt(p (1 - p) / n + z^2 / 4n^2)) / (1 + z^2 / n)``. It has a width at 0 and at 1 as well,
    where ``p +- z sqrt(p (1 - p) / n)`` has none.

    Parameters
    ----------
    name
        What the share is called.
    counted, of
        Whole numbers.

    References
    ----------
    Wilson E. B. (1927), J. Am. Stat. Assoc. 22:209-212; compared with others by Newcombe R. G. (1998), Stat. Med.
    17:857-872.
    """
    if of == 0:
        return unsaid(name, 0, "Nothing was counted yet.")
    share, squared = counted / of, NORMAL_95**2
    middle = share + squared / (2 * of)
    half = NORMAL_95 * math.sqrt(share * (1 - share) / of + squared / (4 * of**2))
    low, high = ((middle + sign * half) / (1 + squared / of) for sign in (-1, 1))
    return Figure(name, share, min(share, max(0.0, low)), max(share, min(1.0, high)), of)
