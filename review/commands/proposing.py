"""`proposals`: where steps seem to lie in a film, before anybody marked them."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any, Final

from review.commands import common
from review.report import recordings
from review.report.document import clock_words
from review.report.proposed import proposed

PROPOSALS_TEXT: Final = (
    "Print where the steps that you have not marked seem to lie in a recording, how surely, and why as far as the step "
    "is uncovered for you. Nothing is marked by it: proposals are taken, moved and refused on the Review page."
)

_COLUMNS: Final = ("step", "side", "from", "to", "how surely", "why")


def register(commands: common.Commands) -> None:
    """Add the command of this family."""
    proposing = commands.add_parser("proposals", help="print where steps seem to lie", description=PROPOSALS_TEXT)
    proposing.add_argument("recording", help="id of a recording (its start is enough)")
    common.add_home(proposing)
    common.add_person(proposing)
    common.add_machine_output(proposing)
    proposing.set_defaults(run=run_proposals)


def run_proposals(args: argparse.Namespace) -> None:
    """Run `runthrough proposals`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    told = proposed(home, person, recordings.find(home, person, args.recording).id)
    if args.json:
        common.print_json(told)
    elif told["said"]:
        print(told["said"])
    else:
        common.print_table([_line(one) for one in told["proposals"]], _COLUMNS)


def _line(one: Mapping[str, Any]) -> dict[str, str]:
    times = clock_words(one["onset_s"]), clock_words(one["offset_s"])
    told = (one["step"], one["side"] or "", *times, one["words"], "; ".join(one["reasons"]))
    return dict(zip(_COLUMNS, told, strict=True))
