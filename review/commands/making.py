"""`checklist import, export, copy, retire, print`: sheets from spreadsheets, in files, and on paper."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any, Final

from review.actions import checklists
from review.actions.looking import Trail
from review.commands import common
from review.domain.errors import InputError
from review.domain.model import Person
from review.domain.wording import counted
from review.exchange.sheets.grid import letter
from review.exchange.sheets.kinds import CHOICES
from review.exchange.sheets.preview import demand_sheet
from review.exchange.sheets.roles import ROLES
from review.report import paper, results, sheets
from review.report.sign_off import sign_off_of
from review.store.home import Home
from review.store.repository import reading, repository

IMPORT_TEXT: Final = (
    "Read a check-off sheet out of a spreadsheet (CSV or XLSX). Without --store nothing is stored: what each column "
    "and row is taken for is printed, with what was assumed and all faults. Say what was guessed wrong, then store it."
)
_SHOWN: Final = 44
_ROW: Final = ("--row", "the number of a row, such as 7")


def register(deeds: common.Commands) -> None:
    """Add the deeds of this family to `checklist`."""
    _add_import(deeds)
    exporting = deeds.add_parser("export", help="write a stored sheet as CSV, XLSX or TOML")
    _add_sheet(exporting)
    exporting.add_argument("--kind", choices=sorted(sheets.FILES), help="kind of file (else told by the name of --out)")
    exporting.add_argument("--out", type=Path, metavar="FILE", help="file to write (else one named after the sheet)")
    exporting.set_defaults(run=run_export)
    copying = deeds.add_parser("copy", help="store a copy of a sheet under an id of its own")
    _add_sheet(copying)
    copying.add_argument("new_id", help="id of the copy, such as balance_evening")
    copying.add_argument("--title", help="name of the copy")
    common.add_person(copying)
    copying.set_defaults(run=run_copy)
    retiring = deeds.add_parser("retire", help="offer a sheet no more for new attempts; attempts keep it")
    retiring.add_argument("id", help="id of a sheet (see: checklist list)")
    retiring.add_argument("--back", action="store_true", help="offer it again")
    common.add_home(retiring)
    common.add_person(retiring)
    retiring.set_defaults(run=run_retire)
    printing = deeds.add_parser("print", help="print a sheet as HTML for paper, blank or with the grades of an attempt")
    printing.add_argument("id", nargs="?", help="id of a sheet, for a blank one")
    printing.add_argument("--version", type=int, metavar="N", help="an earlier version")
    printing.add_argument("--recording", metavar="ID", help="fill in the grades of this attempt")
    printing.add_argument("--by", metavar="CODE", help="whose grades (else those of the acting person)")
    common.add_home(printing)
    common.add_person(printing)
    printing.set_defaults(run=run_print)


def _add_sheet(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("id", help="id of a sheet (see: checklist list)")
    parser.add_argument("--version", type=int, metavar="N", help="an earlier version")
    common.add_home(parser)


def _add_import(deeds: common.Commands) -> None:
    importing = deeds.add_parser("import", help="read a sheet out of a spreadsheet", description=IMPORT_TEXT)
    importing.add_argument("file", type=Path)
    importing.add_argument("--table", type=int, metavar="N", help="worksheet, counted from 1 (else the likeliest)")
    importing.add_argument("--head", type=int, metavar="ROW", help="row with the headings, 0 for none")
    importing.add_argument(
        "--column", action="append", default=[], metavar="C=ROLE", help=f"what a column holds: {', '.join(ROLES)}"
    )
    importing.add_argument(
        "--row", action="append", default=[], metavar="N=KIND", help=f"what a row is: {', '.join(CHOICES)}"
    )
    importing.add_argument("--levels", metavar="WORD=WORTH, ...", help="the grade scale, such as done=1, not done=0")
    importing.add_argument("--count-points", action="store_true", help="--levels are points of the scale, not shares")
    for name, text in (("title", "name"), ("id", "id")):
        importing.add_argument(f"--{name}", default="", help=f"{text} of the sheet")
    for name in ("caution", "expected"):
        importing.add_argument(f"--{name}", default="", help=f"sentence for steps that have no {name} of their own")
    importing.add_argument("--store", action="store_true", help="store the sheet if it has no fault")
    common.add_home(importing)
    common.add_person(importing)
    common.add_machine_output(importing)
    importing.set_defaults(run=run_import)


def run_import(args: argparse.Namespace) -> None:
    """Run `runthrough checklist import`."""
    try:
        content = args.file.read_bytes()
    except OSError as error:
        raise InputError(f"{args.file} cannot be opened ({error.strerror or error}); check the path.") from error
    table = None if args.table is None else args.table - 1
    found, told = sheets.look(args.file.name, content, table, _said(args))
    if not args.store:
        if args.json:
            common.print_json(told)
        else:
            _print_preview(told)
        return
    demand_sheet(found, args.file.name)
    home = common.open_home(args)
    person = common.acting(home, args)
    with repository(home) as repo:
        sheet = checklists.save_draft(repo, person, found.made.values, where=found.made.where)
    print(f"{sheet.id} version {sheet.version} is stored: {counted(told['steps'], 'step')}, {sheet.points:g} points.")


def _said(args: argparse.Namespace) -> dict[str, Any]:
    columns = dict(_pair(text, "--column C=points") for text in args.column)
    lines = dict(_pair(text, "--row 7=section") for text in args.row)
    return {
        "head": args.head,
        "roles": {_column(name): role for name, role in columns.items()},
        "kinds": {common.whole_number(number, *_ROW) - 1: kind for number, kind in lines.items()},
        "levels": None if args.levels is None else [_level(text, args.count_points) for text in args.levels.split(",")],
        **{name: getattr(args, name) for name in ("title", "id", "caution", "expected")},
    }


def _pair(text: str, example: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not sign:
        raise InputError(f"{text!r} came; expected a pair such as {example}.")
    return name.strip(), value.strip()


def _level(text: str, counted: bool) -> dict[str, Any]:
    word, worth = _pair(text, "done=1")
    try:
        return {"word": word, "worth": float(worth), "counted": counted}
    except ValueError as error:
        raise InputError(f"{worth!r} came for the worth of {word!r}; expected a number such as 0.5.") from error


def _column(name: str) -> int:
    known = {letter(column): column for column in range(26 * 3)}
    if name.upper() not in known:
        raise InputError(f"{name!r} came for a column; expected its letter, such as C.")
    return known[name.upper()]


def _print_preview(told: dict[str, Any]) -> None:
    """Print what each column and each row is taken for, what was assumed, and the faults."""
    columns = [
        {"column": letter(at), "heading": one["heading"][:_SHOWN], "holds": ROLES[one["role"]], "role": one["role"]}
        for at, one in enumerate(told["columns"])
    ]
    common.print_table(columns, ("column", "heading", "holds", "role"))
    print()
    rows = [
        {"row": at, "cells": _short(one["cells"]), "became": one["became"] or one["kind_words"]}
        for at, one in enumerate(told["rows"], start=1)
        if one["kind"] != "blank"
    ]
    common.print_table(rows, ("row", "cells", "became"))
    head = f"{told['title']} ({told['id']})"
    levels = ", ".join(f"{level['word']} {level['worth']:g}" for level in told["levels"])
    print(f"\n{head}: {counted(told['sections'], 'section')}, {counted(told['steps'], 'step')}. Grades: {levels}.")
    for remark in told["remarks"]:
        print(f"  {remark}")
    for fault in told["faults"]:
        print(f"  Fault: {fault['where']}: {fault['text']}")
    print("Nothing was stored. " + ("Mend the faults first." if told["faults"] else "Add --store to store it."))


def _short(cells: list[str]) -> str:
    text = " | ".join(" ".join(cell.split()) for cell in cells if cell.strip())
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


def run_export(args: argparse.Namespace) -> None:
    """Run `runthrough checklist export`."""
    kind = args.kind or (args.out.suffix.lstrip(".").lower() if args.out else "xlsx")
    with reading(common.open_home(args)) as repo:
        name, content = sheets.file_of(repo, args.id, args.version, kind)
    path = args.out or Path(name)
    try:
        path.write_bytes(content)
    except OSError as error:
        raise InputError(f"{path} cannot be written ({error.strerror or error}); choose another --out.") from error
    print(f"{args.id} is written to {path}.")


def run_copy(args: argparse.Namespace) -> None:
    """Run `runthrough checklist copy`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    with repository(home) as repo:
        sheet = checklists.copy(repo, person, args.id, args.new_id, args.title, args.version or 0)
    print(f"{sheet.id} version {sheet.version} is stored: {sheet.title}.")


def run_retire(args: argparse.Namespace) -> None:
    """Run `runthrough checklist retire`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    with repository(home) as repo:
        (checklists.bring_back if args.back else checklists.retire)(repo, person, args.id)
    print(f"{args.id} is {'offered again' if args.back else 'no more offered'} for new attempts.")


def run_print(args: argparse.Namespace) -> None:
    """Run `runthrough checklist print`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    if args.recording:
        page = _filled(home, person, args.recording, args.by)
    elif args.id:
        with reading(home) as repo:
            page = paper.blank_page(repo.checklist(args.id, args.version))
    else:
        raise InputError("Neither a sheet nor a recording came; expected the id of one (see: checklist list).")
    sys.stdout.write(page + "\n")


def _filled(home: Home, person: Person, named: str, by: str | None) -> str:
    """Return the page of an attempt's sheet with the grades that were given, and note that it was made."""
    with reading(home) as repo:
        recording = repo.recording(named)
        rater = results.rater_of(repo, person, recording, by)
        signed = sign_off_of(repo, person, recording)
        page = paper.filled_page(results.added_up(repo, person, recording, rater), signed)
    Trail(home).took_out(person, recording, paper.IN_THE_TRAIL)
    return page
