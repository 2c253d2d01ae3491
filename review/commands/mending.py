"""`mend`: what was made of films and is lost is made anew."""

from __future__ import annotations

import argparse
from typing import Final

from review.actions.copies import restore_copies
from review.commands import common
from review.domain.errors import InputError, RunthroughError
from review.domain.wording import counted
from review.report import recordings

MEND_TEXT: Final = (
    "Make anew what was made of a recording's film and is lost: the copy for the browser, the times of the frames and "
    "the stills. What is there is not touched. Where the original itself is lost, add the same film again: it takes "
    "its old place."
)


def register(commands: common.Commands) -> None:
    """Add the command of this family."""
    mending = commands.add_parser("mend", help="make anew what is lost beside the originals", description=MEND_TEXT)
    mending.add_argument("recording", nargs="?", help="id of a recording (its start is enough; else all)")
    mending.add_argument("--quiet", action="store_true", help="no progress bar")
    common.add_home(mending)
    common.add_person(mending)
    mending.set_defaults(run=run_mend)


def run_mend(args: argparse.Namespace) -> None:
    """Run `runthrough mend`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    asked = [args.recording] if args.recording else [row["id"] for row in recordings.rows(home, person)]
    whole, faults = 0, []
    with common.StageBar(args.quiet) as bar:
        for place, name in enumerate(asked):
            bar.part = (place, len(asked))
            try:
                recording = recordings.find(home, person, name)
                made = restore_copies(home, person, recording.id, bar)
            except RunthroughError as error:
                faults.append(str(error))
                continue
            whole += not made
            if made:
                bar.say(f"{recording.id}  {recording.name}: made again: {', '.join(made)}")
    if whole:
        print(f"Nothing was missing in {counted(whole, 'recording')}.")
    if faults:
        raise InputError("\n".join(faults))
