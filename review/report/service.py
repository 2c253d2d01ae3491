"""Whether a server works, and how much there is on it: told to those who run it, with nothing of anybody."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from datetime import UTC, datetime

from review.domain.errors import RunthroughError
from review.store.database import Database
from review.store.home import Home
from review.store.repository import reading
from review.store.room import SPARE_BYTES


def failing(home: Home, database: Database | None) -> list[str]:
    """Return what does not work: ``database``, ``folder`` (it cannot be written) and ``room`` (its disk is full).

    Parameters
    ----------
    home
        Whose server.
    database
        Its database; None where it cannot be opened.
    """
    found = [] if database is not None and _answers(database) else ["database"]
    if not os.access(home.incoming, os.W_OK):
        return [*found, "folder"]
    return found if shutil.disk_usage(home.incoming).free >= SPARE_BYTES else [*found, "room"]


def _answers(database: Database) -> bool:
    try:
        with reading(database) as repo:
            repo.courses().signing_in()
    except (RunthroughError, OSError):
        return False
    return True


def figures(home: Home, database: Database) -> tuple[Mapping[str, float], Mapping[str, int]]:
    """Return a number for each name of `review.exchange.prometheus_text.GAUGES`, and how many analyses are how far."""
    with reading(database) as repo:
        found = repo.census()
    since = found.waiting_since
    gauges = {
        "recordings": float(found.recordings),
        "film_seconds": found.film_seconds,
        "film_bytes": float(found.film_bytes),
        "disk_free_bytes": float(shutil.disk_usage(home.incoming).free),
        "waiting_seconds": 0.0 if since is None else max(0.0, (datetime.now(UTC) - since).total_seconds()),
    }
    return gauges, found.jobs
