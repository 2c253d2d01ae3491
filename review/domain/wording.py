"""How numbers of things, and times of a film, are said."""

from __future__ import annotations


def counted(count: float, noun: str, several: str = "") -> str:
    """Say how many there are.

    Parameters
    ----------
    count
        How many.
    noun, several
        The word for one, and that for several where it is not the first with an `s`.

    Examples
    --------
    >>> counted(1, "point"), counted(0.5, "point"), counted(2, "copy", "copies"), counted(1_000_000, "row")
    ('1 point', '0.5 points', '2 copies', '1000000 rows')
    """
    told = str(count) if isinstance(count, int) else f"{count:g}"
    return f"{told} {noun if count == 1 else several or f'{noun}s'}"


def whole_seconds(time_s: float) -> str:
    """Write a time of a film as minutes and whole seconds, for what is not known nearer than that.

    Examples
    --------
    >>> whole_seconds(64.9)
    '1:04'
    """
    return f"{int(time_s) // 60}:{int(time_s) % 60:02d}"
