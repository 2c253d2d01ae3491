"""Checklist files on disk, in the documents, and torn to pieces."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from review.checklists import shipped
from review.domain.checklist import Checklist
from review.domain.checklist_file import KEYS, MOST_BYTES, VIEWS, parse_checklist, read_checklist
from review.domain.errors import ChecklistRefused, Fault

UNTIMED = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
DOCUMENT = (Path(__file__).parents[2] / "docs" / "checklists.md").read_text("utf-8")
EXAMPLE, FAULTY = re.findall(r"```toml\n(.*?)```", DOCUMENT, re.DOTALL)
KNOWN = {"stance_width": "1", "hold_time": "s"}
SHORT = shipped("balance_only").read_text("utf-8")


def the_fault(path: Path) -> tuple[int, str]:
    """Return line and text of the only fault of a file that must be refused."""
    with pytest.raises(ChecklistRefused) as refused:
        read_checklist(path)
    assert str(path) in str(refused.value)
    ((line, text),) = [(fault.line, fault.text) for fault in refused.value.faults]
    return line, text


def read_or_refuse(text: str) -> tuple[Checklist | None, tuple[Fault, ...]]:
    """Return the checklist, or None and the faults."""
    try:
        return parse_checklist(text, "sheet"), ()
    except ChecklistRefused as refused:
        return None, refused.faults


def test_a_file_says_what_its_text_says(tmp_path: Path) -> None:
    """Reading a file and reading its text give the same checklist."""
    path = tmp_path / "sheet.toml"
    path.write_text(EXAMPLE, "utf-8")
    assert read_checklist(path, KNOWN) == parse_checklist(EXAMPLE, "sheet.toml", KNOWN)


@pytest.mark.parametrize("saved", ["utf-8-sig", "windows line ends"])
def test_files_saved_by_windows_editors_are_read(tmp_path: Path, saved: str) -> None:
    """Neither a byte order mark nor carriage returns are a fault."""
    path = tmp_path / "sheet.toml"
    if saved == "utf-8-sig":
        path.write_text(EXAMPLE, saved)
    else:
        path.write_bytes(EXAMPLE.replace("\n", "\r\n").encode())
    assert read_checklist(path) == parse_checklist(EXAMPLE, "sheet.toml")


def test_a_file_that_is_not_there_is_one_clear_fault(tmp_path: Path) -> None:
    """The path is named and the reason said."""
    line, text = the_fault(tmp_path / "missing.toml")
    assert line == 0
    assert text.startswith("cannot be opened (No such file")


def test_a_folder_is_one_clear_fault(tmp_path: Path) -> None:
    """A folder in place of a file cannot be opened."""
    assert the_fault(tmp_path)[1].startswith("cannot be opened")


def test_a_file_that_is_not_utf8_is_one_fault_on_the_line_where_it_stops(tmp_path: Path) -> None:
    """Text saved in an old encoding is refused at its first strange byte."""
    path = tmp_path / "sheet.toml"
    path.write_bytes('id = "a"\ntitle = "Prüfung"\n'.encode("latin-1"))
    line, text = the_fault(path)
    assert line == 2
    assert "UTF-8" in text


@pytest.mark.parametrize(("extra", "refused"), [(0, False), (1, True)])
def test_a_file_above_the_limit_is_one_fault(tmp_path: Path, extra: int, refused: bool) -> None:
    """A file of the largest size is read, one byte more is not."""
    path = tmp_path / "sheet.toml"
    path.write_text(EXAMPLE + "#" * (MOST_BYTES - len(EXAMPLE.encode()) + extra), "utf-8")
    if refused:
        assert the_fault(path) == (0, f"bigger than {MOST_BYTES} bytes; expected a checklist in TOML, much smaller.")
    else:
        assert read_checklist(path).id == "first_balance"


def test_the_documented_example_is_a_good_checklist() -> None:
    """The example can be copied as it stands."""
    sheet = parse_checklist(EXAMPLE, "docs", KNOWN)
    assert [(step.id, step.points) for step in sheet.steps()] == [("feet_together", 2.0), ("one_leg", 1.0)]


def test_the_documented_faults_are_what_the_check_says() -> None:
    """The answer printed in the document is the answer of the code, to the letter."""
    (answer,) = re.findall(r"```text\n(.*?)\n```", DOCUMENT, re.DOTALL)
    with pytest.raises(ChecklistRefused) as refused:
        parse_checklist(FAULTY, "my_sheet.toml", KNOWN)
    assert str(refused.value) == answer


def test_every_key_is_documented_once_for_its_table_and_no_other() -> None:
    """The key column of each table in the document has exactly the keys of the format."""
    tables = re.findall(r"\| key \| what it is \|\n\|---\|---\|\n((?:\|.*\n)+)", DOCUMENT)
    documented = [sorted(re.findall(r"^\| `(\w+)` \|", table, re.MULTILINE)) for table in tables]
    assert sorted(documented) == sorted(sorted(keys) for keys in KEYS.values())


def test_every_view_is_documented() -> None:
    """The document names every word that `view` knows."""
    (row,) = re.findall(r"^\| `view` \|.*$", DOCUMENT, re.MULTILINE)
    assert set(re.findall(r'`"(\w+)"`', row)) == set(VIEWS)


@UNTIMED
@given(st.data())
def test_a_fault_put_anywhere_is_named_on_its_line(data: st.DataObject) -> None:
    """Points made negative in any step, below any number of added lines, are named where they stand."""
    lines = SHORT.split("\n")
    at = data.draw(st.sampled_from([number for number, line in enumerate(lines) if line.startswith("points = ")]))
    lines[at] = "points = -2"
    header = data.draw(st.sampled_from([number for number, line in enumerate(lines) if line.startswith("[[")]))
    added = data.draw(st.lists(st.sampled_from(["", "# [[section]]", "   # points = -3"]), max_size=5))
    lines[header:header] = added
    expected = at + 1 + (len(added) if header <= at else 0)
    with pytest.raises(ChecklistRefused) as refused:
        parse_checklist("\n".join(lines), "sheet")
    assert [(fault.line, fault.text.split()[0]) for fault in refused.value.faults] == [(expected, "points")]


@UNTIMED
@given(st.data())
def test_a_torn_file_is_read_or_refused_with_lines_that_exist(data: st.DataObject) -> None:
    """Whatever is cut out of a file or written into it, there is a checklist or a list of faults with real lines."""
    text = SHORT
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        end = start + data.draw(st.integers(0, 60))
        text = text[:start] + data.draw(st.text("[]{}=\"#\n\\,.ab1 '", max_size=6)) + text[end:]
    sheet, faults = read_or_refuse(text)
    assert (sheet is None) == bool(faults)
    assert all(0 <= fault.line <= text.count("\n") + 1 for fault in faults)


@UNTIMED
@given(
    st.recursive(
        st.sampled_from(["1", "-2.5", "true", '"x"', '""', "nan", "2026-01-02"]),
        lambda inner: st.one_of(
            st.lists(inner, max_size=3).map(lambda values: f"[{', '.join(values)}]"),
            st.dictionaries(
                st.sampled_from(sorted({key for keys in KEYS.values() for key in keys})), inner, max_size=5
            ).map(lambda pairs: "{" + ", ".join(f"{key} = {value}" for key, value in pairs.items()) + "}"),
        ),
        max_leaves=12,
    ),
    st.sampled_from(KEYS["checklist"]),
)
def test_values_of_any_shape_are_refused_and_never_break_the_reader(value: str, key: str) -> None:
    """A key of the file may hold anything TOML can write; what is not a whole checklist is refused."""
    with pytest.raises(ChecklistRefused):
        parse_checklist(f"{key} = {value}", "sheet", KNOWN)
