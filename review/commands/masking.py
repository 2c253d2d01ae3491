"""`mask-faces`: a copy of a film with masked faces, for sharing."""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path
from typing import Final

from review.actions.looking import Trail
from review.actions.masking import drop_copy, mask_heads
from review.commands import common
from review.domain.errors import InputError
from review.domain.masking import Heads
from review.report import recordings
from review.report.masking import IN_THE_TRAIL, KINDS, STAYS, doubtful_lines, file_name, masked_file

MASK_TEXT: Final = (
    "Make a copy of a film in which faces, with the whole heads, are filled with one grey: all but the examined "
    "person's, or all. Where it is not sure whose a face is, it is masked. It has no sound unless you ask for it, "
    "since voices tell who people are, and nothing of what the film's file says of place, device and date. The "
    "seconds that you should look at before you share it are printed. " + STAYS
)


def register(commands: common.Commands) -> None:
    """Add the command of this family."""
    masking = commands.add_parser(
        "mask-faces", help="make a copy with masked faces, for sharing", description=MASK_TEXT
    )
    masking.add_argument("recording", help="id of a recording (its start is enough)")
    masking.add_argument("--all", action="store_true", help="mask the examined person's face too")
    masking.add_argument("--sound", action="store_true", help="keep the film's sound (else the copy is silent)")
    masking.add_argument(
        "-o", "--to", type=Path, metavar="PLACE", help="file or folder to write to as well (else kept in the home only)"
    )
    masking.add_argument("--force", action="store_true", help="write over a file that is there")
    masking.add_argument("--remove", action="store_true", help="remove the copy that was made before, and make none")
    masking.add_argument("--models", type=Path, metavar="FOLDER", help="folder with the landmark model files")
    masking.add_argument("--quiet", action="store_true", help="no progress bar")
    common.add_home(masking)
    common.add_person(masking)
    masking.set_defaults(run=run_mask)


def run_mask(args: argparse.Namespace) -> None:
    """Run `runthrough mask-faces`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording)
    heads = Heads.ALL if args.all else Heads.OTHERS
    if args.remove:
        there = drop_copy(home, person, recording.id, heads)
        print(f"The copy with {KINDS[heads]} masked was removed." if there else "There was no such copy.")
        return
    place = None if args.to is None else _free(args.to, file_name(recording, heads), args.force)
    with common.StageBar(args.quiet) as bar:
        copy = mask_heads(home, person, recording.id, heads, sound=args.sound, models_folder=args.models, progress=bar)
    film, _ = masked_file(home, person, recording.id, heads)
    if place is not None:
        film = _written(film, place)
        Trail(home).took_out(person, recording, IN_THE_TRAIL)
    print(f"{film}: {KINDS[heads]} masked, {'with its' if copy.sound else 'without'} sound")
    lines = doubtful_lines(copy)
    if lines:
        print("Look at these seconds before you share it:")
        print("\n".join(lines))
    print(STAYS)


def _free(asked: Path, name: str, force: bool) -> Path:
    """Return the file to write to, before the long work begins."""
    place = common.place_of(asked, name)
    if place.exists() and not force:
        raise common.there_already(place)
    return place


def _written(film: Path, place: Path) -> Path:
    try:
        return Path(shutil.copyfile(film, place))
    except OSError as error:
        raise InputError(
            f"{place} cannot be written ({error.strerror or error}). The copy is kept in {film}; take it from there."
        ) from error
