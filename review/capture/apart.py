"""Reading a film in a process of its own, whose death is a refusal and no crash.

A crafted or damaged film can make the native decoders crash, hang or ask for all memory there is. The process that
reads it is therefore not the one that shows the screens: it has limits, and when it dies the parent says so in one
sentence and goes on. It is started with the first order and used for all that intake needs of one film.
"""

from __future__ import annotations

import contextlib
import glob
import os
import pickle
import signal
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from threading import Event, Timer
from types import TracebackType
from typing import IO, Any, Final

import numpy as np
from numpy.typing import NDArray

import review
from review.capture.bounds import MOST_BYTES, memory_here
from review.capture.head_tracks import HeadTracks
from review.capture.masked import Masks
from review.capture.probe import FilmFacts
from review.capture.refusals import Refusal
from review.domain.errors import FilmRefused, ModelRefused, WorkerLost

_READER: Final = "review.capture.reader"
_GOING_S: Final = 10.0


@dataclass(frozen=True, slots=True)
class Limits:
    """What the reading of one film may take.

    Attributes
    ----------
    memory_bytes
        Memory for data (Linux only). The machine's own memory, less a quarter, is the limit where that is smaller.
    look_s, look_s_per_megabyte
        Seconds of computing, on every core, for reading the facts: a grace, and more for every megabyte of the file.
    make_s, make_s_per_second
        Those for each of copy and stills: a grace, and more for every second of the film.
    patience
        How many seconds may go by for each of them, as on a slow disk or a machine that is busy with other things.
        Where computing cannot be limited (Windows), this alone counts.
    """

    memory_bytes: int = MOST_BYTES
    look_s: float = 120.0
    look_s_per_megabyte: float = 1.0
    make_s: float = 300.0
    make_s_per_second: float = 60.0
    patience: float = 10.0


class Apart:
    """A process that reads films, one order at a time; to be used in a `with` block, by one thread.

    It ends when the block is left, and when its parent ends, however that comes about. Each film begins with `probe`;
    refusals name the file that was probed, also when a copy of it is read afterwards.

    Parameters
    ----------
    limits
        What reading may take.
    """

    def __init__(self, limits: Limits | None = None) -> None:
        self._limits = limits or Limits()
        self._memory = memory_here(self._limits.memory_bytes)
        self._process: subprocess.Popen[bytes] | None = None
        self._making_s = self._limits.make_s
        self._film = Path()

    def __enter__(self) -> Apart:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.end()

    @property
    def pid(self) -> int | None:
        """Number of the process, None while there is none."""
        return self._process.pid if self._process is not None else None

    def end(self) -> None:
        """End the process at once; the next order starts another."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):  # what was not yet sent to a dead process
                        pipe.close()
            self._process = None

    def probe(self, path: Path) -> tuple[FilmFacts, NDArray[np.float64]]:
        """Do what `review.capture.intake.probe` does, in the other process.

        Raises
        ------
        FilmRefused
            Also if the process dies over the film, or takes longer than it may.
        """
        self._film = path
        size = path.stat().st_size if path.is_file() else 0
        seconds = self._limits.look_s + self._limits.look_s_per_megabyte * size / 1e6
        facts, times = self._ask(seconds, "probe", path)
        self._making_s = self._limits.make_s + self._limits.make_s_per_second * facts.duration_s
        return facts, times

    def make_playback(
        self, path: Path, facts: FilmFacts, target: Path, progress: Callable[[float], None] | None = None
    ) -> None:
        """Do what `review.capture.intake.make_playback` does, in the other process; whatever happens, no part stays.

        Raises
        ------
        FilmRefused
            Also if the process dies over the film, or takes longer than it may.
        OSError
            If the disk does not take the copy.
        """
        self._make(target, "make_playback", path, facts, target, hear=progress)

    def find_heads(
        self,
        path: Path,
        times: NDArray[np.float64],
        size: tuple[int, int],
        mirrored: bool,
        models_folder: Path | None,
        progress: Callable[[float], None] | None = None,
    ) -> HeadTracks:
        """Do what `review.capture.all_heads.find_heads` does, in the other process.

        Raises
        ------
        FilmRefused
            Also if the process dies over the film, or takes longer than it may.
        ModelRefused
            If a model is missing or cannot start.
        """
        heads: HeadTracks = self._ask(
            self._making_s, "find_heads", path, times, size, mirrored, models_folder, hear=progress
        )
        return heads

    def make_masked(
        self,
        path: Path,
        facts: FilmFacts,
        target: Path,
        masks: Masks,
        sound: bool,
        progress: Callable[[float], None] | None = None,
    ) -> None:
        """Do what `review.capture.masked.make_masked` does, in the other process; whatever happens, no part stays.

        Raises
        ------
        FilmRefused
            Also if the process dies over the film, or takes longer than it may.
        OSError
            If the disk does not take the copy.
        """
        self._make(target, "make_masked", path, facts, target, masks, sound, hear=progress)

    def stills(self, path: Path, times_s: Sequence[float], height_px: int, mirrored: bool = False) -> list[bytes]:
        """Do what `review.capture.intake.stills` does, in the other process.

        Raises
        ------
        FilmRefused
            Also if the process dies over the film, or takes longer than it may.
        """
        pictures: list[bytes] = self._ask(self._making_s, "stills", path, list(times_s), height_px, mirrored)
        return pictures

    def _make(self, target: Path, order: str, path: Path, *given: Any, hear: Callable[[float], None] | None) -> None:
        try:
            self._ask(self._making_s, order, path, *given, hear=hear)
        except BaseException:
            self.end()
            for part in target.parent.glob(f".{glob.escape(target.name)}.*.part"):
                part.unlink(missing_ok=True)
            raise

    def _ask(
        self, seconds: float, order: str, path: Path, *given: Any, hear: Callable[[float], None] | None = None
    ) -> Any:
        process = self._running()
        late = Event()
        watch = Timer(self._limits.patience * seconds, _stop, (process, late))
        watch.daemon = True
        watch.start()
        try:
            kind, answer = _exchange(process, (order, seconds, (path, *given)), hear)
        except WorkerLost as lost:
            with contextlib.suppress(subprocess.TimeoutExpired):  # it closes its pipes a little before it is gone
                process.wait(_GOING_S)
            self.end()
            if late.is_set() or _how(process.returncode) == "SIGXCPU":
                raise Refusal.TOOK_TOO_LONG.of(self._film, seconds=seconds) from lost
            raise Refusal.READER_DIED.of(self._film, how=_how(process.returncode)) from lost
        except BaseException:
            self.end()
            raise
        finally:
            watch.cancel()
            watch.join()
        if late.is_set():
            self.end()
        if kind == "done":
            return answer
        raise self._error(kind, answer, path.name)

    def _error(self, kind: str, answer: Any, name: str) -> Exception:
        path = self._film
        if kind == "refused":
            return FilmRefused(f"{path.name}: {answer.removeprefix(f'{name}: ')}")
        if kind == "models":
            return ModelRefused(answer)
        if kind == "memory":
            self.end()
            return Refusal.TOO_MUCH_MEMORY.of(path, gigabytes=self._memory / 1e9)
        if kind == "disk":
            return OSError(*answer)
        if kind == "decoders":
            return Refusal.DECODERS_GAVE_UP.of(path, reason=answer)
        said, lines = answer
        refusal = Refusal.NOT_FORESEEN.of(path, reason=said)
        refusal.__cause__ = WorkerLost(lines)
        return refusal

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is None:
            root = str(Path(review.__file__).parent.parent)
            search = [root, *filter(None, [os.environ.get("PYTHONPATH")])]
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", _READER, str(self._memory)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(search)},
            )
        return self._process


def _stop(process: subprocess.Popen[bytes], late: Event) -> None:
    late.set()
    process.kill()


def _exchange(
    process: subprocess.Popen[bytes], order: tuple[str, float, Any], hear: Callable[[float], None] | None
) -> tuple[str, Any]:
    into, out = process.stdin, process.stdout
    if into is None or out is None:
        raise WorkerLost("The process that reads the film has no pipes.")
    try:
        pickle.dump(order, into)
        into.flush()
    except OSError as fault:
        raise WorkerLost("The process that reads the film takes no orders.") from fault
    while True:
        kind, answer = _heard(out)
        if kind != "share":
            return kind, answer
        if hear is not None:
            hear(answer)


def _heard(out: IO[bytes]) -> tuple[str, Any]:
    try:
        kind, answer = pickle.load(out)
    except (EOFError, OSError, pickle.UnpicklingError) as fault:
        raise WorkerLost("The process that reads the film gave no answer.") from fault
    return kind, answer


def _how(code: int | None) -> str:
    if code is not None and code < 0:
        try:
            return signal.Signals(-code).name
        except ValueError:
            return f"signal {-code}"
    return f"exit code {code}"
