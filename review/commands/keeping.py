"""`retention`, `looks` and `mine`: dates on which recordings are erased, who looked, and all of one's own."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from review.actions.looking import Trail
from review.actions.retention import erase_due, set_days
from review.commands import common
from review.report.mine import own_recordings, pack
from review.report.privacy import dates, looks_at
from review.store.files import replacing

RETENTION_TEXT: Final = (
    "Without --days: tell after how many days recordings are erased, and what is due. `--days N` sets it, `--days off` "
    "has them stay. `run` erases what is due now, with receipts; the process that works beside the pages does it by "
    "itself at its start and every six hours. A course sets its own number: course set --retention-days."
)
LOOKS_TEXT: Final = "Tell who saw, changed or was refused what of a recording, newest first. Kept for two years."
MINE_TEXT: Final = (
    "Write everything of one person into one ZIP file, in open formats, with the films as they came. Interrupted with "
    "Ctrl-C, it leaves no half file."
)


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    keeping = commands.add_parser("retention", help="when recordings are erased", description=RETENTION_TEXT)
    keeping.add_argument("part", nargs="?", choices=("show", "run"), default="show")
    keeping.add_argument("--days", metavar="N", help="erase recordings after so many days, or: off")
    keeping.add_argument("--dry-run", action="store_true", help="with run: only list what would be erased")
    common.add_home(keeping)
    common.add_person(keeping)
    keeping.set_defaults(run=run_retention)

    looking = commands.add_parser("looks", help="who looked at a recording", description=LOOKS_TEXT)
    looking.add_argument("recording", help="id of a recording (its start is enough)")
    common.add_home(looking)
    common.add_person(looking)
    common.add_machine_output(looking)
    looking.set_defaults(run=run_looks)

    packing = commands.add_parser("mine", help="write all of one person into a ZIP file", description=MINE_TEXT)
    packing.add_argument("-o", "--out", type=Path, required=True, metavar="FILE", help="the ZIP file to write")
    packing.add_argument("--quiet", action="store_true", help="no progress bar")
    common.add_home(packing)
    common.add_person(packing)
    packing.set_defaults(run=run_mine)


def run_retention(args: argparse.Namespace) -> None:
    """Run `runthrough retention`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    if args.days is not None:
        set_days(home, person, common.days_of(args.days, "--days", "off"))
    if args.part == "run" and not args.dry_run:
        made = erase_due(home, person)
        for receipt in made:
            proved = "proved" if receipt.proof and receipt.proof.holds else "NOT PROVED"
            print(f"erased {receipt.recording_id}: {receipt.why}; {proved}, receipt {receipt.id}")
        if not made:
            print("Nothing is due.")
        return
    days, waiting = dates(home, person)
    told = "No date is set for this home." if days is None else f"Recordings are erased after {days} days."
    print(told)
    print(f"due now: {len(waiting)}")
    for one in waiting:
        print(f"  {one.recording.id}, due since {one.day}")


def run_looks(args: argparse.Namespace) -> None:
    """Run `runthrough looks`."""
    home = common.open_home(args)
    found = looks_at(home, common.acting(home, args), args.recording)
    if args.json:
        common.print_json(found)
    elif not found:
        print("Nobody else looked at it, and no file was made of it.")
    else:
        rows = [{**one, "": "" if one["allowed"] else "refused"} for one in found]
        common.print_table(rows, ("at", "who", "deed", "what", ""))


def run_mine(args: argparse.Namespace) -> None:
    """Run `runthrough mine`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    mine, left_out = own_recordings(home, person)
    whole, written = max(1, sum(one.size_bytes for one in mine)), 0
    with common.StageBar(args.quiet) as bar, replacing(args.out) as fresh, fresh.open("wb") as out:
        for piece in pack(home, person):
            written += out.write(piece)
            bar("Writing all of yours", min(1.0, written / whole))
    trail = Trail(home)
    for one in mine:
        trail.took_out(person, one, "all of mine")
    print(f"{args.out}: {len(mine)} recordings of {person.code}, {left_out} left out, {written / 1e6:.1f} MB")
