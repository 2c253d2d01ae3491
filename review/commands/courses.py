"""`course`: have people sign in, invite them by their codes, and see who belongs to a course."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any, Final

from review.actions import courses, inviting
from review.commands import common
from review.domain.course import Course, CourseRole
from review.domain.errors import InputError, NotFound
from review.domain.model import Person
from review.exchange.csv_text import read_csv
from review.report.course_room import course_room
from review.report.members import members
from review.store.repository import Repository, reading, repository

COURSE_TEXT: Final = (
    "Without a course, whoever is at this machine may act as anybody. `course start` makes a course; from then on "
    "people sign in, and see their own attempts and those they were asked for. Details: docs/accounts.md."
)
_COLUMNS: Final = ("code", "role", "group", "signs_in", "invited_until")


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    family = commands.add_parser("course", help="have people sign in, and invite them", description=COURSE_TEXT)
    parts = family.add_subparsers(dest="part", required=True, metavar="PART")
    starting = parts.add_parser("start", help="have people sign in to this home from now on")
    starting.add_argument("course", help="the course's id: small letters, digits and hyphens")
    starting.add_argument("title", help="the course's title, as people call it")
    starting.add_argument("--owner", required=True, metavar="CODE", help="code of who runs the course, such as I-01")
    starting.add_argument("--move-to", metavar="COURSE", help="put the recordings of this home into the course")
    common.add_home(starting)
    starting.set_defaults(run=run_start)
    asking = parts.add_parser("invite", help="print an invitation for each code")
    asking.add_argument("codes", nargs="*", metavar="CODE", help="code of one person, such as L-07")
    asking.add_argument("--role", choices=[str(role) for role in CourseRole], default="learner")
    asking.add_argument("--group", default="", help="the group these people are in")
    asking.add_argument(
        "--csv", type=Path, metavar="FILE", help="table with the columns code, and if need be role, group"
    )
    _shared(asking, run_invite)
    listing = parts.add_parser("people", help="who belongs to the course, and whether they sign in")
    common.add_machine_output(listing)
    _shared(listing, run_people)
    changing = parts.add_parser("set", help="change the course")
    changing.add_argument("--title")
    changing.add_argument("--retention-days", metavar="DAYS", help="erase recordings after so many days, or: never")
    changing.add_argument("--second-share", type=float, metavar="SHARE", help="share of second raters, 0 to 1")
    _shared(changing, run_set)
    limiting = parts.add_parser("quota", help="tell how much the films of the course take, or limit that")
    limiting.add_argument("course", help="the course's id")
    limiting.add_argument("gigabytes", nargs="?", metavar="GB", help="how much they may take, or: none")
    common.add_machine_output(limiting)
    _acted(limiting, run_quota)


def _shared(parser: argparse.ArgumentParser, run: Any) -> None:
    parser.add_argument("--course", metavar="ID", help="which course, where there are several")
    _acted(parser, run)


def _acted(parser: argparse.ArgumentParser, run: Any) -> None:
    parser.add_argument("--as", dest="code", metavar="CODE", help="who acts (else the first owner of the course)")
    common.add_home(parser)
    parser.set_defaults(run=run)


def run_start(args: argparse.Namespace) -> None:
    """Run `runthrough course start`."""
    if args.move_to not in (None, args.course):
        raise InputError(f"--move-to {args.move_to} came with the course {args.course}; expected the same id twice.")
    home = common.open_home(args)
    with repository(home) as repo:
        secret = courses.start(repo, args.course, args.title, args.owner, move=args.move_to is not None)
    print(f"People sign in to {home.root} from now on. Start the pages with: runthrough open")
    _print_links([(args.owner.strip().upper(), secret)])


def run_invite(args: argparse.Namespace) -> None:
    """Run `runthrough course invite`: all codes or, with a fault in one, none."""
    home = common.open_home(args)
    wanted = [(code, args.role, args.group) for code in args.codes] + _table(args.csv, args)
    if not wanted:
        raise InputError("No code came; expected at least one, or a table with --csv.")
    with repository(home) as repo:
        course, person = _course(repo, args)
        links = [
            (code.strip().upper(), inviting.invite(repo, person, course.id, code, _role(role), group))
            for code, role, group in wanted
        ]
    _print_links(links)


def _table(path: Path | None, args: argparse.Namespace) -> list[tuple[str, str, str]]:
    if path is None:
        return []
    try:
        rows = [row for _, row in read_csv(path.read_text("utf-8-sig"))]
    except (OSError, ValueError) as error:
        raise InputError(f"{path} cannot be read ({error}); expected a CSV file in UTF-8.") from error
    if not rows or "code" not in rows[0]:
        raise InputError(f"{path}: expected a head line with the column code, and at least one person below it.")
    return [(row["code"], row.get("role") or args.role, row.get("group") or args.group) for row in rows]


def _role(word: str) -> CourseRole:
    try:
        return CourseRole(word.strip().lower())
    except ValueError as error:
        raise NotFound.among("role", word, [str(role) for role in CourseRole]) from error


def run_people(args: argparse.Namespace) -> None:
    """Run `runthrough course people`."""
    home = common.open_home(args)
    with reading(home) as repo:
        course, person = _course(repo, args)
        rows = members(repo, person, course.id)
    for row in rows:
        until = row["invited_until"]
        row["invited_until"] = until.date().isoformat() if until else None
    if args.json:
        common.print_json({"course": course.id, "title": course.title, "people": rows})
    else:
        print(f"{course.title} ({course.id})")
        common.print_table([{**row, "signs_in": "yes" if row["signs_in"] else "not yet"} for row in rows], _COLUMNS)


def run_set(args: argparse.Namespace) -> None:
    """Run `runthrough course set`."""
    home = common.open_home(args)
    with repository(home) as repo:
        course, person = _course(repo, args)
        asked = (args.retention_days, "--retention-days")
        days = course.retention_days if args.retention_days is None else common.days_of(*asked, "never")
        share = course.second_share if args.second_share is None else args.second_share
        course = courses.set_course(repo, person, course.id, args.title or course.title, days, share)
    kept = "kept until somebody erases them" if course.retention_days is None else f"{course.retention_days} days"
    print(f"{course.title} ({course.id}): recordings {kept}; second raters for {course.second_share:.0%} of attempts.")


def run_quota(args: argparse.Namespace) -> None:
    """Run `runthrough course quota`."""
    home = common.open_home(args)
    if args.gigabytes is not None:
        limit = _gigabytes(args.gigabytes)
        with repository(home) as repo:
            course, person = _course(repo, args)
            courses.set_quota(repo, person, course.id, limit)
    with reading(home) as repo:
        course, person = _course(repo, args)
        told = course_room(home, repo, person, course.id)
    if args.json:
        common.print_json({"course": course.id, "title": course.title, **told})
    else:
        print(f"{course.title} ({course.id}): {told['words']}.")


def _gigabytes(text: str) -> float | None:
    if text == "none":
        return None
    try:
        return float(text)
    except ValueError as error:
        raise InputError(
            f"{text[:20]!r} came as a limit; expected a number of gigabytes such as 50, or none."
        ) from error


def _course(repo: Repository, args: argparse.Namespace) -> tuple[Course, Person]:
    """Return the course that is meant and who acts in it: its first owner, unless somebody is named."""
    known = {course.id: course for course in repo.courses().all()}
    if not known:
        raise InputError("There is no course in this home yet. Make one with: runthrough course start")
    named = args.course or next(iter(known))
    if named not in known or (args.course is None and len(known) > 1):
        raise NotFound.among("course", args.course or "", known)
    if args.code:
        return known[named], repo.person(args.code.strip().upper())
    owners = {one.person_id for one in repo.courses().members(named) if one.role is CourseRole.OWNER}
    return known[named], next(person for person in repo.people() if person.id in owners)


def _print_links(links: list[tuple[str, str]]) -> None:
    print("Each link opens once, for 14 days; put the address of your server before it. Hand it to that person only.")
    common.print_table([{"code": code, "link": f"/invitation/{secret}"} for code, secret in links], ("code", "link"))
