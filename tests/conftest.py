from __future__ import annotations

import os
from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True)
def schedule_kept() -> Iterator[None]:
    """Hold that no test changes how the system schedules this process: what it starts would inherit that."""
    if not hasattr(os, "sched_getscheduler"):
        yield
        return
    before = os.sched_getscheduler(0)
    yield
    assert os.sched_getscheduler(0) == before
