"""Entries: results of tests that a film cannot show, typed in by a person, with the arithmetic that belongs to them.

An entry says what was entered, what it comes to in other notations, and what the test's own rule counts as heard. It
never says pass or fail, and it names no disease. Definitions and sources: ``docs/entries.md``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from types import MappingProxyType
from typing import Any, Final

from review.domain.entries.acuity import Acuity, read_acuity
from review.domain.entries.entry import Entry
from review.domain.entries.fork import Rinne, Weber, read_rinne, read_weber
from review.domain.entries.reflex import SCALES, Reflex, read_reflex
from review.domain.entries.scan import Scan
from review.domain.entries.whisper import Whisper, read_whisper
from review.domain.errors import EntryFaulty, NotFound
from review.domain.model import Side

__all__ = ["KINDS", "Entry", "Kind", "Result", "fields_of", "kind_named", "read_entry", "words_of"]

Result = Acuity | Whisper | Reflex | Weber | Rinne


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of entry.

    Parameters
    ----------
    name
        What a checklist calls it.
    title, example
        What stands beside its field, and in it while it is empty.
    read
        Reads a text and notes its faults.
    made
        The type of its result.
    scales
        Names of scales, one of which belongs to every entry; empty where there are none.
    """

    name: str
    title: str
    example: str
    read: Callable[[Scan], Result]
    made: type[Result]
    scales: tuple[str, ...] = ()


KINDS: Final[Mapping[str, Kind]] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            Kind("acuity", "Acuity", "6/12 -1 with glasses", read_acuity, Acuity),
            Kind("whisper", "Whisper", "2 of 3, then 1 of 3", read_whisper, Whisper),
            Kind("reflex", "Reflex grade", "2+", read_reflex, Reflex, tuple(SCALES)),
            Kind("weber", "Heard where", "middle", read_weber, Weber),
            Kind("rinne", "Heard longer", "air 40 s, bone 20 s", read_rinne, Rinne),
        )
    }
)
"""The closed list of kinds, by name."""


def kind_named(name: str) -> Kind:
    """Return the kind with this name.

    Raises
    ------
    NotFound
        If there is none; the message names those that are known.
    """
    if name not in KINDS:
        raise NotFound.among("kind of entry", name, KINDS)
    return KINDS[name]


def read_entry(kind: str, text: str, side: Side | None) -> Result:
    """Read what was entered on a step.

    Parameters
    ----------
    kind
        Name of a kind.
    text
        As typed.
    side
        The examined person's own side of the step; None for a step without sides, where the text must name it.

    Raises
    ------
    EntryFaulty
        If it cannot be; it holds all faults of the text.
    NotFound
        If the kind is not known.

    Examples
    --------
    >>> read_entry("acuity", "6/12 with glasses", "right").words
    '20/40, 6/12, decimal 0.50, logMAR 0.30; with glasses'
    >>> read_entry("whisper", "2 of 3, then 1 of 3", "left").words
    '2 of 3, then 3 of 6 in all right: counts as heard (rule: at least 3 of 6)'
    """
    of = kind_named(kind)
    scan = Scan(text, side)
    result = of.read(scan) if not scan.faults else None
    if result is None or scan.faults:
        raise EntryFaulty(of.title, scan.faults)
    return result


def fields_of(result: Result) -> dict[str, Any]:
    """Return what was read as plain values under fixed names, such as can be kept as JSON."""
    return asdict(result)


def words_of(kind: str, fields: Mapping[str, Any], side: Side | None) -> str:
    """Say what was read; the eye, ear or side is named where the step has no sides.

    Raises
    ------
    NotFound
        If the kind is not known.
    """
    result = kind_named(kind).made(**fields)
    return result.words if side or not result.place else f"{result.place}: {result.words}"
