"""`backup` and `restore`: a home copied while it is in use, and put back whole."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from review.commands import common
from review.store.backup import back_up, put_back, verify
from review.store.home import find_home

BACKUP_TEXT: Final = (
    "Copy the home into FOLDER while it is in use: all rows of its database, films, tracks, words. Again into the same "
    "folder only what changed is copied, and what was erased goes from it; broken off, run it again. It holds films of "
    "people and password hashes: keep it as you keep the home. --check reads a backup through instead."
)
RESTORE_TEXT: Final = (
    "Put a backup back into an empty home, after reading it through. The home's settings stay, so that what was a "
    "SQLite file may become a PostgreSQL database, and the other way round."
)


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    saving = commands.add_parser("backup", help="copy the home into a folder", description=BACKUP_TEXT)
    saving.add_argument("folder", type=Path, metavar="FOLDER", help="where to, best on another disk")
    saving.add_argument("--check", action="store_true", help="read the backup through and say what it holds")
    saving.add_argument("--quiet", action="store_true", help="no progress bar")
    common.add_home(saving)
    saving.set_defaults(run=run_backup)

    loading = commands.add_parser("restore", help="put a backup back into an empty home", description=RESTORE_TEXT)
    loading.add_argument("folder", type=Path, metavar="FOLDER", help="the backup")
    loading.add_argument("--quiet", action="store_true", help="no progress bar")
    common.add_home(loading)
    loading.set_defaults(run=run_restore)


def run_backup(args: argparse.Namespace) -> None:
    """Run `runthrough backup`."""
    with common.StageBar(args.quiet) as bar:
        if args.check:
            files = verify(args.folder, bar)
            damaged: tuple[str, ...] = ()
        else:
            made = back_up(find_home(args.home), args.folder, bar)
            files, damaged = made.files, made.damaged
    size = sum(one.size_bytes for one in files) / 1e6
    print(f"{args.folder}: {len(files)} files, {size:.1f} MB{', all as they were written' if args.check else ''}")
    for name in damaged:
        print(f"  {name} is damaged in the home itself: its original is missing or changed. Add the film again.")


def run_restore(args: argparse.Namespace) -> None:
    """Run `runthrough restore`."""
    home = find_home(args.home)
    with common.StageBar(args.quiet) as bar:
        files = put_back(args.folder, home, bar)
    print(f"{home.root}: {len(files)} files put back. Look at it with: runthrough open --home {home.root}")
