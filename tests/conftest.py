from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from tests.screens import chromium, dashboard, furnished, site, tiny_film

__all__ = ["chromium", "dashboard", "furnished", "schedule_kept", "site", "tiny_film"]


@pytest.fixture(autouse=True)
def schedule_kept() -> Iterator[None]:
    """Hold that no test changes how the system schedules this process: what it starts would inherit that."""
    if not hasattr(os, "sched_getscheduler"):
        yield
        return
    before = os.sched_getscheduler(0)
    yield
    assert os.sched_getscheduler(0) == before
