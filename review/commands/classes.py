"""`class`: what waits, how each step goes over the class, and where each learner stands."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from typing import Any, Final

from review.actions.assigning import assign
from review.commands import common
from review.domain.model import Role
from review.exchange.class_columns import CLASS_TABLES
from review.report.alike import share_words
from review.report.class_files import class_csv
from review.report.cohort import WHICH, cohort
from review.signals.agreement.figure import Figure
from review.store.repository import repository

CLASS_TEXT: Final = (
    "For instructors: which attempts wait for a grade, how each step goes over the class (shares with Wilson's 95 % "
    "interval, how well it separates, how alike instructors grade it), and where each learner stands by the sheet's "
    "own rule. Only instructors' grades count. Definitions: docs/class.md."
)
ASSIGN_TEXT: Final = (
    "Ask an instructor to grade attempts. Without --to it is whoever was asked least, drawn by SHA-256 among several. "
    "In a course that wants second raters for a share of attempts, those are drawn as well: docs/class.md."
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
    common.add_person(telling, prefer=Role.INSTRUCTOR)
    common.add_machine_output(telling)
    telling.add_argument("--course", metavar="ID", help="in which course, where people sign in (else the first)")
    telling.set_defaults(run=run_class)
    asking = commands.add_parser("assign", help="ask an instructor to grade attempts", description=ASSIGN_TEXT)
    asking.add_argument("recording", nargs="+", help="id of an attempt (its start is enough)")
    asking.add_argument("--to", metavar="CODE", help="whom to ask (else at random, evenly)")
    common.add_home(asking)
    common.add_person(asking, prefer=Role.INSTRUCTOR)
    asking.set_defaults(run=run_assign)


def run_class(args: argparse.Namespace) -> None:
    """Run `runthrough class`."""
    home = common.open_home(args)
    told = cohort(home, common.acting(home, args), args.checklist, args.attempts, course=args.course)
    if args.json:
        common.print_json(told)
    elif args.csv:
        sys.stdout.write(class_csv(told, args.csv)[1].replace("\r\n", "\n"))
    elif told["empty"]:
        print(told["empty"])
    else:
        _print(told)


def run_assign(args: argparse.Namespace) -> None:
    """Run `runthrough assign`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    with repository(home) as repo:
        codes = {one.id: one.code for one in repo.people()}
        made = assign(repo, person, [repo.recording(name).id for name in args.recording], args.to)
    for one in made:
        print(f"{one.recording_id}  {codes[one.person_id]}, as the {one.purpose}")


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
    if told["cut"]:
        print("\ncut score\n  " + told["cut"]["caution"])
        for one in (told["cut"]["regression"], told["cut"]["angoff"]):
            print(f"  {one['name']}: {' '.join(one['words'])}")


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
