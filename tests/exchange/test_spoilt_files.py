"""Spoilt files: whatever was changed in one of ours, the readers tell faults and never fail."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.exchange.annotation_reading import read_annotations
from review.exchange.columns import COMMENTS
from review.exchange.csv_text import write_csv
from review.exchange.said import Heard
from review.exchange.table_reading import read_table
from review.exchange.timed_text import metadata_track, read_track
from review.exchange.web_annotation import collection
from tests.exchange.said import AT, CIRCLE, SAID
from tests.exchange.test_csv_text import mark_row

WILD = [
    "9" * 5000,
    "1e400",
    "nan",
    "null",
    "[]",
    "{}",
    '"',
    "-->",
    "\n\n",
    "\u0000",
    ":",
    "-1",
    "t=1,2",
    "0001-01-01T00:00Z",
]


def comments_table() -> str:
    """Return a table of one comment."""
    shape = {f"shape_{name}": value for name, value in CIRCLE.items()}
    more = {"comment_id": mark_row()["mark_id"], "text": "Words", "reply_to": None, "settled": False, "written_at": AT}
    return write_csv(COMMENTS, [{**mark_row(), **more, **shape}])


FILES: dict[str, tuple[str, Callable[[str], Heard]]] = {
    "annotations": (collection(SAID, AT), read_annotations),
    "track": (metadata_track(SAID), read_track),
    "table": (comments_table(), read_table),
}


@pytest.mark.parametrize("kind", list(FILES))
@given(data=st.data())
def test_readers_tell_faults_and_never_fail(kind: str, data: st.DataObject) -> None:
    """A stretch of the file replaced by something wild is read, or told as faults in words."""
    text, read = FILES[kind]
    first = data.draw(st.integers(0, len(text)))
    last = data.draw(st.integers(first, min(len(text), first + 40)))
    heard = read(text[:first] + data.draw(st.sampled_from(WILD) | st.text(max_size=12)) + text[last:])
    assert all(isinstance(fault, str) and fault for fault in heard.faults)


@pytest.mark.parametrize("kind", list(FILES))
def test_an_unspoilt_file_has_no_fault(kind: str) -> None:
    """So that the test above spoils what was whole."""
    text, read = FILES[kind]
    assert read(text).faults == []
    assert read(text).comments


@pytest.mark.parametrize(("kind", "time"), [("annotations", "t=6.000"), ("track", "t=6.000"), ("table", "5.200")])
@pytest.mark.parametrize("number", ["9" * 5000, "1e400", "9" * 400], ids=["digits", "infinite", "large"])
def test_no_number_is_too_large(kind: str, time: str, number: str) -> None:
    """A time that no film has is a fault."""
    text, read = FILES[kind]
    assert time in text
    assert read(text.replace(time, f"t={number}" if time.startswith("t=") else number)).faults
