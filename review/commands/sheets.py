"""`checklist` and `mark`: sheets, and where their steps lie in a film."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from review.access import Deed, allowed
from review.actions import checklists, marks
from review.commands import common, making
from review.domain.checklist_file import read_checklist
from review.domain.errors import EntryRefused
from review.domain.model import Mark
from review.measures import units
from review.report import recordings, sheets
from review.store.repository import repository

MARK_TEXT: Final = (
    "Say where a step lies in a film: from and to, in seconds from its first frame. Left and right are the examined "
    "person's own. Without a step, the marks that are there are listed."
)


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    sheet = commands.add_parser("checklist", aliases=["sheets"], help="make, check, store and print check-off sheets")
    deeds = sheet.add_subparsers(dest="deed", required=True, metavar="DEED")
    checking = deeds.add_parser("check", help="read a sheet and name all its faults")
    checking.add_argument("file", type=Path)
    checking.set_defaults(run=run_check)
    storing = deeds.add_parser("store", help="store a sheet so that attempts can be reviewed with it")
    storing.add_argument("file", type=Path)
    common.add_home(storing)
    common.add_person(storing)
    storing.set_defaults(run=run_store)
    listing = deeds.add_parser("list", help="list the sheets that are stored")
    common.add_home(listing)
    listing.set_defaults(run=run_list)
    showing = deeds.add_parser("show", help="print the steps of a stored sheet with their ids")
    showing.add_argument("id")
    common.add_home(showing)
    showing.set_defaults(run=run_show)
    making.register(deeds)

    marking = commands.add_parser("mark", help="say where a step lies in a film", description=MARK_TEXT)
    marking.add_argument("recording", help="id of a recording (its start is enough)")
    marking.add_argument("step", nargs="?", help="id of the step (see: checklist show)")
    marking.add_argument("--side", choices=("left", "right"), help="side of the examined person")
    marking.add_argument("--from", dest="onset", type=float, metavar="S", help="start in seconds")
    marking.add_argument("--to", dest="offset", type=float, metavar="S", help="end in seconds")
    marking.add_argument("--remove", metavar="MARK", help="take back the mark of this id")
    common.add_home(marking)
    common.add_person(marking)
    common.add_machine_output(marking)
    marking.set_defaults(run=run_mark)


def run_check(args: argparse.Namespace) -> None:
    """Run `runthrough checklist check`."""
    sheet = read_checklist(args.file, units())
    steps = list(sheet.steps())
    critical = sum(step.critical for step in steps)
    print(f"{args.file}: no fault. {len(steps)} steps, {sheet.points:g} points, {critical} critical.")


def run_store(args: argparse.Namespace) -> None:
    """Run `runthrough checklist store`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    with repository(home) as repo:
        sheet = checklists.save(repo, person, args.file)
    print(f"{sheet.id} version {sheet.version} is stored.")


def run_list(args: argparse.Namespace) -> None:
    """Run `runthrough checklist list`."""
    with repository(common.open_home(args)) as repo:
        rows = [
            {**row, "points": f"{row['points']:g}", "retired": "retired" if row["retired"] else ""}
            for row in sheets.rows(repo)
        ]
    common.print_table(rows, ("id", "version", "steps", "points", "attempts", "retired", "title"))


def run_show(args: argparse.Namespace) -> None:
    """Run `runthrough checklist show`."""
    with repository(common.open_home(args)) as repo:
        sheet = repo.checklist(args.id)
    rows = [
        {
            "section": section.title,
            "step": step.id,
            "title": step.title,
            "sides": " ".join(step.sides),
            "points": f"{step.points:g}",
            "critical": "critical" if step.critical else "",
        }
        for section in sheet.sections
        for step in section.steps
    ]
    common.print_table(rows, ("section", "step", "title", "sides", "points", "critical"))


def run_mark(args: argparse.Namespace) -> None:
    """Run `runthrough mark`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording)
    with repository(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording.id)
        if args.remove:
            changed = [marks.remove(repo, person, args.remove)]
        elif args.step is None:
            changed = list(repo.marks(recording.id))
        else:
            if args.onset is None or args.offset is None:
                raise EntryRefused(
                    "A mark needs both ends; give --from and --to in seconds, such as --from 3.2 --to 9."
                )
            changed = [marks.place(repo, person, recording, args.step, args.side, args.onset, args.offset)]
    rows = [_row(mark) for mark in changed]
    if args.json:
        common.print_json(rows)
    else:
        common.print_table(rows, ("id", "step", "side", "onset_s", "offset_s", "revision"))


def _row(mark: Mark) -> dict[str, object]:
    times = {"onset_s": mark.interval.onset_s, "offset_s": mark.interval.offset_s}
    return {"id": mark.id, "step": mark.step_id, "side": mark.side or "", **times, "revision": mark.revision}
