"""The command line: `runthrough` or `python -m review`."""

from __future__ import annotations

import argparse
import os
import sys
from importlib import import_module
from typing import Final

from review.domain.errors import RunthroughError

ABOUT: Final = (
    "Runthrough takes the film of a practised neurological check-off, measures what can be seen with an honest "
    "interval and shows it on a timeline linked to the checklist. Practice feedback only: it never diagnoses, and "
    "your course's own sheet, local policy and licensed instructors decide."
)
FIRST_STEPS: Final = """\
first steps:
  runthrough demo                       look at invented people's attempts in the browser
  runthrough add FILM                   take your own film in
  runthrough analyse FILM               measure it; stop and go on whenever you like
  runthrough open                       mark, grade and comment in the browser
  runthrough doctor                     what is missing on this machine
"""


FAMILIES: Final = (
    *("films", "changing", "consents", "mending", "inbox", "sheets", "entering", "exporting", "masking", "signing"),
    *("proposing", "keeping", "raters", "classes", "courses", "words", "backing_up", "bucket", "machine", "working"),
)
"""Modules of `review.commands`, in the order in which their commands are listed."""


def parser() -> argparse.ArgumentParser:
    """Make the parser of the command line.

    The commands are imported here, since each worker imports this module anew and would only grow by them.
    """
    top = argparse.ArgumentParser(
        "runthrough", description=ABOUT, epilog=FIRST_STEPS, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for family in FAMILIES:
        import_module(f"review.commands.{family}").register(commands)
    return top


def main(argv: list[str] | None = None) -> int:
    """Run one command and return its exit code: 0, 2 for what the user can mend, 1 otherwise."""
    args = parser().parse_args(argv)
    try:
        args.run(args)
    except RunthroughError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        print("Stopped. What was finished is kept; run the same command again to go on.", file=sys.stderr)
        return 1
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
