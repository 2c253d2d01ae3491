"""`change`: what was said of a recording when it was added is put right."""

from __future__ import annotations

import argparse
from typing import Final

from review.actions.changes import Answers, change
from review.commands import common
from review.domain.errors import EntryRefused
from review.report import recordings

CHANGE_TEXT: Final = (
    "Put right what was said of a recording when it was added; what is not named stays. The tracks of a film that "
    "turns out mirrored, or not mirrored, are computed anew; after another height or slow motion only the values are. "
    "Analyse it again afterwards."
)


def register(commands: common.Commands) -> None:
    """Add the command of this family."""
    changing = commands.add_parser("change", help="put right what was said of a recording", description=CHANGE_TEXT)
    changing.add_argument("recording", help="id of a recording (its start is enough)")
    mirror = changing.add_mutually_exclusive_group()
    mirror.add_argument("--mirrored", action="store_true", default=None, help="the picture is flipped left to right")
    mirror.add_argument("--not-mirrored", action="store_false", dest="mirrored", help="it is not")
    height = changing.add_mutually_exclusive_group()
    height.add_argument("--height-mm", type=float, metavar="MM", help="standing height of the examined person")
    height.add_argument("--no-height", action="store_true", help="that height is not known")
    changing.add_argument("--slow-motion", type=float, metavar="TIMES", help="how many times slower than life it plays")
    changing.add_argument("--checklist", metavar="ID", help="sheet the attempt is reviewed with, in its newest version")
    changing.add_argument("--name", help="name to show")
    common.add_home(changing)
    common.add_person(changing)
    changing.set_defaults(run=run_change)


def run_change(args: argparse.Namespace) -> None:
    """Run `runthrough change`."""
    answers = _answers(args)
    if not answers:
        raise EntryRefused("Nothing to change was named; expected one of the options that `change --help` lists.")
    home = common.open_home(args)
    person = common.acting(home, args)
    recording, told = change(home, person, recordings.find(home, person, args.recording).id, answers)
    print(f"{recording.id}  {recording.name}: {'; '.join(told) or 'all of that was so before'}.")


def _answers(args: argparse.Namespace) -> Answers:
    answers = Answers()
    if args.mirrored is not None:
        answers["mirrored"] = args.mirrored
    if args.height_mm is not None or args.no_height:
        answers["partner_height_mm"] = args.height_mm
    if args.slow_motion is not None:
        answers["slow_motion"] = args.slow_motion
    if args.checklist is not None:
        answers["checklist_id"] = args.checklist
    if args.name is not None:
        answers["name"] = args.name
    return answers
