"""Wrong passwords by address: after many from one place, that place waits, longer each time."""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from typing import Final

FREE: Final = 60
"""Wrong passwords that an address may send in a row: a class of learners may sit behind one address."""

WINDOW_S: Final = 600.0
"""After so long without a wrong one, those before are forgotten. Common practice, no source, as are the others here."""

_FIRST_S: Final = 1.0
_LONGEST_S: Final = 300.0
_MOST_KNOWN: Final = 10_000


class Knocks:
    """Counts the wrong passwords of each address; forgets them all when the server ends.

    Parameters
    ----------
    clock
        Tells the seconds of a clock that never goes back.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._known: OrderedDict[str, tuple[int, float]] = OrderedDict()
        self._lock = threading.Lock()

    def waits_s(self, address: str) -> float:
        """Return for how many seconds an address has to wait before it may try again; 0 if it need not."""
        with self._lock:
            count, last = self._known.get(address, (0, 0.0))
        if count < FREE:
            return 0.0
        delay = min(_FIRST_S * 2.0 ** min(count - FREE, 30), _LONGEST_S)
        return max(0.0, last + delay - self._clock())

    def failed(self, address: str) -> None:
        """Count a wrong password."""
        now = self._clock()
        with self._lock:
            count, last = self._known.pop(address, (0, now))
            self._known[address] = (1 + (count if now - last < WINDOW_S else 0), now)
            while len(self._known) > _MOST_KNOWN:
                self._known.popitem(last=False)

    def came_in(self, address: str) -> None:
        """Forget the wrong ones of an address from which somebody signed in."""
        with self._lock:
            self._known.pop(address, None)
