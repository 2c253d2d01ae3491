"""`work`: analyse what waits, until stopped; the pages start it by themselves."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from review.actions.recordings import stop_analysis
from review.actions.working import work_beside
from review.commands import common
from review.report import recordings

WORK_TEXT: Final = (
    "Analyse the recordings that wait, a unit of work of each in turn, and then those that come. `open` and `demo` "
    "start this by themselves; on a machine without pages start it yourself. Stop it with Ctrl-C whenever you like: "
    "what is finished is kept, and the rest goes on when it is started again."
)
STOP_TEXT: Final = "Take a recording out of the queue. What was finished is kept; analyse it again to go on."


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    working = commands.add_parser("work", help="analyse what waits, until stopped", description=WORK_TEXT)
    working.add_argument("--models", type=Path, metavar="FOLDER", help="folder with the landmark model files")
    working.add_argument("--beside", type=int, metavar="PROCESS", help="stop when this process, which started it, ends")
    common.add_home(working)
    working.set_defaults(run=run_work)
    stopping = commands.add_parser("stop", help="stop analysing a recording", description=STOP_TEXT)
    stopping.add_argument("recording", help="id of a recording (its start is enough)")
    common.add_home(stopping)
    common.add_person(stopping)
    stopping.set_defaults(run=run_stop)


def run_work(args: argparse.Namespace) -> None:
    """Run `runthrough work`."""
    work_beside(common.open_home(args), args.models, args.beside)


def run_stop(args: argparse.Namespace) -> None:
    """Run `runthrough stop`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording)
    stop_analysis(home, person, recording.id)
    print(f"{recording.name} is not analysed further; what was finished is kept.")
