"""What the commands share: the acting person, the home folder, tables, JSON and progress bars."""

from __future__ import annotations

import argparse
import csv
import json
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from tqdm import tqdm

from review.actions import checklists, people
from review.domain.errors import InputError
from review.domain.model import Person, Role
from review.store.home import Home, find_home
from review.store.repository import Repository, repository

Commands = Any
"""What `argparse` returns for adding sub-commands; its own type is private."""

DEFAULT_CODE: Final = "L-01"


def add_home(parser: argparse.ArgumentParser) -> None:
    """Give a command the option `--home`."""
    parser.add_argument(
        "--home",
        type=Path,
        metavar="FOLDER",
        help="where recordings and reviews are kept (else RUNTHROUGH_HOME, else your user data folder)",
    )


def add_person(parser: argparse.ArgumentParser, prefer: Role = Role.LEARNER) -> None:
    """Give a command the options `--as` and `--role`.

    Parameters
    ----------
    prefer
        Who acts where nobody was named and nobody signs in: the first known here who is this, else the first learner.
    """
    known = f"needed where people sign in, else the first {prefer} known here"
    parser.add_argument("--as", dest="code", metavar="CODE", help=f"who acts, by a code such as L-07 ({known})")
    parser.add_argument(
        "--role", choices=[str(role) for role in Role], default=None, help="what that person is, if new here"
    )
    parser.set_defaults(prefer=prefer)


def add_machine_output(parser: argparse.ArgumentParser) -> None:
    """Give a command the option `--json`."""
    parser.add_argument("--json", action="store_true", help="print one JSON object for other programs")


def open_home(args: argparse.Namespace) -> Home:
    """Find the home folder and make sure that the packaged checklists are in it."""
    home = find_home(args.home)
    with repository(home) as repo:
        checklists.install_shipped(repo)
    return home


def acting(home: Home, args: argparse.Namespace) -> Person:
    """Return the acting person, made known if new; where people sign in, one of them has to be named.

    Raises
    ------
    InputError
        If people sign in to this home and nobody was named.
    """
    with repository(home) as repo:
        if repo.courses().signing_in():
            return _member(repo, args.code)
        known, prefer = repo.people(), args.prefer
        usual = sorted((one for one in known if one.role in (prefer, Role.LEARNER)), key=lambda one: one.role != prefer)
        if args.code is None and args.role is None and usual:
            return usual[0]
        code = args.code or DEFAULT_CODE
        person = next((person for person in known if person.code == code.strip().upper()), None)
        if person and args.role in (None, str(person.role)):
            return person
        return people.ensure(repo, code, Role(args.role or "learner"))


def _member(repo: Repository, code: str | None) -> Person:
    if code is None:
        raise InputError("People sign in to this home. Say with --as CODE who acts; see: runthrough course people")
    return repo.person(code.strip().upper())


def whole_number(text: str, option: str, expected: str) -> int:
    """Return what was given as a whole number of up to nine digits.

    Raises
    ------
    InputError
        If it is none; the message says that `expected` was.
    """
    if not text.isdecimal() or len(text) > 9:
        raise InputError(f"{text[:20]!r} came for {option}; expected {expected}.")
    return int(text)


def days_of(text: str, option: str, never: str) -> int | None:
    """Return a number of days; None for the word `never`. Raises InputError as `whole_number` does."""
    return None if text == never else whole_number(text, option, f"a whole number of days, or {never}")


def place_of(asked: Path | None, name: str) -> Path:
    """Return the file to write to: the one asked for, else one of that name in the folder asked for, or here."""
    if asked is None:
        return Path(name)
    return asked / name if asked.is_dir() else asked


def there_already(place: Path) -> InputError:
    """Return the error of a file that is there and is not to be written over."""
    return InputError(f"{place} is there already; name another with --to, or write over it with --force.")


def print_json(value: object) -> None:
    """Print one JSON value on one line."""
    print(json_line(value))


def json_line(value: object) -> str:
    """Return one JSON value on one line."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def print_table(rows: Sequence[Mapping[str, object]], columns: Sequence[str]) -> None:
    """Print rows as an aligned table with a head line."""
    cells = [[str(row.get(column, "")) for column in columns] for row in rows]
    widths = [max(len(cell) for cell in column) for column in zip(columns, *cells, strict=True)]
    for line in (columns, *cells):
        print("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())


def print_csv(rows: Iterable[Mapping[str, object]], columns: Sequence[str]) -> None:
    """Print rows as CSV with a head line."""
    writer = csv.DictWriter(sys.stdout, fieldnames=list(columns), extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)


class StageBar:
    """A progress bar on stderr for work in named stages; silent when `quiet` or when stderr is no terminal.

    `part` tells which of how many films is at work, the first being 0; the bar runs once over all of them.
    """

    def __init__(self, quiet: bool) -> None:
        self.part = (0, 1)
        self._bar: Any = tqdm(
            total=100, disable=True if quiet else None, bar_format="{desc:<38} {percentage:3.0f} % |{bar}| {elapsed}"
        )

    def __call__(self, stage: str, share: float) -> None:
        """Show the stage and its share done."""
        place, count = self.part
        self._bar.set_description_str(stage if count == 1 else f"{place + 1} of {count}: {stage}", refresh=False)
        self._bar.n = round(100 * (place + share) / count)
        self._bar.refresh()

    def say(self, text: str) -> None:
        """Print a line on stdout, above the bar."""
        self._bar.write(text, file=sys.stdout)

    def __enter__(self) -> StageBar:
        return self

    def __exit__(self, *error: object) -> None:
        self._bar.close()


def frame_bar(quiet: bool, name: str) -> tuple[Callable[[int, int], None], Callable[[], None]]:
    """Return a function that shows frames done of all, and one that closes the bar."""
    bar: Any = tqdm(total=0, unit="frame", desc=f"Analysing {name}"[:38], disable=True if quiet else None)

    def show(done: int, total: int) -> None:
        bar.total = total
        bar.n = done
        bar.refresh()

    return show, bar.close
