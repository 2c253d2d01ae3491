"""Read ahead: run an iterator on its own thread, a bounded number of items in front of the consumer."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from queue import Empty, Full, Queue
from threading import Event, Thread
from typing import Any, TypeVar

T = TypeVar("T")

_END = object()


@contextmanager
def read_ahead(source: Iterator[T], depth: int) -> Iterator[Iterator[T]]:
    """Give an iterator over `source`, which is drawn from on another thread, at most `depth` items ahead.

    A fault in `source` is raised where its item would have come. Leaving the block stops the thread.
    """
    line: Queue[object] = Queue(maxsize=depth)
    left = Event()
    thread = Thread(target=_fill, args=(source, line, left), daemon=True)
    thread.start()
    try:
        yield _drain(line)
    finally:
        left.set()
        _empty(line)
        thread.join()


def _fill(source: Iterator[T], line: Queue[object], left: Event) -> None:
    try:
        for item in source:
            if not _put(line, item, left):
                return
        _put(line, _END, left)
    except BaseException as fault:  # handed on to the consumer, who raises it
        _put(line, _Fault(fault), left)


class _Fault:
    def __init__(self, fault: BaseException) -> None:
        self.fault = fault


def _put(line: Queue[object], item: object, left: Event) -> bool:
    while not left.is_set():
        try:
            line.put(item, timeout=0.1)
        except Full:
            continue
        return True
    return False


def _drain(line: Queue[object]) -> Iterator[Any]:
    while True:
        item = line.get()
        if item is _END:
            return
        if isinstance(item, _Fault):
            raise item.fault
        yield item


def _empty(line: Queue[object]) -> None:
    while True:
        try:
            line.get_nowait()
        except Empty:
            return
