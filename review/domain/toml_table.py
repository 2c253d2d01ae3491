"""A TOML table read key by key, where every fault is noted with its line and reading goes on."""

from __future__ import annotations

import re
import sys
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from review.domain.errors import Fault, NotFound
from review.domain.toml_lines import KeyPath, line_of

_ID = re.compile(r"[a-z][a-z0-9_]*")
_MOST = sys.float_info.max
_KINDS: tuple[tuple[type | tuple[type, ...], str], ...] = (
    (bool, "the switch"),
    ((int, float), "the number"),
    (str, "the text"),
    ((datetime, date, time), "the date or time"),
)


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a TOML file.

    The reading methods return a value of the right type in any case; what they return after noting a fault is only
    there so that the faults further down are found as well.

    Parameters
    ----------
    kind
        What the table describes, in the words of its author: "step", "target".
    values
        What `tomllib` read.
    path
        Way to the table from the top of the file.
    lines
        Line of every way in the file, from `review.domain.toml_lines.line_map`.
    faults
        Where faults are noted; shared by all tables of a file.
    """

    kind: str
    values: Mapping[str, object]
    path: KeyPath
    lines: Mapping[KeyPath, int]
    faults: list[Fault]

    def line(self, *way: str | int) -> int:
        """Return the line of what lies at `way` inside this table."""
        return line_of(self.lines, (*self.path, *way))

    def fault(self, text: str, *way: str | int) -> None:
        """Note a fault at the line of what lies at `way` inside this table."""
        self.faults.append(Fault(self.line(*way), text, (*self.path, *way)))

    def only(self, known: Collection[str]) -> None:
        """Note every key that is not among the known ones, offering close ones."""
        for key in self.values:
            if key not in known:
                self.fault(str(NotFound.among(f"key of a {self.kind}", key, known)), key)

    def text(self, key: str) -> str:
        """Read a text that must be there and say something; see `folded` for its line breaks."""
        return self._as_text(self._present(key), key) or ""

    def id(self, key: str) -> str:
        """Read a text that can serve as an id."""
        text = self.text(key)
        if text and not _ID.fullmatch(text):
            self.fault(
                f"{key} is {text!r}; expected small letters a to z, digits and _, with a letter first, "
                "like visual_fields.",
                key,
            )
        return text

    def number(self, key: str, low: float = -_MOST, high: float = _MOST) -> float | None:
        """Read a finite number from `low` to `high`, both included; None after a fault."""
        value = self._present(key)
        if value is None:
            return None
        if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high:
            return float(value)
        self._unlike(value, f"a number{_between(low, high)}", key)
        return None

    def count(self, key: str) -> int:
        """Read a whole number of 1 or more; 1 after a fault."""
        value = self._present(key)
        if isinstance(value, int) and not isinstance(value, bool) and value >= 1:
            return value
        if value is not None:
            self._unlike(value, "a whole number of 1 or more", key)
        return 1

    def switch(self, key: str) -> bool:
        """Read true or false; a switch that is not written is off."""
        value = self.values.get(key, False)
        if isinstance(value, bool):
            return value
        self._unlike(value, "true or false", key)
        return False

    def texts(self, key: str) -> tuple[str, ...]:
        """Read a list of texts; one that is not written is empty."""
        read = (self._as_text(value, key, position) for position, value in enumerate(self._list(key)))
        return tuple(text for text in read if text is not None)

    def words(self, key: str, noun: str, known: Collection[str]) -> tuple[str, ...]:
        """Read a list of different words out of the known ones; a list that is not written is empty."""
        words: list[str] = []
        for position, value in enumerate(self._list(key)):
            word = self._as_text(value, key, position)
            if word is None:
                continue
            if word not in known:
                self.fault(str(NotFound.among(noun, word, known)), key, position)
            elif word in words:
                self.fault(f"{key} names {word!r} twice; name it once.", key, position)
            words.append(word)
        return tuple(words)

    def tables(self, key: str, kind: str, *, needed: bool = False) -> tuple[Table, ...]:
        """Read a list of tables, each of this kind; note a fault when one is needed and there is none."""
        value = self.values.get(key, [])
        if isinstance(value, dict):
            self.fault(f"{key} is one table; expected a list of tables, which double brackets make: [[{key}]].", key)
            return (Table(kind, value, (*self.path, key), self.lines, self.faults),)
        entries = self._list(key, "a list of tables")
        if needed and value == []:
            self.fault(f"this {self.kind} has no {kind}; expected at least one under {key}.", key)
        found = []
        for position, entry in enumerate(entries):
            if isinstance(entry, dict):
                found.append(Table(kind, entry, (*self.path, key, position), self.lines, self.faults))
            else:
                self._unlike(entry, f"a table that describes a {kind}", key, position)
        return tuple(found)

    def table(self, key: str, kind: str) -> Table | None:
        """Read a table that must be there; None after a fault."""
        value = self._present(key)
        if isinstance(value, dict):
            return Table(kind, value, (*self.path, key), self.lines, self.faults)
        if value is not None:
            self._unlike(value, f"a table, written [{key}]", key)
        return None

    def _present(self, key: str) -> object | None:
        if key not in self.values:
            self.fault(f"this {self.kind} has no {key}; add {key} = ... to it.")
        return self.values.get(key)

    def _as_text(self, value: object, *way: str | int) -> str | None:
        if isinstance(value, str):
            text = folded(value)
            if not text:
                self.fault(f"{way[0]} is empty; expected some text.", *way)
            return text
        if value is not None:
            self._unlike(value, "text in quotes", *way)
        return None

    def _list(self, key: str, expected: str = "a list of texts") -> Sequence[object]:
        value = self.values.get(key, [])
        if isinstance(value, list):
            return value
        self._unlike(value, expected, key)
        return []

    def _unlike(self, value: object, expected: str, *way: str | int) -> None:
        self.fault(f"{way[0]} is {_came(value)}; expected {expected}.", *way)


def folded(text: str) -> str:
    r"""Join the lines of each paragraph with one space; an empty line between paragraphs stays.

    Examples
    --------
    >>> folded("\nStand close,\n   arms ready.\n\nDo not touch.\n")
    'Stand close, arms ready.\n\nDo not touch.'
    """
    paragraphs = (" ".join(paragraph.split()) for paragraph in re.split(r"\n[ \t]*\n", text.replace("\r\n", "\n")))
    return "\n\n".join(paragraph for paragraph in paragraphs if paragraph)


def repeated(tables: Sequence[Table], values: Sequence[str], key: str) -> None:
    """Note every value that an earlier table already has under the same key; empty ones were noted elsewhere."""
    first: dict[str, Table] = {}
    for table, value in zip(tables, values, strict=True):
        if value and value in first:
            line = first[value].line(key)
            table.fault(f"{key} {value!r} of this {table.kind} is taken on line {line}; choose another.", key)
        first.setdefault(value, table)


def _came(value: object) -> str:
    """Say what a value is, short enough for a message."""
    for kind, noun in _KINDS:
        if isinstance(value, kind):
            shown = repr(value) if isinstance(value, str) else str(value).lower()
            return f"{noun} {shown if len(shown) <= 40 else shown[:37] + '...'}"
    return "a list" if isinstance(value, list) else "a table"


def _between(low: float, high: float) -> str:
    if low == -_MOST:
        return ""
    return f" of {low:g} or more" if high == _MOST else f" from {low:g} to {high:g}"
