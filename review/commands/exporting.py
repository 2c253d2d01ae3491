"""`export` and `import`: files of one attempt in open formats, out and in again."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Final

from review.actions.captions import read_in
from review.actions.looking import Trail
from review.actions.reading_back import LARGEST_BYTES, read_back
from review.commands import common
from review.domain.errors import InputError
from review.report import recordings
from review.report.exports import ADDRESS, EXPORTS, File, export

EXPORT_TEXT: Final = (
    "Make a file of one attempt. What is still covered for the acting person is not in it. Kinds: "
    + "; ".join(f"{kind} ({of.words})" for kind, of in EXPORTS.items())
    + "."
)
IMPORT_TEXT: Final = (
    "Read one's own marks and comments back from a file that `export` made (kinds marks, annotations or tables), here "
    "or on another machine. The attempt must be of the same film. What is here already is not doubled, what others "
    "said is left out, and nothing is changed if anything in the file is wrong. With --captions the file is one of "
    "captions (WebVTT): they take the place of what was heard; where captions were corrected here, say --replace."
)


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    exporting = commands.add_parser("export", help="make a file of an attempt", description=EXPORT_TEXT)
    exporting.add_argument("recording", help="id of a recording (its start is enough)")
    exporting.add_argument("kind", choices=list(EXPORTS), metavar="KIND", help=", ".join(EXPORTS))
    exporting.add_argument(
        "--to", type=Path, metavar="PLACE", help="file or folder to write to (else this folder); - for stdout"
    )
    exporting.add_argument(
        "--address", default=ADDRESS, metavar="URL", help="where links of the report lead (else %(default)s)"
    )
    exporting.add_argument("--force", action="store_true", help="write over a file that is there")
    common.add_home(exporting)
    common.add_person(exporting)
    exporting.set_defaults(run=run_export)

    importing = commands.add_parser("import", help="read marks and comments back", description=IMPORT_TEXT)
    importing.add_argument("recording", help="id of a recording (its start is enough)")
    importing.add_argument("file", type=Path)
    importing.add_argument(
        "--captions", action="store_true", help="read the captions of the film in from a WebVTT file"
    )
    importing.add_argument("--replace", action="store_true", help="let them take the place of corrected captions too")
    common.add_home(importing)
    common.add_person(importing)
    importing.set_defaults(run=run_import)


def run_export(args: argparse.Namespace) -> None:
    """Run `runthrough export`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording)
    made = export(home, person, recording, args.kind, args.address)
    place = _written(args.to, made, args.force)
    Trail(home).took_out(person, recording, f"file: {args.kind}")
    if place is not None:
        print(place)


def _written(asked: Path | None, made: File, force: bool) -> Path | None:
    """Write a file where it was asked for, and return its place; None for stdout."""
    if str(asked) == "-":
        sys.stdout.buffer.write(made.body)
        return None
    place = common.place_of(asked, made.name)
    try:
        with place.open("wb" if force else "xb") as file:
            file.write(made.body)
    except FileExistsError as error:
        raise common.there_already(place) from error
    except OSError as error:
        raise InputError(
            f"{place} cannot be written ({error.strerror or error}); name another place with --to."
        ) from error
    return place


def run_import(args: argparse.Namespace) -> None:
    """Run `runthrough import`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording)
    try:
        with args.file.open("rb") as file:
            body = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise InputError(
            f"{args.file} cannot be read ({error.strerror or error}); name a file that `export` made."
        ) from error
    if args.captions:
        print("\n".join(read_in(home, person, recording.id, args.file.name, body, args.replace)))
        return
    print("\n".join(read_back(home, person, recording, args.file.name, body).sentences()))
