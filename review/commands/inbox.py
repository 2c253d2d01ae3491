"""`watch`: films put into a folder are added by themselves."""

from __future__ import annotations

import argparse
import contextlib
import threading
import time
from pathlib import Path
from typing import Final

from review.actions.belonging import course_for
from review.actions.inbox import Inbox, watch
from review.actions.working import keep_working
from review.commands import common
from review.domain.errors import RunthroughError
from review.domain.model import Person
from review.store.home import Home

WATCH_TEXT: Final = (
    "Watch a folder and add every film that is put into it. A film that was added moves to FOLDER/taken, one that "
    "cannot be used to FOLDER/refused with the reason in a text file beside it. Nothing is deleted."
)


def register(commands: common.Commands) -> None:
    """Add the command of this family."""
    watching = commands.add_parser("watch", help="add the films that come into a folder", description=WATCH_TEXT)
    watching.add_argument("folder", type=Path, metavar="FOLDER", help="the folder")
    common.add_home(watching)
    watching.add_argument("--course", metavar="ID", help="the course the films are for, if the person has several")
    common.add_person(watching)
    watching.set_defaults(run=run_watch)


def run_watch(args: argparse.Namespace) -> None:
    """Run `runthrough watch`."""
    home = common.open_home(args)
    inbox = _inbox(home, common.acting(home, args), args.folder, args.course)
    keep_working(home)
    print(f"Watching {inbox.folder}. Stop it with Ctrl-C.", flush=True)
    watch(inbox)


def watch_beside(home: Home, person: Person, folder: Path, course_id: str | None) -> None:
    """Watch a folder in a thread that ends with the process; look once before, so that a wrong folder is told.

    Raises
    ------
    InputError
        If the folder cannot be read.
    EntryRefused
        If the person does not belong to the course named, or named none and belongs to several.
    """
    inbox = _inbox(home, person, folder, course_id)
    inbox.look()
    threading.Thread(target=_watch_on, args=(inbox,), name="inbox", daemon=True).start()


def _inbox(home: Home, person: Person, folder: Path, course_id: str | None) -> Inbox:
    course_for(person, course_id)
    return Inbox(home, person, folder.expanduser().absolute(), _say, course_id=course_id)


def _watch_on(inbox: Inbox) -> None:
    while True:
        with contextlib.suppress(RunthroughError):
            watch(inbox)
        time.sleep(10.0)


def _say(sentence: str) -> None:
    print(sentence, flush=True)
