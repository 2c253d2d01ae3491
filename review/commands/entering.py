"""`enter` and `entries`: results of tests that a film cannot show."""

from __future__ import annotations

import argparse
from typing import Final

from review.actions import entries
from review.commands import common
from review.report import recordings
from review.report.entries import entries_of
from review.store.repository import repository

ENTER_TEXT: Final = (
    "Enter the result of a test that a film cannot show, on a step whose checklist asks for one. Acuity: '6/12 -1 with "
    "glasses at 6 m', '20/40', 'decimal 0.5' or 'logMAR 0.3'. Whispered voice: '3 of 3', or '2 of 3, then 1 of 3'. "
    "Reflex: the grade with its scale, '2+ on NINDS'. Fork: 'middle', 'air longer', 'air 40 s, bone 20 s'. A second "
    "entry replaces the first, which stays in the history."
)
ENTRIES_TEXT: Final = "List the results that were entered on a recording, with their conversions."
COLUMNS: Final = ("step", "side", "kind", "text", "words", "person")


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    entering = commands.add_parser("enter", help="enter a result that a film cannot show", description=ENTER_TEXT)
    entering.add_argument("recording", help="id of a recording (its start is enough)")
    entering.add_argument("step", help="id of the step (see: checklist show)")
    entering.add_argument("text", help="the result, in quotes")
    entering.add_argument("--side", choices=("left", "right"), help="side of the examined person")
    _shared(entering)
    entering.set_defaults(run=run_enter)
    listing = commands.add_parser("entries", help="list the results that were entered", description=ENTRIES_TEXT)
    listing.add_argument("recording", help="id of a recording (its start is enough)")
    listing.add_argument("--withdraw", metavar="STEP", help="take back one's own entry on this step")
    listing.add_argument("--side", choices=("left", "right"), help="side of the entry that is taken back")
    _shared(listing)
    listing.set_defaults(run=run_entries)


def _shared(parser: argparse.ArgumentParser) -> None:
    common.add_home(parser)
    common.add_person(parser)
    common.add_machine_output(parser)


def run_enter(args: argparse.Namespace) -> None:
    """Run `runthrough enter`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording)
    with repository(home) as repo:
        made = entries.enter(repo, person, repo.recording(recording.id), args.step, args.side, args.text)
    _print(args, [row for row in entries_of(home, person, recording) if row["id"] == made.id])


def run_entries(args: argparse.Namespace) -> None:
    """Run `runthrough entries`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording)
    if args.withdraw is not None:
        with repository(home) as repo:
            entries.withdraw(repo, person, repo.recording(recording.id), args.withdraw, args.side)
    _print(args, entries_of(home, person, recording))


def _print(args: argparse.Namespace, rows: list[dict[str, object]]) -> None:
    if args.json:
        common.print_json(rows)
    elif not rows:
        print("Nothing was entered yet. Enter a result with: runthrough enter RECORDING STEP TEXT")
    else:
        common.print_table([{**row, "side": row["side"] or ""} for row in rows], COLUMNS)
