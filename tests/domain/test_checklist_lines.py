"""The line scanner against texts in which every value says the line it stands on."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from review.domain.toml_lines import KeyPath, line_map, line_of

UNTIMED = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
TRICKY = [
    "]",
    "}",
    "# no comment",
    "a = 1",
    "[table]",
    "[[entry]]",
    "it's",
    "''",
    ",",
    "=",
    "...",
]
NAMES = ["a", "b-1", "c_2", "7", '"quoted key"', '"with.dot"', "'with = sign'", '"#"', '"\\u00e9 \\" ]"', '""']
BLANKS = ["", "\n", "# [not.a.table]\n", "  # key = 'no' ]\n", "\t\n\n", '# """\n']


def leaves(value: object, path: KeyPath = ()) -> Iterator[tuple[KeyPath, object]]:
    """Go through all values that are neither tables nor lists, with the way to each."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for position, inner in enumerate(value):
            yield from leaves(inner, (*path, position))
    else:
        yield path, value


class Author:
    """Writes a random TOML text in which each value starts with the number of the line it was begun on."""

    def __init__(self, data: st.DataObject) -> None:
        self.draw = data.draw
        self.text = ""

    @property
    def line(self) -> int:
        """Line that is being written, counted from 1."""
        return self.text.count("\n") + 1

    def document(self) -> str:
        """Write pairs, tables and entries of lists of tables, one after another."""
        self.pairs(self.names())
        for name in self.names():
            self.text += self.draw(st.sampled_from(BLANKS))
            if self.draw(st.booleans()):
                self.text += f"[ head . {name} ] # [x]\n"
                self.pairs(self.names())
            else:
                self.entries(name)
        return self.text

    def entries(self, name: str) -> None:
        """Write a list of tables whose entries hold tables and lists of tables of their own."""
        for _ in range(self.draw(st.integers(1, 3))):
            self.text += f"[[list.{name}]]\n"
            self.pairs(self.names())
            if self.draw(st.booleans()):
                self.text += f"[list.{name}.inner_table]\n"
                self.pairs(self.names())
            for _ in range(self.draw(st.integers(0, 2))):
                self.text += f"  [[list . {name}.inner_list]]\n"
                self.pairs(self.names())

    def names(self) -> list[str]:
        """Draw different keys as they are written."""
        return self.draw(st.lists(st.sampled_from(NAMES), max_size=4, unique=True))

    def pairs(self, names: list[str]) -> None:
        """Write a pair for each name, some with dotted keys."""
        for name in names:
            self.text += self.draw(st.sampled_from(BLANKS))
            self.text += name + self.draw(st.sampled_from([" = ", "=", " . x = ", ".x.'y'\t=\t"]))
            self.value(2)
            self.text += self.draw(st.sampled_from(["\n", " # comment ] '\n", "\t\n"]))

    def value(self, depth: int) -> None:
        """Write a number, a string of any sort, a list or an inline table."""
        kinds = [self.number, self.basic, self.literal, self.long_basic, self.long_literal]
        if depth:
            kinds += [lambda: self.list(depth), lambda: self.inline_table(depth)]
        self.draw(st.sampled_from(kinds))()

    def number(self) -> None:
        """Write the line as a whole number."""
        self.text += str(self.line)

    def basic(self) -> None:
        """Write a string in double quotes with escapes."""
        self.text += f'"{self.line} {self.draw(st.sampled_from(TRICKY))} \\" \\\\"'

    def literal(self) -> None:
        """Write a string in single quotes."""
        self.text += f"'{self.line} \" {self.draw(st.sampled_from(TRICKY)).replace(chr(39), '')} \\'"

    def long_basic(self) -> None:
        """Write a string over several lines, with quotes inside and at its end."""
        inside, end = self.draw(st.sampled_from(TRICKY)), self.draw(st.sampled_from(["", '"', '""', '\\"""', "\\\\"]))
        self.text += f'"""{self.line} \n{inside}\n"" \\""" \\\n   {end}"""'

    def long_literal(self) -> None:
        """Write a literal string over several lines."""
        inside, end = self.draw(st.sampled_from(TRICKY)), self.draw(st.sampled_from(["", "'", "''", "\\"]))
        self.text += f"'''{self.line}\n{inside}\n\"\"\" {end}'''"

    def list(self, depth: int) -> None:
        """Write a list, perhaps over several lines with comments and a comma at its end."""
        self.text += "["
        for position in range(self.draw(st.integers(0, 3))):
            self.text += ("," if position else "") + self.draw(st.sampled_from([" ", "\n", " # ], [\n\n", ""]))
            self.value(depth - 1)
        self.text += self.draw(st.sampled_from(["", "\n", " # ]\n"])) + "]"

    def inline_table(self, depth: int) -> None:
        """Write a table in braces; its values may go over several lines."""
        self.text += "{"
        for position, name in enumerate(self.names()):
            self.text += (", " if position else " ") + name + " = "
            self.value(depth - 1)
        self.text += " }"


def said_line(value: object) -> int:
    """Read the line that a value says it stands on."""
    return int(str(value).split()[0])


@UNTIMED
@given(st.data())
def test_every_value_of_a_random_file_is_found_on_the_line_it_says(data: st.DataObject) -> None:
    """Whatever is written around it, a value stands where its author wrote it."""
    text = Author(data).document()
    lines = line_map(text)
    for path, value in leaves(tomllib.loads(text)):
        assert lines[path] == said_line(value), path


@UNTIMED
@given(st.data())
def test_windows_line_ends_change_no_line(data: st.DataObject) -> None:
    """A file saved with carriage returns has the same lines."""
    text = Author(data).document()
    assert line_map(text.replace("\n", "\r\n")) == line_map(text)


@UNTIMED
@given(st.data())
def test_the_map_has_every_table_key_and_entry_and_nothing_else(data: st.DataObject) -> None:
    """The ways in the map are exactly the ways in what `tomllib` reads."""
    text = Author(data).document()

    def ways(value: object, path: KeyPath) -> Iterator[KeyPath]:
        yield path
        inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for key, part in inner:
            yield from ways(part, (*path, key))

    assert set(line_map(text)) == set(ways(tomllib.loads(text), ()))


@pytest.mark.parametrize(
    ("text", "path", "line"),
    [
        pytest.param("a = 1\n\n[b]\nc = 2\n", ("b",), 3, id="a table stands on its header"),
        pytest.param("[b.c]\n[b]\nd = 1\n", ("b",), 2, id="a header wins over being implied earlier"),
        pytest.param("[[s]]\n[[s.t]]\n[[s]]\n[[s.t]]\n", ("s", 1, "t", 0), 4, id="entries belong to the last entry"),
        pytest.param('a = """\n[x]\n"""\nb = 1', ("b",), 4, id="a header inside a text is text"),
        pytest.param("a.b = 1\na.c = 2", ("a", "c"), 2, id="a dotted key"),
        pytest.param("d = 2026-01-02 03:04:05 # x\ne = 1", ("e",), 2, id="a date with a space"),
        pytest.param("a = [\n1,\n[2,\n3],\n]", ("a", 1, 1), 4, id="a list in a list"),
        pytest.param('"a\\nb" = 1', ("a\nb",), 1, id="an escaped key"),
    ],
)
def test_line_of_one_thing(text: str, path: KeyPath, line: int) -> None:
    """Chosen texts whose lines can be counted by eye."""
    assert line_map(text)[path] == line


def test_what_is_not_there_stands_where_it_would_belong() -> None:
    """A key that is missing is looked for in the table around it, and at last in the file."""
    lines = line_map("a = 1\n\n[b]\nc = 2\n")
    assert (line_of(lines, ("b", "x", 0)), line_of(lines, ("x",))) == (3, 1)
