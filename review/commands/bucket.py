"""`bucket`: films put into the bucket that the settings name, room made in the home, and what it lost brought back."""

from __future__ import annotations

import argparse

from review.commands import common
from review.domain.errors import InputError
from review.domain.wording import counted
from review.store.home import find_home
from review.store.stowing import bring_all, stow_all

TEXT = (
    "Put every film, with what was seen and heard in it, into the bucket that the home's settings name, as far as it "
    "is not there yet. With --keep-gb the films added longest ago are removed from the home, once read back whole, "
    "until the others fit; they are played from the bucket and fetched when they are analysed. With --back nothing is "
    "put there: what was seen and heard is brought back where the home has lost it, so that no film need be analysed "
    "anew."
)


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    putting = commands.add_parser("bucket", help="put films into the server's bucket", description=TEXT)
    which = putting.add_mutually_exclusive_group()
    which.add_argument("--keep-gb", type=float, metavar="GB", help="how much the films in the home may take")
    which.add_argument("--back", action="store_true", help="bring back what was seen and heard in films instead")
    putting.add_argument("--quiet", action="store_true", help="no progress bar")
    common.add_home(putting)
    putting.set_defaults(run=run_bucket)


def run_bucket(args: argparse.Namespace) -> None:
    """Run `runthrough bucket`."""
    if args.keep_gb is not None and not 0 <= args.keep_gb < 1e6:
        raise InputError(f"--keep-gb {args.keep_gb} came; expected gigabytes, 0 or more.")
    if args.back:
        with common.StageBar(args.quiet) as bar:
            brought = bring_all(find_home(args.home), bar)
        print(f"brought back what was seen and heard in {counted(brought, 'film')}")
        return
    keep = None if args.keep_gb is None else round(args.keep_gb * 1e9)
    with common.StageBar(args.quiet) as bar:
        done = stow_all(find_home(args.home), keep, bar)
    print(f"{done.put} files put into the bucket, {done.freed_bytes / 1e6:.1f} MB freed in the home")
