"""`sign-off`: an instructor signs an attempt, takes a sign-off back, and anybody looks whether it still holds."""

from __future__ import annotations

import argparse
from typing import Final

from review.actions import signing
from review.commands import common
from review.domain.errors import EntryRefused, StoreBroken
from review.domain.signoff import Finding
from review.report import recordings
from review.report.sign_off import ToldSignOff, sign_off_of, version_json
from review.store.repository import reading, repository

SIGN_TEXT: Final = (
    "Sign what you find of an attempt, as an instructor: it rests on your own grades of every step, and on what they "
    "add up to by the sheet's own rule. A finding against that rule needs the reason in the conditions. Nothing signed "
    "is ever changed: each later change is a version of its own. Without a result the versions are listed, with what "
    "was changed since the last one was signed."
)
COLUMNS: Final = ("version", "result", "by", "at", "digest", "conditions")


def register(commands: common.Commands) -> None:
    """Add the command of this family."""
    parser = commands.add_parser("sign-off", help="sign an attempt, or see what was signed", description=SIGN_TEXT)
    parser.add_argument("recording", help="id of a recording (its start is enough)")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--result", choices=[_option(one) for one in Finding], help="what you find")
    what.add_argument("--take-back", metavar="REASON", help="say that the last version holds no more, and why")
    what.add_argument("--verify", action="store_true", help="fail if a version is not as it was signed")
    parser.add_argument(
        "--conditions", default="", metavar="TEXT", help="conditions, or why it stands against the rule"
    )
    common.add_home(parser)
    common.add_person(parser)
    common.add_machine_output(parser)
    parser.set_defaults(run=run)


def _option(finding: Finding) -> str:
    return finding.value.replace("_", "-")


def run(args: argparse.Namespace) -> None:
    """Run `runthrough sign-off`."""
    home = common.open_home(args)
    person = common.acting(home, args)
    recording = recordings.find(home, person, args.recording)
    if args.conditions and not args.result:
        raise EntryRefused("--conditions came without --result; expected both. Nothing was signed.")
    if args.result or args.take_back is not None:
        with repository(home) as repo:
            recording = repo.recording(recording.id)
            if args.result:
                finding = Finding(args.result.replace("-", "_"))
                signing.sign(repo, person, recording, finding, args.conditions)
            else:
                signing.take_back(repo, person, recording, args.take_back)
    with reading(home) as repo:
        recording = repo.recording(recording.id)
        told = sign_off_of(repo, person, recording)
    _print(told, args.json)
    if args.verify and told.faults:
        raise StoreBroken(f"{recording.name}: {' '.join(told.faults)} Go by a printed report, or sign anew.")


def _print(told: ToldSignOff, as_json: bool) -> None:
    rows = [version_json(one) for one in told.versions]
    if as_json:
        common.print_json({"versions": rows, "changed": told.changed, "changes": told.changes, "faults": told.faults})
        return
    if not rows:
        print("Nothing is signed yet. An instructor signs with: runthrough sign-off RECORDING --result passed")
        return
    shown = [{**row, "result": row["words"], "by": row["person"], "digest": row["digest"][:12]} for row in rows]
    common.print_table(shown, COLUMNS)
    for sentence in _standing(told):
        print(sentence)


def _standing(told: ToldSignOff) -> list[str]:
    """Say whether what was signed still holds."""
    if told.faults:
        return list(told.faults)
    whole = f"All {len(told.versions)} versions are as they were signed."
    if len(told.versions) == 1:
        whole = "The version is as it was signed."
    changed = ["Changed since it was signed:", *(f"  {one}" for one in told.changes)] if told.changed else []
    return [whole, *changed]
