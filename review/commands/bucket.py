"""`bucket`: films put into the bucket that the settings name, and room made in the home."""

from __future__ import annotations

import argparse

from review.commands import common
from review.domain.errors import InputError
from review.store.home import find_home
from review.store.stowing import stow_all

TEXT = (
    "Put every film into the bucket that the home's settings name, as far as it is not there yet. With --keep-gb the "
    "films added longest ago are removed from the home, once read back whole, until the others fit; they are played "
    "from the bucket and fetched when they are analysed."
)


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    putting = commands.add_parser("bucket", help="put films into the server's bucket", description=TEXT)
    putting.add_argument("--keep-gb", type=float, metavar="GB", help="how much the films in the home may take")
    putting.add_argument("--quiet", action="store_true", help="no progress bar")
    common.add_home(putting)
    putting.set_defaults(run=run_bucket)


def run_bucket(args: argparse.Namespace) -> None:
    """Run `runthrough bucket`."""
    if args.keep_gb is not None and not 0 <= args.keep_gb < 1e6:
        raise InputError(f"--keep-gb {args.keep_gb} came; expected gigabytes, 0 or more.")
    keep = None if args.keep_gb is None else round(args.keep_gb * 1e9)
    with common.StageBar(args.quiet) as bar:
        done = stow_all(find_home(args.home), keep, bar)
    print(f"{done.put} files put into the bucket, {done.freed_bytes / 1e6:.1f} MB freed in the home")
