"""What Runthrough can say about bodies: every module here that declares ``MEASURES`` adds to the registry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from types import MappingProxyType

from review.domain.errors import BrokenPromise, NotFound
from review.domain.measure import Measure


def collected(measures: Iterable[Measure]) -> Mapping[str, Measure]:
    """Put measures into a read-only mapping by name, in the order given.

    Raises
    ------
    BrokenPromise
        If two of them have the same name; the message lists all such names.
    """
    table: dict[str, Measure] = {}
    twice: list[str] = []
    for one in measures:
        if one.name in table:
            twice.append(one.name)
        table.setdefault(one.name, one)
    if twice:
        raise BrokenPromise(
            f"These measures are declared twice: {', '.join(sorted(set(twice)))}. Expected one declaration for each "
            "name; rename or remove one of the two."
        )
    return MappingProxyType(table)


@cache
def registry() -> Mapping[str, Measure]:
    """Return all measures by name, read-only; the modules of this package are found at the first call."""
    names = sorted(info.name for info in iter_modules(__path__))
    modules = [import_module(f"{__name__}.{name}") for name in names]
    return collected(one for module in modules for one in getattr(module, "MEASURES", ()))


def measure(name: str) -> Measure:
    """Return the measure with this name.

    Raises
    ------
    NotFound
        If there is none; the message offers close names.
    """
    known = registry()
    if name not in known:
        raise NotFound.among("measure", name, known)
    return known[name]


def units() -> dict[str, str]:
    """Return each measure's unit by its name."""
    return {name: one.unit for name, one in registry().items()}
