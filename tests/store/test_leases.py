"""Leases: a unit is one holder's until its time is over, and tries are counted until it is done."""

from __future__ import annotations

from datetime import timedelta

from review.store.database import Database
from review.store.repository import repository
from tests.store import made
from tests.store.made import WHEN

RECORDING = made.recording().id


def test_a_unit_is_taken_once_until_the_lease_runs_out(database: Database) -> None:
    """Nobody else gets it before its moment; after it they do, and the tries go on counting."""
    with repository(database) as repo:
        leases = repo.leases()
        assert leases.take(RECORDING, "0-300", "one", WHEN, 60) == 1
        assert leases.take(RECORDING, "0-300", "two", WHEN + timedelta(seconds=59), 60) is None
        assert leases.taken(WHEN) == {(RECORDING, "0-300"): "one"}
        assert leases.take(RECORDING, "0-300", "two", WHEN + timedelta(seconds=60), 60) == 2


def test_a_renewed_lease_lasts_and_one_given_back_or_freed_does_not(database: Database) -> None:
    """Giving back takes a try back; the death of a holder keeps it; finishing forgets the unit."""
    with repository(database) as repo:
        leases = repo.leases()
        leases.take(RECORDING, "a", "one", WHEN, 60)
        leases.renew("one", WHEN + timedelta(seconds=50), 60)
        assert leases.take(RECORDING, "a", "two", WHEN + timedelta(seconds=100), 60) is None
        leases.give_back("one")
        assert leases.take(RECORDING, "a", "two", WHEN, 60) == 1
        leases.free("two")
        assert leases.take(RECORDING, "a", "three", WHEN, 60) == 2
        leases.finish(RECORDING, "a")
        assert leases.take(RECORDING, "a", "one", WHEN, 60) == 1
        leases.forget(RECORDING)
        assert leases.taken(WHEN) == {}
