"""`add`, `analyse`, `recordings`, `values`, `erase`: from films to values, and out again."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any, Final

from review.access import Deed
from review.actions.consents import Terms, note
from review.actions.erasing import erase
from review.actions.recordings import add
from review.commands import common
from review.commands.consents import add_terms, terms_asked
from review.domain.errors import InputError, NotFound
from review.domain.model import Person, Recording, Value
from review.pipeline.analyse import analyse
from review.report import capture_check, receipts, recordings, values
from review.report.entries import entries_of
from review.store.home import Home

VALUE_COLUMNS: Final = ("measure", "step", "side", "value", "unit", "low", "high", "usable", "reasons")


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    adding = commands.add_parser("add", help="take films in", description=ADD_TEXT)
    adding.add_argument("film", type=Path, nargs="+", help="a film file")
    _film_options(adding)
    add_terms(adding, "--consent")
    adding.set_defaults(run=run_add)

    analysing = commands.add_parser("analyse", help="find and measure what can be seen", description=ANALYSE_TEXT)
    analysing.add_argument("film", nargs="+", help="a film file, or the id of a recording (its start is enough)")
    analysing.add_argument("--models", type=Path, metavar="FOLDER", help="folder with the landmark model files")
    _film_options(analysing)
    analysing.set_defaults(run=run_analyse)

    listing = commands.add_parser("recordings", help="list the recordings that are here")
    common.add_home(listing)
    common.add_person(listing)
    common.add_machine_output(listing)
    listing.set_defaults(run=run_recordings)

    erasing = commands.add_parser("erase", help="erase a recording with all that belongs to it", description=ERASE_TEXT)
    erasing.add_argument("recording", help="id of a recording (its start is enough)")
    erasing.add_argument("--yes", action="store_true", help="do not ask first")
    common.add_home(erasing)
    common.add_person(erasing)
    erasing.set_defaults(run=run_erase)

    telling = commands.add_parser("values", help="print what was measured", description=VALUES_TEXT)
    telling.add_argument("recording", help="id of a recording (its start is enough)")
    common.add_home(telling)
    common.add_person(telling)
    common.add_machine_output(telling)
    telling.add_argument("--csv", action="store_true", help="print comma-separated values")
    telling.set_defaults(run=run_values)


ADD_TEXT: Final = (
    "Take films in: the original is kept unchanged under its fingerprint, and a copy is made only where a browser "
    "needs one. A film that is already here is not added twice. A film that is refused does not keep the others out."
)
ANALYSE_TEXT: Final = (
    "Look at a recording frame by frame and measure. Where steps are marked, each step's measures run over its "
    "seconds; without marks every measure runs over the whole film. Stop with Ctrl-C whenever you like: what is "
    "finished is kept."
)
ERASE_TEXT: Final = (
    "Erase a recording: the film, its copy and stills, its tracks and values, and everybody's marks, grades, "
    "comments and entries on it with their history. It cannot be taken back. What was erased is printed."
)
VALUES_TEXT: Final = (
    "Print the values of an analysed recording with their 95 % intervals, or why there is no number; then what to do "
    "better next time, and which steps each fault of the film spoils."
)


def _film_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--checklist", metavar="ID", help="sheet the attempt is reviewed with (see: checklist list)")
    parser.add_argument("--mirrored", action="store_true", help="the picture is flipped left to right (some selfies)")
    parser.add_argument("--height-mm", type=float, metavar="MM", help="standing height of the examined person")
    parser.add_argument(
        "--course", metavar="ID", help="the course it belongs to, where people sign in and you belong to several"
    )
    parser.add_argument(
        "--slow-motion", type=float, default=1.0, metavar="TIMES", help="how many times slower the film plays than life"
    )
    parser.add_argument("--quiet", action="store_true", help="no progress bar")
    common.add_home(parser)
    common.add_person(parser)
    common.add_machine_output(parser)


def run_add(args: argparse.Namespace) -> None:
    """Run `runthrough add`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    terms = terms_asked(args, "consent")
    refused: list[InputError] = []
    with common.StageBar(args.quiet or args.json) as bar:
        for place, path in enumerate(args.film):
            bar.part = (place, len(args.film))
            try:
                recording = _take_in(home, person, args, path, bar)
                _note(home, person, recording, terms)
            except InputError as error:
                refused.append(error)
                continue
            text = common.json_line(recordings.facts(recording)) if args.json else _sentence(recording)
            bar.say(text)
    if len(args.film) == 1 and refused:
        raise refused[0]
    if refused:
        told = "".join(f"\n  {error}" for error in refused)
        raise InputError(f"{len(refused)} of {len(args.film)} films were refused, all others were added:{told}")


def _take_in(home: Home, person: Person, args: argparse.Namespace, path: Path, progress: common.StageBar) -> Recording:
    return add(
        home,
        person,
        path,
        checklist_id=args.checklist,
        mirrored=args.mirrored,
        partner_height_mm=args.height_mm,
        slow_motion=args.slow_motion,
        course_id=args.course,
        progress=progress,
    )


def _note(home: Home, person: Person, recording: Recording, terms: Terms | None) -> None:
    if terms is not None:
        note(home, person, recording.id, *terms)


def _sentence(recording: Recording) -> str:
    size = f"{recording.width_px} x {recording.height_px}"
    notes = "".join(f"\n  note: {note}" for note in recording.notes)
    return f"{recording.id}  {recording.name}: {recording.duration_s:.2f} s, {recording.frames} frames, {size}{notes}"


def run_analyse(args: argparse.Namespace) -> None:
    """Run `runthrough analyse`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    for film in args.film:
        recording = _find_or_take_in(home, person, args, film)
        show, close = common.frame_bar(args.quiet or args.json, recording.name)
        try:
            analyse(home, recording, models_folder=args.models, progress=show)
        finally:
            close()
        found = values.values_of(home, person, recording)
        if args.json:
            common.print_json(values.as_json(recording, found, entries_of(home, person, recording)))
        elif not args.quiet:
            print(_sentence(recording))
            _print_values(found)
            _print_check(home, person, recording)


def _find_or_take_in(home: Home, person: Person, args: argparse.Namespace, film: str) -> Recording:
    path = Path(film)
    if path.exists():
        with common.StageBar(args.quiet or args.json) as bar:
            return _take_in(home, person, args, path, bar)
    try:
        return recordings.find(home, person, film, Deed.ANALYSE)
    except NotFound as unknown:
        raise NotFound(f"{film}: there is no such file, and no recording of that id. {unknown}") from unknown


def run_erase(args: argparse.Namespace) -> None:
    """Run `runthrough erase`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording, Deed.ERASE_RECORDING)
    question = f"Erase {_sentence(recording)}\nwith everything said of it? Type yes: "
    if not args.yes and _answer(question) != "yes":
        print("Nothing was erased.")
        return
    made = erase(home, person, recording.id)
    told = receipts.receipt(home, person, made.id)
    print("Erased:" if told["holds"] else "Not all is erased:")
    for line in told["lines"]:
        print(f"  {line}")
    print(f"The receipt with every file: runthrough receipts {made.id}")


def _answer(question: str) -> str:
    print(question, end="", flush=True)
    return sys.stdin.readline().strip().lower()


def run_recordings(args: argparse.Namespace) -> None:
    """Run `runthrough recordings`."""
    home = common.open_home(args)
    rows = recordings.rows(home, common.acting(home, args))
    if args.json:
        common.print_json(rows)
    elif not rows:
        print("There are no recordings yet. Take a film in with: runthrough add FILE")
    else:
        plain = [{**row, "analysis": _state(row["analysis"]), "length": f"{row['duration_s']:.1f} s"} for row in rows]
        common.print_table(plain, ("id", "name", "length", "checklist", "attempt", "analysis"))


def _state(analysis: dict[str, Any]) -> str:
    if analysis["state"] != "running":
        return str(analysis["state"])
    return f"{100 * analysis['done'] // max(1, analysis['total'])} %"


def run_values(args: argparse.Namespace) -> None:
    """Run `runthrough values`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording)
    found = values.values_of(home, person, recording)
    if args.json:
        common.print_json(values.as_json(recording, found, entries_of(home, person, recording)))
    elif args.csv:
        columns = (*VALUE_COLUMNS, "evidence")
        common.print_csv([values.flat(row) for row in values.as_json(recording, found)["values"]], columns)
    else:
        _print_values(found)
        _print_check(home, person, recording)


def _print_check(home: Home, person: Person, recording: Recording) -> None:
    check = capture_check.capture_check(home, person, recording.id)
    if check is not None:
        print("\n".join(capture_check.lines(check)))


def _print_values(found: tuple[Value, ...]) -> None:
    common.print_table([values.line(value) for value in found], ("measure", "step", "side", "what it says", "seen"))
