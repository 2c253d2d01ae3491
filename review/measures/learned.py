"""What the landmark models add to each reading, as learned on rendered people whose truth is known.

The table `learned.toml` beside this module is written by ``python -m tests.benchmarks.truth --learn``: for every key
the bias of the readings and what is left of it between people who were not learned from. A measure takes its bias
from here and nowhere else, so that the benchmark can put another table in its place: one learned without the person
on whom it is being tested.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import fields
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from review.domain.errors import BrokenPromise
from review.signals.uncertainty import Bias

_other: ContextVar[Mapping[str, Bias] | None] = ContextVar("other table", default=None)


@cache
def table() -> Mapping[str, Mapping[str, Any]]:
    """Return the packaged table, read-only: by key ``fit, offset, offset_sd, scale, scale_sd, readings, people``.

    ``fit`` says what is learned of the key: ``offset``, ``scale`` or ``both``, and with ``+view`` how the scale goes
    with the view (then ``view`` and ``view_sd`` stand there too). ``people`` is how many different bodies it was
    learned from; 0 marks a first guess.
    """
    text = (files(__package__) / "learned.toml").read_text("utf-8")
    return MappingProxyType(tomllib.loads(text))


@cache
def _packaged() -> Mapping[str, Bias]:
    return {key: bias_in(entry) for key, entry in table().items()}


def bias_in(entry: Mapping[str, Any]) -> Bias:
    """Return the bias that an entry of the table holds."""
    return Bias(**{field.name: float(entry[field.name]) for field in fields(Bias) if field.name in entry})


def bias(key: str) -> Bias:
    """Return the bias of a key, such as ``"jaw_opening"``.

    Raises
    ------
    BrokenPromise
        If the table has no such key.
    """
    other = _other.get()
    known = _packaged() if other is None else other
    if key not in known:
        raise BrokenPromise(
            f"{key!r} has no entry in review/measures/learned.toml; expected one. Add it with the fit it needs, and "
            "learn it with: python -m tests.benchmarks.truth --learn"
        )
    return known[key]


@contextmanager
def learned_elsewhere(other: Mapping[str, Bias]) -> Iterator[None]:
    """Have measures take their biases from another table in this thread, for as long as the context lasts."""
    token = _other.set(other)
    try:
        yield
    finally:
        _other.reset(token)
