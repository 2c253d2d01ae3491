import threading
from collections.abc import Iterator

import pytest

from review.capture.ahead import read_ahead


def test_items_come_in_order() -> None:
    """All items of the source come, in their order."""
    with read_ahead(iter(range(50)), 3) as line:
        assert list(line) == list(range(50))


def test_a_fault_comes_where_its_item_would() -> None:
    """Items before a fault are handed out first, then the fault is raised to the consumer."""

    def source() -> Iterator[int]:
        yield 1
        raise OSError("the disk is gone")

    got = []
    with pytest.raises(OSError, match="disk is gone"), read_ahead(source(), 3) as line:
        got += [item for item in line]
    assert got == []
    with read_ahead(source(), 3) as line:
        assert next(line) == 1


def test_leaving_early_stops_the_thread() -> None:
    """A consumer that leaves early leaves no thread behind, however long the source is."""
    before = threading.active_count()

    def endless() -> Iterator[int]:
        while True:
            yield 0

    with read_ahead(endless(), 2) as line:
        next(line)
    assert threading.active_count() == before


def test_no_more_than_the_depth_is_drawn_ahead() -> None:
    """The source is drawn at most `depth` items ahead, plus the one on its way."""
    drawn = []

    def source() -> Iterator[int]:
        for number in range(100):
            drawn.append(number)
            yield number

    with read_ahead(source(), 4) as line:
        next(line)
        threading.Event().wait(0.2)
        assert len(drawn) <= 6
