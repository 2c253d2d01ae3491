"""Whether a database is fit for a server."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from review.store.database import Database
from review.store.fitness import fitness


def test_a_database_says_what_it_is(database: Database, keeper: str) -> None:
    """A file is enough for one machine; the server of these tests, made for speed, would lose what was stored."""
    found = fitness(database)
    if keeper == "file":
        assert found.said.startswith("a SQLite file (SQLite 3.")
        assert found.wrong == ()
        return
    assert found.said.startswith("PostgreSQL ")
    assert [one.partition(" is off")[0] for one in found.wrong] == ["fsync", "full_page_writes", "synchronous_commit"]


@pytest.mark.parametrize(("off_s", "told"), [(-1.0, []), (-30.0, ["30.0"]), (400.0, ["400.0"])])
def test_clocks_that_are_apart_are_told(database: Database, keeper: str, off_s: float, told: list[str]) -> None:
    """A worker whose clock is wrong would take what another is at work on; a file has no clock."""
    found = fitness(database, lambda: datetime.now(UTC) + timedelta(seconds=off_s))
    apart = [one.partition("its clock is ")[2].partition(" s")[0] for one in found.wrong if "its clock" in one]
    assert [round(float(one)) for one in apart] == [round(float(one)) for one in told if keeper == "server"]
