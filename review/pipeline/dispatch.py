"""The work on all recordings: units are taken on lease, done by a pool of workers, and kept one after the other.

Any number of processes may do this on one home at the same time: the leases in the database keep them from doing the
same unit, and the unit of a process that died is taken by another. Recordings take turns unit by unit.
"""

from __future__ import annotations

import logging
import os
import time
from collections.abc import Callable, Collection
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, wait
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from review.domain.errors import NotFound, RunthroughError, StoreBroken, WorkerLost, WorkersAway
from review.pipeline.chunk import Chunk
from review.pipeline.cluster import Cluster
from review.pipeline.desk import Desk
from review.pipeline.executors import LocalPool, local_pool, usable_cores
from review.pipeline.holders import alive, this_holder
from review.pipeline.jobs import UNFINISHED
from review.pipeline.listening import Heard, ListeningOrder, listen
from review.pipeline.orders import Order, Seen, work
from review.pipeline.presses import ctrl_c
from review.pipeline.proposals import listened, look
from review.pipeline.values import film_values
from review.store.database import Database, open_database
from review.store.files import locked_if_free
from review.store.home import Home
from review.store.media import film_lock
from review.store.repository import Job, Repository, reading, repository
from review.store.rows import JobState
from review.store.settings import settings_of
from review.store.track_vault import stow_tracks
from review.store.trackstore import TrackStore

_log = logging.getLogger(__name__)

LEASE_S: Final = 60.0
"""How long a unit is one's own without being renewed, seconds."""

MOST_TRIES: Final = 3
"""A unit that was begun so often without an end is not begun again: the film fails."""

_MOST_OUT: Final = 64
"""Most units that one process has out at once, however large a cluster is, as it keeps what comes back one by one."""

_RENEW_S: Final = 15.0
_LOOK_S: Final = 1.0
_VALUES: Final = "values"

_WORN_OUT: Final = (
    "A process that analysed the film ended before its time, three times at the same place (memory may have run out, "
    "or the film is damaged there). What was finished is kept; analyse again to try once more."
)

Told = Callable[[str, int, int], None]
"""Called with a recording's id, the frames done and the frames in all."""


@dataclass(slots=True)
class Dispatcher:
    """Does the work that is waiting in a home.

    Attributes
    ----------
    home
        The home.
    only
        Recordings to work on; all that wait if empty.
    models_folder
        Folder with the model files, if not those of the installed package.
    executor
        Where units are done; by default the cluster that the home's settings name, else a pool of processes on this
        machine, made when first needed.
    told
        Told of every unit that is finished.
    """

    home: Home
    only: Collection[str] = ()
    models_folder: Path | None = None
    executor: Executor | None = None
    told: Told = lambda recording_id, done, total: None
    holder: str = field(default_factory=this_holder)
    _desks: dict[str, Desk] = field(default_factory=dict)
    _flying: dict[Future[Seen | Heard], tuple[Desk, Chunk]] = field(default_factory=dict)
    _alone: bool = False
    _pool: Executor | None = None
    _database: Database | None = None
    _renewed: float = 0.0
    _faults: dict[str, Exception] = field(default_factory=dict)

    def run(self, until: Callable[[], bool] = lambda: False, idle_ends: bool = True) -> None:
        """Work until nothing waits any more.

        Parameters
        ----------
        until
            Asked between units; once it says yes nothing new is begun, what is at work is finished and kept.
        idle_ends
            Whether to end when nothing waits, rather than to wait for more.

        Raises
        ------
        KeyboardInterrupt
            After Ctrl-C, once what was at work is finished and kept; a second Ctrl-C ends at once.
        """
        self._database = open_database(self.home)
        with ctrl_c() as pressed:
            try:
                while True:
                    ending = pressed() or until()
                    if self._round(stopping=ending):
                        continue
                    if ending or (idle_ends and not self._elsewhere()):
                        break
                    time.sleep(_LOOK_S)
            finally:
                self._close()
            if pressed():
                raise KeyboardInterrupt

    def fault_of(self, recording_id: str) -> Exception | None:
        """Return why the analysis of a recording failed in this process, or None."""
        return self._faults.get(recording_id)

    def _round(self, stopping: bool) -> bool:
        """Begin what can be begun and keep what came back; tell whether anything is or was at work."""
        begun = False if stopping else self._fill()
        if not self._flying:
            return begun
        back = wait(self._flying, timeout=_LOOK_S, return_when=FIRST_COMPLETED).done
        finished = [(future, *self._flying.pop(future)) for future in back]
        whole = all(future.exception() is None for future in back)
        if finished and whole and not stopping and not self._alone:
            self._fill()  # no worker waits while what came back is kept
        for future, desk, chunk in finished:
            self._take_back(future, desk, chunk)
        self._renew()
        return True

    def _fill(self) -> bool:
        begun = False
        while len(self._flying) < min(self._capacity(), 1 if self._alone else _MOST_OUT):
            if not self._begin_one():
                break
            begun = True
        return begun

    def _capacity(self) -> int:
        pool = self._hands() if self.executor is not None or self._cluster() else None
        return pool.capacity() if isinstance(pool, Cluster) else usable_cores()

    def _hands(self) -> Executor:
        """Return where units are done, made when it is first needed and whenever it broke."""
        if self.executor is not None:
            return self.executor
        if self._pool is None:
            address = self._cluster()
            self._pool = Cluster(self.home, address) if address else local_pool()
        return self._pool

    def _cluster(self) -> str | None:
        return settings_of(self.home).cluster

    def _begin_one(self) -> bool:
        """Take the next unit of the recording that was served longest ago; tell whether anything was done."""
        with self._writing() as repo:
            self._free_the_dead(repo)
            active = [job for job in repo.jobs() if self._is_ours(job)]
            taken = repo.leases().taken(datetime.now(UTC))
        for job in active:
            desk = self._desk(job.recording_id)
            if desk is None:
                continue
            mine = {unit for recording_id, unit in taken if recording_id == job.recording_id}
            chunk = desk.next(mine, small=isinstance(self._hands(), LocalPool))
            if chunk is not None and self._begin(desk, chunk):
                return True
            if chunk is None and not mine and not desk.waiting() and self._finish(desk):
                return True
        return False

    def _is_ours(self, job: Job) -> bool:
        return job.state in UNFINISHED and (not self.only or job.recording_id in self.only)

    def _begin(self, desk: Desk, chunk: Chunk) -> bool:
        recording_id, now = desk.recording.id, datetime.now(UTC)
        with self._writing() as repo:
            tries = repo.leases().take(recording_id, chunk.key, self.holder, now, LEASE_S)
            if tries is None:
                return False
            if desk.is_done(chunk):
                repo.leases().finish(recording_id, chunk.key)
                return True
        if tries > MOST_TRIES:
            self._fail(desk, WorkerLost(_WORN_OUT))
            return True
        self._alone = tries > 1
        if self._alone and self._flying:
            self._give_back(chunk)
            return False
        self._tell(desk, "running", served=now)
        try:
            order = desk.order(chunk)
        except Exception as fault:  # a film that cannot be fetched, say: it fails, the queue goes on
            self._fail(desk, fault)
            return True
        return self._hand_out(desk, chunk, order)

    def _hand_out(self, desk: Desk, chunk: Chunk, order: Order | ListeningOrder) -> bool:
        try:
            self._flying[self._submit(desk, order)] = (desk, chunk)
        except (BrokenExecutor, WorkersAway):  # a worker died just now: what it was at comes back with its future
            if self.executor is not None:
                raise
            self._leave_broken()
            self._give_back(chunk)
        return True

    def _submit(self, desk: Desk, order: Order | ListeningOrder) -> Future[Seen | Heard]:
        hands = self._hands()
        if isinstance(order, ListeningOrder):
            return hands.submit(listen, order)
        if isinstance(hands, LocalPool) and desk.listens():  # those that will listen stay small
            return hands.submit_apart(work, order)
        return hands.submit(work, order)

    def _give_back(self, chunk: Chunk) -> None:
        """Let go of a unit that was not done through no fault of its own: it does not count as tried."""
        with self._writing() as repo:
            repo.leases().give_back(self.holder, chunk.key)

    def _leave_broken(self) -> None:
        """Have a pool whose workers died made anew; a cluster mends itself."""
        if not isinstance(self._pool, Cluster):
            self._pool = None

    def _take_back(self, future: Future[Seen | Heard], desk: Desk, chunk: Chunk) -> None:
        error = future.exception()
        if isinstance(error, WorkersAway):
            self._give_back(chunk)
            return
        if isinstance(error, BrokenExecutor):
            self._leave_broken()
            self._alone = True
            with self._writing() as repo:
                repo.leases().free(self.holder, chunk.key)
            return
        if isinstance(error, Exception):
            self._fail(desk, error)
            return
        if error is not None:
            raise error
        if self._erased(desk):
            return
        try:
            desk.keep(chunk, future.result())
            self._propose(desk, chunk)
        except Exception as fault:  # a full disk, say: the film fails, the queue goes on
            self._fail(desk, fault)
            return
        with self._writing() as repo:
            repo.leases().finish(desk.recording.id, chunk.key)
        self._alone = False
        self._tell(desk, "running")

    def _propose(self, desk: Desk, chunk: Chunk) -> None:
        if chunk.hears:
            with self._reading() as repo:
                sheet = repo.sheet_of(desk.recording)
            listened(self.home, desk.recording, sheet)

    def _finish(self, desk: Desk) -> bool:
        """Settle who is examined and compute the values, unless somebody else does so just now."""
        recording_id = desk.recording.id
        with self._writing() as repo:
            taken = repo.leases().take(recording_id, _VALUES, self.holder, datetime.now(UTC), 10 * LEASE_S)
        if taken is None:
            return False
        try:
            if not desk.settled():
                desk.settle()
            desk.judge()
            values = () if desk.marked() else film_values(TrackStore(self.home, recording_id).open(), recording_id)
            with self._writing() as repo:
                repo.put_values(recording_id, None, values)
                sheet = repo.sheet_of(desk.recording)
            look(self.home, recording_id, sheet, values)
        except Exception as error:  # a measure's fault must not take the other films along
            self._fail(desk, error)
            return True
        self._tell(desk, "done")
        self._stow(desk)
        with self._writing() as repo:
            repo.leases().forget(recording_id)
        del self._desks[recording_id]
        return True

    def _stow(self, desk: Desk) -> None:
        """Put what was seen and heard into the bucket, if there is one; out of its reach it stays in the home.

        Nobody may erase anything of the film meanwhile; who does so just now is not waited for.
        """
        try:
            with locked_if_free(film_lock(self.home, desk.recording.sha256)) as free:
                if not free or self._erased(desk):
                    return
                stow_tracks(self.home, desk.recording)
        except StoreBroken:
            _log.warning("what was seen in a film is in the home only: `runthrough bucket` puts it into the bucket")

    def _desk(self, recording_id: str) -> Desk | None:
        """Return the desk of a recording, told what people said by now; None once it is erased, or has failed."""
        try:
            with self._reading() as repo:
                recording = repo.recording(recording_id)
                sheet = repo.sheet_of(recording)
                marks, pointings = repo.marks(recording_id), repo.pointings(recording_id)
                listening = repo.listenings().get()
            if recording_id not in self._desks or self._desks[recording_id].recording != recording:
                self._desks[recording_id] = Desk(self.home, recording, self.models_folder)
            self._desks[recording_id].told(marks, sheet, pointings, listening)
        except NotFound:
            self._desks.pop(recording_id, None)
            return None
        except RunthroughError as error:
            self._put(recording_id, "failed", str(error))
            self._faults[recording_id] = error
            return None
        return self._desks[recording_id]

    def _erased(self, desk: Desk) -> bool:
        with self._reading() as repo:
            return repo.job(desk.recording.id) is None

    def _fail(self, desk: Desk, error: Exception) -> None:
        words = str(error) if isinstance(error, RunthroughError) else f"{type(error).__name__}: {error}"
        self._faults[desk.recording.id] = error
        self._put(desk.recording.id, "failed", words)
        with self._writing() as repo:
            repo.leases().forget(desk.recording.id)
        self._desks.pop(desk.recording.id, None)

    def _tell(self, desk: Desk, state: JobState, served: datetime | None = None) -> None:
        total = desk.recording.frames
        done = total if state == "done" else min(total - 1, round(total * desk.share()))
        stage, left_s = ("", None) if state == "done" else (desk.stage(), desk.left_s())
        self._put(desk.recording.id, state, "", done, stage, left_s, served)
        self.told(desk.recording.id, done, total)

    def _put(
        self,
        recording_id: str,
        state: JobState,
        message: str,
        done: int | None = None,
        stage: str = "",
        left_s: float | None = None,
        served: datetime | None = None,
    ) -> None:
        """Note how far a recording is, unless it was stopped or erased meanwhile."""
        with self._writing() as repo:
            known = repo.job(recording_id)
            if known is None or known.state not in UNFINISHED:
                return
            repo.put_job(
                replace(
                    known,
                    state=state,
                    message=message,
                    done=known.done if done is None else done,
                    at=datetime.now(UTC),
                    pid=os.getpid(),
                    stage=stage,
                    left_s=left_s,
                    served=served or known.served,
                )
            )

    def _elsewhere(self) -> bool:
        """Tell whether another process is still at work on what this one was asked for."""
        with self._reading() as repo:
            return any(self._is_ours(job) for job in repo.jobs())

    def _renew(self) -> None:
        if time.monotonic() - self._renewed > _RENEW_S:
            self._renewed = time.monotonic()
            with self._writing() as repo:
                repo.leases().renew(self.holder, datetime.now(UTC), LEASE_S)

    def _free_the_dead(self, repo: Repository) -> None:
        for holder in repo.leases().holders() - {self.holder}:
            if not alive(holder):
                repo.leases().free(holder)

    def _close(self) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
        with self._writing() as repo:
            repo.leases().give_back(self.holder)

    def _writing(self) -> AbstractContextManager[Repository]:
        return repository(self._database or self.home)

    def _reading(self) -> AbstractContextManager[Repository]:
        return reading(self._database or self.home)
