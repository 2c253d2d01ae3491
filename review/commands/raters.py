"""`compare` and `progress`: how alike people grade, and what to practise next."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from typing import Any, Final

from review.commands import common
from review.report.compare import compare
from review.report.progress import progress

COMPARE_TEXT: Final = (
    "Put the grades of an attempt side by side: the learner's own, peers' and instructors'; then tell how alike people "
    "grade, over all attempts at the sheet, counts first. What you have not graded yourself yet stays covered. "
    "Definitions: docs/agreement.md."
)
PROGRESS_TEXT: Final = (
    "Tell what to practise next, and why, then every step by attempt. The instructor's grade counts, else a peer's, "
    "else the learner's own."
)


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    comparing = commands.add_parser("compare", help="put people's grades side by side", description=COMPARE_TEXT)
    comparing.add_argument("recording", nargs="?", help="id of an attempt (its start is enough); else the newest")
    _shared(comparing)
    comparing.set_defaults(run=run_compare)
    telling = commands.add_parser("progress", help="say what to practise next, and why", description=PROGRESS_TEXT)
    _shared(telling)
    telling.set_defaults(run=run_progress)


def _shared(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--learner", metavar="CODE", help="whose attempts (else one's own)")
    parser.add_argument("--checklist", metavar="ID", help="at which sheet (see: checklist list)")
    common.add_home(parser)
    common.add_person(parser)
    common.add_machine_output(parser)


def run_compare(args: argparse.Namespace) -> None:
    """Run `runthrough compare`."""
    home = common.open_home(args)
    told = compare(home, common.acting(home, args), args.learner, args.checklist, args.recording)
    _print(args, told, _print_attempt, _print_alike)


def _print(args: argparse.Namespace, told: Mapping[str, Any], *parts: Callable[[Mapping[str, Any]], None]) -> None:
    """Print as JSON where that is asked for, else why there is nothing, else all parts."""
    if args.json:
        common.print_json(told)
    elif told["empty"]:
        print(told["empty"])
    else:
        for part in parts:
            part(told)


def _print_attempt(told: Mapping[str, Any]) -> None:
    attempt = told["attempt"]
    print(f"{told['subject']['learner']}, {told['subject']['title']}, attempt {attempt['attempt']} ({attempt['name']})")
    print("\n".join(f"  {line}" for line in attempt["words"]))
    codes = [rater["code"] for rater in attempt["raters"]]
    rows = []
    for row in attempt["rows"]:
        words = {code: grade["word"] if grade else "" for code, grade in zip(codes, row["grades"], strict=True)}
        start = "" if row["at"] is None else f"{row['at']:.1f} s"
        rows.append({"step": row["title"], **words, "part": "x" if row["parted"] else "", "from": start})
    if rows:
        common.print_table(rows, ("step", *codes, "part", "from"))


def _print_alike(told: Mapping[str, Any]) -> None:
    for pair in told["pairs"]:
        print("\n" + " and ".join(one["code"] for one in pair["people"]))
        print("\n".join(f"  {line}" for line in (*pair["words"], *pair["totals"]["words"], *pair["left_out"])))
    if told["everybody"]:
        print("\nall together")
        print("\n".join(f"  {line}" for line in told["everybody"]["words"]))
    oneself = told["calibration"]
    if oneself["attempts"]:
        print("\njudging oneself")
        print("\n".join(f"  {line}" for line in oneself["words"]))
        print("\n".join(f"  attempt {one['attempt']}: {' '.join(one['words'])}" for one in oneself["attempts"]))


def run_progress(args: argparse.Namespace) -> None:
    """Run `runthrough progress`."""
    home = common.open_home(args)
    told = progress(home, common.acting(home, args), args.learner, args.checklist)
    _print(args, told, _print_progress)


def _print_progress(told: Mapping[str, Any]) -> None:
    print(f"{told['subject']['learner']}, {told['subject']['title']}")
    print("Practise next:" if told["next"] else "Nothing that is graded is due today.")
    for one in told["next"]:
        print(f"  {one['title']}: {' '.join(one['why'])}\n    Caution: {one['caution']}")
    for one in told["later"]:
        print(f"  {one['due']}: {one['title']}")
    if told["untried"]:
        print(f"{len(told['untried'])} steps have no grade in any attempt.")
    numbers = [f"attempt {one['attempt']}" for one in told["attempts"]]
    rows = [
        {
            "step": row["title"],
            **{number: cell["word"] if cell else "" for number, cell in zip(numbers, row["cells"], strict=True)},
        }
        for row in told["rows"]
    ]
    points = {
        number: "" if one["points"] is None else f"{one['points']:.0f} of 100"
        for number, one in zip(numbers, told["attempts"], strict=True)
    }
    common.print_table([*rows, {"step": "points", **points}], ("step", *numbers))
    print(told["rule"])
