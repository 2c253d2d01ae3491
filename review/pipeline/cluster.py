"""Units of work done by the workers of a Dask cluster, through the same door as on one machine."""

from __future__ import annotations

import logging
import secrets
import time
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from threading import local
from typing import Any, Final

from review.domain.errors import InputError, WorkersAway
from review.pipeline.executors import local_pool
from review.pipeline.likeness import apart, code, likeness
from review.store.files import replacing
from review.store.home import Home

_ANSWER_S: Final = 5.0
"""How long a scheduler or worker may take to answer, seconds."""

_LOOK_S: Final = 5.0
"""How often is looked who is there, seconds."""

_log = logging.getLogger(__name__)


@dataclass
class Cluster(Executor):
    """Does units of work on the workers of a cluster that are like this process.

    A worker that dies costs nothing but time: the scheduler gives what it was at to another one. Something at which
    workers die again and again comes back as `BrokenExecutor`. Where the scheduler or all workers are gone, what was
    handed out comes back as `WorkersAway`, and `capacity` is 0 until they are there again.

    Attributes
    ----------
    home
        The home; workers must see it at the same path.
    address
        Of the scheduler, such as ``tls://scheduler:8786``.
    """

    home: Home
    address: str
    _client: Any = None
    _looked: float = -1e9
    _fit: dict[str, int] = field(default_factory=dict)
    _unfit: dict[str, str] = field(default_factory=dict)
    _away: str = ""

    def capacity(self) -> int:
        """Return how many units may be out at once: one for each thread of a worker, and one that waits for each."""
        if time.monotonic() - self._looked >= _LOOK_S:
            self._look()
            self._looked = time.monotonic()
        return sum(self._fit.values()) + len(self._fit)

    def who(self) -> tuple[dict[str, int], dict[str, str]]:
        """Return the workers that may be used with their threads, and the others with what is not right.

        Raises
        ------
        WorkersAway
            If the scheduler cannot be reached.
        """
        self._look()
        if self._away:
            raise WorkersAway(self._away)
        return dict(self._fit), dict(self._unfit)

    def submit(self, fn: Callable[..., Any], /, *args: Any, **named: Any) -> Future[Any]:
        """Hand out a unit; what comes back is the worker's result, or its error."""
        told: Future[Any] = Future()
        if not self._fit:
            raise WorkersAway(self._away or "No worker of the cluster is like this machine.")
        try:
            there = self._client.submit(
                work_apart, fn, *args, **named, pure=False, workers=sorted(self._fit), allow_other_workers=False
            )
            there.add_done_callback(lambda done: _pass_on(done, told))
        except Exception as fault:  # of whatever kind: the unit goes back, and it is told
            self._lose(fault)
            raise WorkersAway(self._away) from fault
        return told

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Leave the cluster, which goes on for others."""
        if self._client is not None:
            with suppress(Exception):
                self._client.close(timeout=_ANSWER_S)
            self._client = None

    def _look(self) -> None:
        """See which workers are there, and ask new ones what they are like."""
        try:
            client = self._connected()
            threads = client.nthreads()
            new = sorted(set(threads) - set(self._fit) - set(self._unfit))
            answers = client.run(likeness, self._shared(), workers=new, on_error="return") if new else {}
        except Exception as fault:  # of whatever kind: nothing is handed out, and it is told
            self._lose(fault)
            return
        self._away = ""
        for worker in new:
            self._judge(worker, answers.get(worker))
        self._fit = {worker: many for worker, many in threads.items() if worker not in self._unfit}
        self._unfit = {worker: why for worker, why in self._unfit.items() if worker in threads}

    def _judge(self, worker: str, answer: object) -> None:
        faults = (
            apart(likeness(self._shared()), answer) if isinstance(answer, dict) else [f"it does not answer ({answer})"]
        )
        if faults:
            self._unfit[worker] = "; ".join(faults)
            _log.warning("The worker %s is not used: %s. Install there what is here.", worker, self._unfit[worker])

    def _connected(self) -> Any:
        if self._client is None:
            self._client = _client(self.address)
            if self._client.run_on_scheduler(code) != code():
                raise OSError("its scheduler has another version of Runthrough")
            if not self._shared().exists():
                with replacing(self._shared()) as fresh:
                    fresh.write_text(secrets.token_hex(8), "utf-8")
        if self._client.status != "running":
            raise OSError(f"the connection is {self._client.status}")
        return self._client

    def _lose(self, fault: Exception) -> None:
        """Leave a cluster that does not answer; the next look begins anew."""
        if not self._away:
            _log.warning("The cluster at %s cannot be used (%s); work waits until it can.", self.address, fault)
        self._away = (
            f"The cluster at {self.address} cannot be used ({fault}). "
            "See that its scheduler runs, with what is installed here."
        )
        self._fit, self._unfit, self._looked = {}, {}, time.monotonic()
        self.shutdown()

    def _shared(self) -> Path:
        return self.home.root / "seen-by-all"


def _client(address: str) -> Any:
    make: Any
    try:
        from distributed import Client as make
    except ImportError as error:
        raise InputError("Dask's distributed is missing: install Runthrough with '.[server]'.") from error
    return make(address, timeout=_ANSWER_S, set_as_default=False, name="runthrough", direct_to_workers=False)


def _pass_on(there: Any, told: Future[Any]) -> None:
    """Give the outcome of a unit to whoever waits for it, with its kind of loss."""
    from distributed import KilledWorker

    try:
        if there.status == "finished":
            told.set_result(there.result(timeout=10 * _ANSWER_S))
            return
        error = there.exception(timeout=_ANSWER_S) if there.status == "error" else None
    except Exception as fault:  # the connection went while it was brought
        told.set_exception(WorkersAway(f"What a worker computed could not be brought ({fault})."))
        return
    if isinstance(error, KilledWorker):
        told.set_exception(BrokenExecutor(str(error)))
    else:
        told.set_exception(error or WorkersAway("The cluster went away with a unit of work."))


_mine = local()


def work_apart(fn: Callable[..., Any], /, *args: Any, **named: Any) -> Any:
    """Do a unit in a process beside this worker that is bounded and off the network, as films come from anywhere.

    It is kept for the next unit of the same thread, and is another one once it has died.

    Raises
    ------
    concurrent.futures.BrokenExecutor
        If the process ended before its time.
    """
    pool: Executor | None = getattr(_mine, "pool", None)
    pool = _mine.pool = pool or local_pool(1)
    try:
        return pool.submit(fn, *args, **named).result()
    except BrokenExecutor:
        _mine.pool = None
        pool.shutdown(wait=False)
        raise
