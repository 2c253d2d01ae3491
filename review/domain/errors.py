"""Every error Runthrough raises on purpose.

The tree::

    RunthroughError
    ├── InputError              what the user can mend (command line: exit code 2)
    │   ├── FilmRefused         a file that cannot be used as a recording
    │   ├── ChecklistRefused    a checklist with faults, all of them at once
    │   ├── ModelRefused        a landmark model that is missing or not the expected one
    │   ├── NotFound            an id or a name that is not known here
    │   ├── ExchangeRefused     a file of marks and comments with faults, all of them at once
    │   ├── EntryRefused        a mark, grade, comment or entry that cannot be stored as given
    │   │   └── EntryFaulty     the text of an entry with faults, all of them at once
    │   └── NotAllowed          the acting person may not do or see this
    ├── WorkerLost              a process at work ended before its time
    └── BrokenPromise           our own data is not as our own code promises (exit code 1)
        ├── TracksBroken        a landmark dataset with wrong dims, coords or units
        └── StoreBroken         a home folder or database that cannot be used
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

from review.domain.wording import counted


class RunthroughError(Exception):
    """Root of the tree; its text is one complete message for a person."""

    exit_code = 1


class InputError(RunthroughError):
    """Something that the user can mend."""

    exit_code = 2


class FilmRefused(InputError):
    """A file that cannot be used as a recording."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault in a checklist, with the line it was met on (0 when no line can be named).

    `way` is the way to it from the top of the file: keys, and positions counted from 0. `where` names its place where
    that is no line: a row of a spreadsheet, a step of a draft.
    """

    line: int
    text: str
    way: tuple[str | int, ...] = field(default=(), compare=False)
    where: str = field(default="", compare=False)

    def __str__(self) -> str:
        where = self.where or (f"line {self.line}" if self.line else "")
        return f"{where}: {self.text}" if where else self.text


class ChecklistRefused(InputError):
    """A checklist with faults; `faults` holds all of them."""

    def __init__(self, source: str, faults: Sequence[Fault]) -> None:
        self.source = source
        self.faults = tuple(faults)
        count = len(self.faults)
        head = f"{source}: {counted(count, 'fault')} in this checklist; mend them and try again."
        super().__init__("\n".join([head, *(f"  {fault}" for fault in self.faults)]))


class ExchangeRefused(InputError):
    """A file of marks and comments that cannot be read in; `faults` holds all of its faults, each a sentence."""

    def __init__(self, source: str, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        count = len(self.faults)
        head = f"{source}: {counted(count, 'fault')} in this file; nothing was changed."
        super().__init__("\n".join([head, *(f"  {fault}" for fault in self.faults)]))


class ModelRefused(InputError):
    """A landmark model file that is missing, unreadable or not the expected one."""


class NotFound(InputError):
    """An id or name that is not known here; the message offers the known ones."""

    @classmethod
    def among(cls, kind: str, asked: str, known: Iterable[str]) -> NotFound:
        """Make the error for `asked`, naming close matches first and else what is known."""
        names = sorted(known)
        close = get_close_matches(asked, names, n=3, cutoff=0.5)
        if close:
            hint = "Did you mean " + ", ".join(close) + "?"
        elif names:
            hint = "Known: " + ", ".join(names[:20]) + ("..." if len(names) > 20 else ".")
        else:
            hint = "There is none yet."
        return cls(f"No {kind} is called {asked!r}. {hint}")


class EntryRefused(InputError):
    """A mark, grade, comment or entry that cannot be stored as given; nothing was changed."""


class EntryFaulty(EntryRefused):
    """The text of an entry with faults; `faults` holds all of them, each a sentence."""

    def __init__(self, title: str, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__(f"{title}: {' '.join(self.faults)} Nothing was changed.")


class NotAllowed(InputError):
    """The acting person may not do or see this."""


class WorkerLost(RunthroughError):
    """A process at work ended before its time, as when memory ran out or somebody stopped it."""


class WorkersAway(RunthroughError):
    """Nobody can be reached who does units of work elsewhere; what was handed out is done again."""


class BrokenPromise(RunthroughError):
    """Our own data is not as our own code promises."""


class TracksBroken(BrokenPromise):
    """A landmark dataset with wrong dimensions, coordinates or units; the message lists all of them."""


class StoreBroken(BrokenPromise):
    """A home folder or database that cannot be used."""
