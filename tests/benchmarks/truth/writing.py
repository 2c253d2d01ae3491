"""Writing `review/measures/learned.toml`."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

from review.measures.learned import table
from tests.benchmarks.truth.learning import Learned

_HEAD = """\
# Bias of each reading: reading = scale * truth + offset. Written by: python -m tests.benchmarks.truth --learn
# `fit` is the author's: what is learned of the key ("offset", "scale" or "both"), "+view" if the scale goes with the
# view: reading = scale * (1 + view * (1 - cos(angle))) * truth + offset. people = 0 marks a first guess.
"""


def as_toml(learned: Mapping[str, Learned]) -> str:
    """Return the table with what was learned put in the place of what was there; the other keys stay."""
    entries = {key: _entry(entry, learned.get(key)) for key, entry in sorted(table().items())}
    parts = [
        f"[{_quoted(key)}]\n" + "".join(f"{name} = {_value(v)}\n" for name, v in e.items())
        for key, e in entries.items()
    ]
    return "\n".join([_HEAD, *parts])


def write_learned(learned: Mapping[str, Learned]) -> Path:
    """Write the packaged table anew and return where it is."""
    path = Path(str(files("review.measures") / "learned.toml"))
    path.write_text(as_toml(learned), "utf-8")
    return path


def _entry(entry: Mapping[str, Any], one: Learned | None) -> dict[str, Any]:
    if one is None:
        return dict(entry)
    names = ["offset", "offset_sd", "scale", "scale_sd", *(["view", "view_sd"] if "view" in entry["fit"] else [])]
    numbers = {name: float(f"{getattr(one.bias, name):.4g}") for name in names}
    return {**entry, **numbers, "readings": one.readings, "people": one.people}


def _quoted(key: str) -> str:
    return f'"{key}"' if "." in key else key


def _value(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else repr(value)
