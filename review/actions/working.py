"""The process that works beside the pages: it analyses what waits, and is started again if it dies."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Final

from review.actions.retention import keep_dates_quietly
from review.pipeline.dispatch import Dispatcher
from review.store.home import Home

_PAUSES_S: Final = (1.0, 5.0, 30.0)
_LASTING_S: Final = 60.0
_BETWEEN_DATES_S: Final = 6 * 3600.0


def keep_working(home: Home) -> None:
    """Have what waits in a home analysed in a process of its own as long as this one lives.

    It is started again if it dies: soon at first, then after half a minute. What it had taken is done again.
    """
    threading.Thread(target=_supervise, args=(home,), name="supervisor", daemon=True).start()


def _supervise(home: Home) -> None:
    deaths = 0
    while True:
        began = time.monotonic()
        order = [sys.executable, "-m", "review", "work", "--home", str(home.root), "--beside", str(os.getpid())]
        with home.log.open("ab") as log:
            worker = subprocess.Popen(order, stdin=subprocess.DEVNULL, stdout=log, stderr=log, start_new_session=True)
        worker.wait()
        deaths = 0 if time.monotonic() - began > _LASTING_S else min(deaths + 1, len(_PAUSES_S) - 1)
        time.sleep(_PAUSES_S[deaths])


def work_beside(home: Home, models_folder: Path | None = None, beside: int | None = None) -> None:
    """Analyse what waits in a home, and then what comes, until stopped or until the process `beside` ends.

    Several processes may do so; they share the work. This one yields to everything else on the machine.
    """
    if hasattr(os, "nice"):
        os.nice(5)
    threading.Thread(target=_keep_dates, args=(home,), name="dates", daemon=True).start()
    Dispatcher(home, models_folder=models_folder).run(until=lambda: _left_alone(beside), idle_ends=False)


def _keep_dates(home: Home) -> None:
    """Erase what is due, now and then every few hours."""
    while True:
        keep_dates_quietly(home)
        time.sleep(_BETWEEN_DATES_S)


def _left_alone(beside: int | None) -> bool:
    return beside is not None and os.getppid() != beside
