"""What `doctor --server` looks at besides: whether a machine is fit to serve a school."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from importlib.util import find_spec
from ipaddress import ip_address
from typing import Final
from urllib.parse import urlsplit

from review.domain.errors import InputError
from review.domain.wording import counted
from review.pipeline.cluster import Cluster
from review.store.database import open_database
from review.store.files import replacing
from review.store.fitness import fitness
from review.store.home import Home
from review.store.repository import reading
from review.store.settings import SETTINGS_FILE, settings_of

_LONGEST_WAIT: Final = timedelta(hours=1)
"""After so long without anybody taking a waiting analysis, nobody is there to take it. Author's choice."""


def server_checks(home: Home) -> dict[str, Callable[[], str]]:
    """Return by name what is looked at; each says what it found, or raises with what to do."""
    return {
        "database": lambda: _database(home),
        "settings": lambda: _settings(home),
        "people": lambda: _people(home),
        "shared folder": lambda: _folder(home),
        "analyses": lambda: _analyses(home),
        "workers": lambda: _workers(home),
        "figures": lambda: _figures(home),
    }


def _database(home: Home) -> str:
    found = fitness(open_database(home))
    if found.wrong:
        raise InputError(f"{found.said}; but {'; '.join(found.wrong)}")
    return found.said


def _settings(home: Home) -> str:
    place = home.root / SETTINGS_FILE
    settings_of(home)
    if not place.exists():
        return "none in the home, all from the environment"
    _expect_private(place.stat().st_mode, place.name, "it may hold a password", "600")
    return f"{place}, readable by its owner alone"


def _people(home: Home) -> str:
    with reading(home) as repo:
        if not repo.courses().signing_in():
            raise InputError(
                "nobody signs in here, so whoever reaches the pages may do everything: run `runthrough course start`"
            )
        return f"people sign in, {counted(len(repo.courses().all()), 'course')}"


def _folder(home: Home) -> str:
    """Write, read and remove a file as films are written."""
    _expect_private(home.root.stat().st_mode, str(home.root), "films of people are in it", "700")
    place, content = home.incoming / f"doctor-{os.getpid()}", os.urandom(4096)
    try:
        with replacing(place) as fresh:
            fresh.write_bytes(content)
        same = place.read_bytes() == content
        place.unlink()
    except OSError as error:
        raise InputError(f"{home.incoming} cannot be written ({error}): see whose folder it is") from error
    if not same:
        raise InputError(f"what is written into {home.incoming} comes back otherwise: see to the disk")
    return f"{home.root} takes files and gives them back, readable by its owner alone"


def _expect_private(mode: int, name: str, why: str, wanted: str) -> None:
    if os.name == "posix" and stat.S_IMODE(mode) & 0o077:
        raise InputError(f"{name} can be read by others on this machine, and {why}: chmod {wanted}")


def _analyses(home: Home) -> str:
    with reading(home) as repo:
        found, hands = repo.census(), len(repo.leases().holders())
    waits = found.jobs.get("waiting", 0)
    since = found.waiting_since
    if since is not None and not hands and datetime.now(UTC) - since > _LONGEST_WAIT:
        raise InputError(f"{counted(waits, 'film')} waited for an hour, and nobody takes them: start `runthrough work`")
    return f"{waits} waiting, {counted(hands, 'process', 'processes')} at work"


def _workers(home: Home) -> str:
    """Ask each worker of the cluster what it is like."""
    address = settings_of(home).cluster
    if address is None:
        return "the cores of each machine that runs `runthrough work`"
    cluster = Cluster(home, address)
    try:
        fit, unfit = cluster.who()
    finally:
        cluster.shutdown()
    if unfit or not fit:
        faults = "; ".join(f"{worker}: {why}" for worker, why in sorted(unfit.items())) or "none is there"
        raise InputError(f"of the cluster at {address} {counted(len(fit), 'worker')} can be used ({faults})")
    if address.startswith("tcp:") and not _within(address):
        raise InputError(
            f"whoever reaches {address} may have any program run there: use tls:// and certificates (docs/server.md)"
        )
    return f"{counted(len(fit), 'worker')} with {counted(sum(fit.values()), 'thread')} at {address}"


def _within(address: str) -> bool:
    """Tell whether an address is reached from this machine alone."""
    host = urlsplit(address).hostname or ""
    try:
        return ip_address(host).is_loopback
    except ValueError:  # a name
        return host == "localhost"


def _figures(home: Home) -> str:
    if settings_of(home).metrics_token is None:
        return "told to nobody, as no metrics_token is set"
    if find_spec("prometheus_client") is None:
        raise InputError("prometheus-client is missing: install Runthrough with '.[server]'")
    return "told at /metrics to whoever has the token"
