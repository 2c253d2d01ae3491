"""On which line of a TOML text each table, key and list entry stands.

`tomllib` says what a text means but not where; this scanner says where. It is made for text that `tomllib` has
already accepted, so it looks for ends of things and never judges them.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_left
from collections.abc import Mapping

KeyPath = tuple[str | int, ...]
"""Way to a value from the top of the file: keys, and positions in lists counted from 0."""

_BLANK = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_KEY_PART = re.compile(r"""[ \t]*(?:(?P<bare>[A-Za-z0-9_-]+)|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')[ \t]*""")
_SCALAR = re.compile(
    r'''"""(?:[^\\]|\\.)*?"""(?:"{0,2})'''
    r"""|'{3}.*?'{3}(?:'{0,2})"""
    r'''|"(?:[^"\\\n]|\\.)*"'''
    r"""|'[^'\n]*'"""
    r"""|[^,\]}#\n]+|.""",
    re.DOTALL,
)


def line_map(text: str) -> dict[KeyPath, int]:
    r"""Map the way to every table, key and list entry of a TOML text to its line, counted from 1.

    A table stands on the line of its header, a key on the line its name is written on (the value may go on below),
    an entry of a list where the entry begins. Tables that are only implied stand where they are first named. The
    empty way stands for the file itself, on line 1.

    Parameters
    ----------
    text
        Text that `tomllib.loads` accepts.

    Examples
    --------
    >>> line_map('id = "a"\n[[step]]\nsides = ["left",\n"right"]')[("step", 0, "sides", 1)]
    4
    """
    scanner = _Scanner(text.replace("\r\n", "\n"))
    scanner.read_document()
    return scanner.lines


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int:
    """Return the line of `path`, or of the nearest thing around it that stands somewhere."""
    while path not in lines:
        path = path[:-1]
    return lines[path]


class _Scanner:
    """Reads a text from front to back and notes lines as it goes."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._breaks = [found.start() for found in re.finditer("\n", text)]
        self._last_entry: dict[KeyPath, int] = {}
        self.lines: dict[KeyPath, int] = {(): 1}

    def read_document(self) -> None:
        """Read everything: headers and the pairs below them."""
        table: KeyPath = ()
        while self._next_sign():
            if self._next_sign() == "[":
                table = self._header()
            else:
                self._pair(table)

    def _next_sign(self) -> str:
        """Skip spaces, line ends and comments; return the sign that follows, empty at the end."""
        self._at = self._end_of(_BLANK)
        return self._text[self._at : self._at + 1]

    def _end_of(self, pattern: re.Pattern[str]) -> int:
        found = pattern.match(self._text, self._at)
        return found.end() if found else self._at

    def _line(self) -> int:
        return bisect_left(self._breaks, self._at) + 1

    def _header(self) -> KeyPath:
        """Read a `[table]` or `[[entry]]` header; return the way to the table it opens."""
        line = self._line()
        brackets = 2 if self._text.startswith("[[", self._at) else 1
        self._at += brackets
        *outer, name = self._key()
        self._at += brackets
        path: KeyPath = ()
        for part in outer:
            path = (*path, part)
            self.lines.setdefault(path, line)
            if path in self._last_entry:
                path = (*path, self._last_entry[path])
        path = (*path, name)
        if brackets == 2:
            self.lines.setdefault(path, line)
            self._last_entry[path] = self._last_entry.get(path, -1) + 1
            path = (*path, self._last_entry[path])
        self.lines[path] = line
        return path

    def _key(self) -> list[str]:
        """Read a bare, quoted or dotted key."""
        parts: list[str] = []
        while found := _KEY_PART.match(self._text, self._at):
            self._at = found.end()
            parts.append(found["bare"] or next(iter(tomllib.loads(f"{found[0]} = 0"))))
            if not self._text.startswith(".", self._at):
                break
            self._at += 1
        return parts

    def _pair(self, path: KeyPath) -> None:
        """Read `key = value` in the table at `path`."""
        line = self._line()
        for part in self._key():
            path = (*path, part)
            self.lines.setdefault(path, line)
        self._at += len("=")
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        sign = self._next_sign()
        if sign == "[":
            self._list(path)
        elif sign == "{":
            self._inline_table(path)
        else:
            self._at = self._end_of(_SCALAR)

    def _list(self, path: KeyPath) -> None:
        self._at += len("[")
        position = 0
        while self._next_sign() not in ("", "]"):
            self.lines[(*path, position)] = self._line()
            self._value((*path, position))
            self._comma()
            position += 1
        self._at += len("]")

    def _inline_table(self, path: KeyPath) -> None:
        self._at += len("{")
        while self._next_sign() not in ("", "}"):
            self._pair(path)
            self._comma()
        self._at += len("}")

    def _comma(self) -> None:
        if self._next_sign() == ",":
            self._at += len(",")
