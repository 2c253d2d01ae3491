"""The process that reads a film for `review.capture.apart`: it has limits and dies alone.

Run: ``python -m review.capture.reader BYTES``, by `review.capture.apart` only. Orders come on standard input and
answers go to standard output, both pickled.
"""

from __future__ import annotations

import errno
import os
import pickle
import queue
import signal
import sys
import traceback
from collections.abc import Callable
from threading import Thread
from typing import IO, TYPE_CHECKING, Any, Final

import av

from review.capture.bounds import bound_computing, bound_memory
from review.capture.confined import confine
from review.capture.intake import make_playback, probe, stills
from review.capture.masked import make_masked
from review.domain.errors import FilmRefused, ModelRefused

if TYPE_CHECKING:
    from review.capture.head_tracks import HeadTracks

_DISK: Final = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS})
_SHARE_STEP: Final = 0.005


def serve(memory_bytes: int) -> None:
    """Be the other process: take orders from standard input and answer on standard output until the input ends."""
    orders, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDWR)
    for taken in (0, 1):  # libraries that print must not print among the answers
        os.dup2(nothing, taken)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides what stops
    bound_memory(memory_bytes)
    confine()
    waiting: queue.SimpleQueue[tuple[str, float, Any]] = queue.SimpleQueue()
    Thread(target=_receive, args=(orders, waiting), daemon=True).start()
    while True:
        order, seconds, given = waiting.get()
        bound_computing(seconds)
        _send(answers, _answer(order, given, answers))


def _receive(orders: IO[bytes], waiting: queue.SimpleQueue[tuple[str, float, Any]]) -> None:
    """Hand orders on; when the parent closes the pipe or is gone, end at once, whatever is at work."""
    try:
        while True:
            waiting.put(pickle.load(orders))
    finally:
        os._exit(0)


def _answer(order: str, given: Any, answers: IO[bytes]) -> tuple[str, Any]:
    try:
        return "done", _done(order, given, answers)
    except (FilmRefused, ModelRefused) as refusal:
        return "refused" if isinstance(refusal, FilmRefused) else "models", str(refusal)
    except MemoryError:
        return "memory", None
    except OSError as fault:
        if fault.errno == errno.EAGAIN:  # no memory for another thread
            return "memory", None
        if isinstance(fault, av.error.FFmpegError) and fault.errno not in _DISK:
            return "decoders", fault.strerror
        return "disk", (fault.errno, fault.strerror)
    except av.error.FFmpegError as fault:
        return "decoders", fault.strerror
    except Exception as fault:  # any fault of a decoder is told to the parent, which knows what to say of it
        return "fault", (f"{type(fault).__name__}: {fault}", traceback.format_exc())


def _done(order: str, given: Any, answers: IO[bytes]) -> Any:
    if order == "probe":
        return probe(*given)
    if order == "stills":
        return stills(*given)
    told = -1.0

    def tell(share: float) -> None:
        nonlocal told
        if share >= told + _SHARE_STEP or share >= 1.0 > told:
            told = share
            _send(answers, ("share", share))

    long: dict[str, Callable[..., Any]] = {
        "make_playback": make_playback,
        "make_masked": make_masked,
        "find_heads": _find_heads,
    }
    return long[order](*given, progress=tell)


def _find_heads(*given: Any, progress: Callable[[float], None]) -> HeadTracks:
    from review.capture.all_heads import find_heads  # brings the models' library along

    path, times, size, mirrored, models_folder = given
    return find_heads(path, times, size, mirrored, models_folder, progress)


def _send(answers: IO[bytes], answer: tuple[str, Any]) -> None:
    pickle.dump(answer, answers)
    answers.flush()


if __name__ == "__main__":
    serve(int(sys.argv[1]))
