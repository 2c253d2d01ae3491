"""A unit of work with what it cost; a module of its own, as workers import it by name."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any


def timed(work: Callable[[Any], Any], order: Any) -> tuple[Any, float]:
    """Do a unit and return what came of it with the seconds of computing it took."""
    began = time.process_time()
    return work(order), time.process_time() - began
