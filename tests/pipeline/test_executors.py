"""The pool in which films are looked at."""

from __future__ import annotations

import os
import sys
import time
from importlib import import_module

import psutil
import pytest

from review.capture.bounds import memory_here
from review.pipeline.executors import local_pool


def _limits() -> tuple[int, str]:
    import resource
    from pathlib import Path

    return resource.getrlimit(resource.RLIMIT_DATA)[0], Path("/proc/self/oom_score_adj").read_text().strip()


def _take(count: int) -> int:
    return len(bytearray(count))


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only Linux keeps such limits")
def test_a_film_cannot_take_the_machine() -> None:
    """A worker that asks for more than its share is told no, lives on, and would be the first that the system ends."""
    with local_pool(1) as pool:
        limit, first = pool.submit(_limits).result()
        assert (limit, first) == (memory_here(), "1000")
        with pytest.raises(MemoryError):
            pool.submit(_take, limit).result()
        assert pool.submit(_take, 1000).result() == 1000


def _loaded() -> set[str]:
    for name in ("review.__main__", "review.pipeline.orders"):
        import_module(name)
    return {name for name, module in sys.modules.items() if module is not None}


def test_a_worker_stays_small() -> None:
    """It loads what it looks with: not the commands, and not what pandas or the sound alone would bring along."""
    with local_pool(1) as pool:
        loaded = pool.submit(_loaded).result()
    assert "review.capture.crowd" in loaded
    assert not {"review.commands.films", "pyarrow", "scipy.signal", "sqlalchemy"} & loaded


def _loaded_to_listen() -> set[str]:
    for name in ("review.__main__", "review.pipeline.listening", "review.capture.sound", "review.speech.recogniser"):
        import_module(name)
    return {name for name, module in sys.modules.items() if module is not None}


def test_a_worker_that_only_listens_is_smaller_still() -> None:
    """It holds the recogniser: what lays out tracks, and what looks at pictures, is not loaded beside it."""
    with local_pool(1) as pool:
        loaded = pool.submit(_loaded_to_listen).result()
    assert "review.pipeline.listening" in loaded
    assert not {"xarray", "pandas", "cv2", "mediapipe", "sqlalchemy", "review.pipeline.orders"} & loaded


def _own_number(_: None) -> int:
    return os.getpid()


def test_a_unit_apart_is_done_by_a_worker_that_ends_with_it() -> None:
    """What it loaded goes with it; the workers that stay have loaded nothing."""
    with local_pool(1) as pool:
        stays = pool.submit(_own_number, None).result()
        passing = pool.submit_apart(_own_number, None).result()
        assert passing != stays
        patience = time.monotonic() + 20
        while psutil.pid_exists(passing) and time.monotonic() < patience:
            time.sleep(0.05)
        assert not psutil.pid_exists(passing)
        assert pool.submit(_own_number, None).result() == stays
