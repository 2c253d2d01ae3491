"""`class`: what waits, how each step goes over the class, and where each learner stands."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from typing import Any, Final

from review.commands import common
from review.domain.model import Person, Role
from review.exchange.class_columns import CLASS_TABLES
from review.report.alike import share_words
from review.report.class_files import class_csv
from review.report.cohort import WHICH, cohort
from review.signals.agreement.figure import Figure
from review.store.home import Home
from review.store.repository import reading

CLASS_TEXT: Final = (
    "For instructors: which attempts wait for a grade, how each step goes over the class (shares with Wilson's 95 % "
    "interval, how well it separates, how alike instructors grade it), and where each learner stands by the sheet's "
    "own rule. Only instructors' grades count. Definitions: docs/class.md."
)
_PARTS: Final = (*CLASS_TABLES, "codebook")


def register(commands: common.Commands) -> None:
    """Add the command of this family."""
    telling = commands.add_parser("class", help="tell what waits, and how a class does", description=CLASS_TEXT)
    telling.add_argument("--checklist", metavar="ID", help="at which sheet (else the one with most attempts)")
    telling.add_argument(
        "--attempts", choices=list(WHICH), default="newest", help="which attempts the steps are told of"
    )
    telling.add_argument("--csv", choices=_PARTS, metavar="TABLE", help=f"print one table as CSV: {', '.join(_PARTS)}")
    common.add_home(telling)
    common.add_person(telling)
    common.add_machine_output(telling)
    telling.set_defaults(run=run_class)


def run_class(args: argparse.Namespace) -> None:
    """Run `runthrough class`."""
    home = common.open_home(args)
    told = cohort(home, acting_instructor(home, args), args.checklist, args.attempts)
    if args.json:
        common.print_json(told)
    elif args.csv:
        sys.stdout.write(class_csv(told, args.csv)[1].replace("\r\n", "\n"))
    elif told["empty"]:
        print(told["empty"])
    else:
        _print(told)


def acting_instructor(home: Home, args: argparse.Namespace) -> Person:
    """Return the acting person; without `--as` and `--role` the first instructor known here, if there is any."""
    if args.code is None and args.role is None:
        with reading(home) as repo:
            teachers = [one for one in repo.people() if one.role is Role.INSTRUCTOR]
        if teachers:
            return teachers[0]
    return common.acting(home, args)


def _print(told: Mapping[str, Any]) -> None:
    print(f"{told['sheet']['title']}\n" + "\n".join(f"  {line}" for line in told["words"]))
    print(f"\nwaiting: {len(told['waiting'])}")
    if told["waiting"]:
        common.print_table(told["waiting"], ("days", "learner", "attempt", "name", "recording", "words"))
    if told["steps"]:
        print("\nsteps")
        common.print_table([_step(row) for row in told["steps"]], _STEP_COLUMNS)
    print("\nlearners")
    rows = [{**row, "missed": "; ".join(row["critical"])} for row in told["learners"]]
    common.print_table(rows, ("learner", "stands", "words", "missed"))


_STEP_COLUMNS: Final = ("step", "fully", "not assessable", "points", "separates", "alike")


def _step(row: Mapping[str, Any]) -> dict[str, str]:
    kinds = {one["kind"]: one for one in row["kinds"]}
    separates = row["discrimination"]["value"]
    return {
        "step": row["title"],
        "fully": _counted(kinds["fully"], row["graded"]),
        "not assessable": str(kinds["not assessable"]["count"]),
        "points": "" if row["mean"] is None else f"{100 * row['mean']:.0f} %",
        "separates": "" if separates is None else f"{separates:.2f}",
        "alike": f"{row['agreed']} of {row['of']}" if row["of"] else "",
    }


def _counted(one: Mapping[str, Any], graded: int) -> str:
    if not graded:
        return ""
    figure = Figure(one["kind"], one["share"], one["low"], one["high"], graded)
    return f"{one['count']} of {graded}: {share_words(figure)}"
