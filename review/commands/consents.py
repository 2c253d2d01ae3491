"""`consent` and `receipts`: what examined persons agreed to, and what was erased."""

from __future__ import annotations

import argparse
from typing import Any, Final

from review.actions.consents import Terms, note, read_terms, withdraw
from review.commands import common
from review.domain.sharing import Audience, Bystanders
from review.report.consents import consent_told
from review.report.receipts import receipt, receipt_page, receipts

CONSENT_TEXT: Final = (
    "Tell, note or take back what the examined person of a recording agreed to: to whom the film may be shown, and "
    "until when. Taken back, nobody sees the film any more; it can still be erased. Without options the text to read "
    "to the examined person is printed, with what was noted so far."
)
RECEIPTS_TEXT: Final = (
    "List what was erased, newest first. With an id: all that is on that receipt, every file with its size and "
    "SHA-256, and what a second look found."
)
_WHOM: Final = ",".join(Audience)


def register(commands: common.Commands) -> None:
    """Add the command of this family."""
    agreeing = commands.add_parser("consent", help="note what the examined person agreed to", description=CONSENT_TEXT)
    agreeing.add_argument("recording", help="id of a recording (its start is enough)")
    add_terms(agreeing, "--to")
    agreeing.add_argument("--taken-back", action="store_true", help="the examined person took the consent back")
    common.add_home(agreeing)
    common.add_person(agreeing)
    common.add_machine_output(agreeing)
    agreeing.set_defaults(run=run_consent)

    listing = commands.add_parser(
        "receipts", help="list what was erased, or print a receipt", description=RECEIPTS_TEXT
    )
    listing.add_argument("receipt", nargs="?", help="id of a receipt, or of the recording that was erased")
    listing.add_argument("--page", action="store_true", help="print it as an HTML page, for paper")
    common.add_home(listing)
    common.add_person(listing)
    common.add_machine_output(listing)
    listing.set_defaults(run=run_receipts)


def add_terms(parser: argparse.ArgumentParser, name: str) -> None:
    """Give a command the options that say what was agreed to; `name` is that of whom the film may be shown to."""
    parser.add_argument(
        name, metavar="WHOM", help=f"the examined person agreed that it is shown to: nobody, or any of {_WHOM}"
    )
    parser.add_argument("--until", default="", metavar="DAY", help="last day of that, such as 2027-01-31")
    parser.add_argument("--others", default=Bystanders.NOBODY, choices=list(Bystanders), help="others in the film")
    parser.add_argument("--partner", default="", metavar="INITIALS", help="who agreed: initials or a code, no name")


def terms_asked(args: argparse.Namespace, name: str) -> Terms | None:
    """Return the terms that a command was given, or None; raises EntryRefused if they cannot be read."""
    whom = getattr(args, name)
    if whom is None:
        return None
    names = [] if whom == "nobody" else [one.strip() for one in whom.split(",")]
    return read_terms(names, args.until, args.others, args.partner)


def run_consent(args: argparse.Namespace) -> None:
    """Run `runthrough consent`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    terms = terms_asked(args, "to")
    if args.taken_back:
        withdraw(home, person, args.recording)
    elif terms is not None:
        note(home, person, args.recording, *terms)
    told = consent_told(home, person, args.recording)
    if args.json:
        common.print_json(told)
        return
    if not args.taken_back and terms is None:
        print("\n\n".join(f"{one['title']}\n  {one['text']}" for one in told["text"]) + "\n")
    print(f"{told['title']}: {told['words']}")
    for one in told["history"]:
        print(f"  {one['at'][:10]}, {one['by']}: {one['words']}")


def run_receipts(args: argparse.Namespace) -> None:
    """Run `runthrough receipts`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    if args.receipt is None:
        _list(receipts(home, person), args.json)
        return
    found = receipt(home, person, args.receipt)
    if args.json:
        common.print_json(found)
    elif args.page:
        print(receipt_page(found))
    else:
        print("\n".join(found["lines"]) + "\n")
        common.print_table(found["files"], ("path", "size_bytes", "sha256"))


def _list(found: list[dict[str, Any]], as_json: bool) -> None:
    if as_json:
        common.print_json(found)
    elif not found:
        print("Nothing was erased yet.")
    else:
        rows = [{**one, "proved": "yes" if one["holds"] else "NO"} for one in found]
        common.print_table(rows, ("at", "recording", "of", "by", "why", "proved", "id"))
