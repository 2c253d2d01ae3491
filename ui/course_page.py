"""The page Course, for whoever runs one: who belongs to it, invitations, what the course is, and its room."""

from __future__ import annotations

import re
from html import escape
from typing import Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from review.actions import courses, inviting
from review.domain.course import Course, CourseRole
from review.domain.errors import EntryRefused, InputError
from review.domain.model import Person
from review.report.course_room import course_room, gigabytes
from review.report.members import members, owned
from review.store.repository import Repository, reading, repository
from ui.acting import acting, signing_in
from ui.answering import Answers, Handler, threaded
from ui.form_page import choice, field, fields_of, form, page, said, table, told

_ROLES: Final = [str(role) for role in CourseRole]
_MOST_CODES: Final = 200


class CoursePage(Answers):
    """Answers of one home."""

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [("/course", threaded(self.show), ["GET"]), ("/course", self.change, ["POST"])]

    def show(self, request: Request) -> Response:
        """Show the page; there is none where nobody signs in."""
        if not signing_in(self._database):
            return RedirectResponse("/", 303)
        return self._page(request, acting(self._home, None), request.query_params.get("course", ""))

    async def change(self, request: Request) -> Response:
        """Do what a form of the page asks for, and show it again."""
        given = await fields_of(request)
        return await run_in_threadpool(self._change, request, given)

    def _change(self, request: Request, given: dict[str, str]) -> Response:
        person, course_id = acting(self._home, None), given.get("course", "")
        deed = _DEEDS.get(given.get("deed", ""))
        try:
            if deed is None:
                raise EntryRefused("This page did not know what to do. Nothing was changed; reload it.")
            with repository(self._database) as repo:
                done = deed(repo, person, course_id, given)
        except InputError as error:
            return self._page(request, person, course_id, told(str(error)), 422)
        return self._page(request, person, course_id, done)

    def _page(self, request: Request, person: Person, course_id: str, above: str = "", status: int = 200) -> Response:
        with reading(self._database) as repo:
            own = owned(repo, person)
            if not own:
                return page("Course", [above, said("You run no course.")], 403, way_back=True)
            course = next((one for one in own if one.id == course_id), own[0])
            rows = members(repo, person, course.id)
            room = course_room(self._home, repo, person, course.id)["words"]
        others = [f'<a href="/course?course={one.id}">{escape(one.title)}</a>' for one in own if one is not course]
        beside = (_inviting(course), _settings(course) + _room(course, room))
        forms = f'<div class="beside">{"".join(f"<section>{one}</section>" for one in beside)}</div>'
        parts = [above, f"<p>{' '.join(others)}</p>" if others else "", _people(course, rows), forms]
        return page(course.title, parts, status, way_back=True)


def _invite(repo: Repository, person: Person, course_id: str, given: dict[str, str]) -> str:
    codes = re.split(r"[\s,;]+", given.get("codes", "").strip())
    if codes == [""] or len(codes) > _MOST_CODES:
        raise EntryRefused(f"{len([code for code in codes if code])} codes came; expected 1 to {_MOST_CODES}.")
    role, group = _role(given.get("role", "")), given.get("group", "")
    links = [
        (code.upper(), inviting.invite(repo, person, course_id, code, role, group)) for code in dict.fromkeys(codes)
    ]
    return _links(links)


def _renew(repo: Repository, person: Person, course_id: str, given: dict[str, str]) -> str:
    member = repo.person(given.get("code", ""))
    return _links([(member.code, inviting.renew(repo, person, course_id, member))])


def _set(repo: Repository, person: Person, course_id: str, given: dict[str, str]) -> str:
    code, role = given.get("code", ""), _role(given.get("role", ""))
    courses.set_member(repo, person, course_id, code, role, given.get("group", ""))
    return told(f"{code} is {role} now.", good=True)


def _remove(repo: Repository, person: Person, course_id: str, given: dict[str, str]) -> str:
    code = given.get("code", "")
    courses.remove_member(repo, person, course_id, code)
    return told(f"{code} belongs to the course no more, and is signed out. Recordings stay.", good=True)


def _change_course(repo: Repository, person: Person, course_id: str, given: dict[str, str]) -> str:
    days, percent = given.get("days", "").strip(), given.get("percent", "").strip()
    if not re.fullmatch(r"\d{0,5}", days) or not re.fullmatch(r"\d{1,3}", percent):
        raise EntryRefused("A whole number of days, or none, and one of percent were expected. Nothing was changed.")
    title = given.get("title", "")
    courses.set_course(repo, person, course_id, title, int(days) if days else None, int(percent) / 100)
    return told("The course was changed.", good=True)


def _set_quota(repo: Repository, person: Person, course_id: str, given: dict[str, str]) -> str:
    text = given.get("gigabytes", "nothing").strip()
    if text and not re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,9})?", text):
        raise EntryRefused(
            f"{text[:20]!r} came as a limit; expected a number of gigabytes such as 50 or 0.5, or an empty field for "
            "no limit. Nothing was changed."
        )
    courses.set_quota(repo, person, course_id, float(text) if text else None)
    return told(f"The films of this course may take {text} GB now." if text else "There is no limit now.", good=True)


_DEEDS: Final = {
    "invite": _invite,
    "renew": _renew,
    "set": _set,
    "remove": _remove,
    "course": _change_course,
    "quota": _set_quota,
}


def _role(word: str) -> CourseRole:
    if word not in _ROLES:
        raise EntryRefused(f"{word[:20]!r} came as a role; expected one of {', '.join(_ROLES)}. Nothing was changed.")
    return CourseRole(word)


def _links(links: list[tuple[str, str]]) -> str:
    rows = [(escape(code), f"<code>/invitation/{secret}</code>") for code, secret in links]
    about = "Links, shown this once: put this page's own address before each, and hand it to that person only. Each can"
    return f'<div class="wide">{table(("code", "link"), rows, f"{about} be taken once, for 14 days.")}</div>'


def _people(course: Course, rows: list[dict[str, Any]]) -> str:
    cells = [_cells(course, row) for row in rows]
    heads = ("code", "signs in", "role and group", "link", "remove")
    return f'<h2>People</h2><div class="wide">{table(heads, cells, f"{len(rows)} people")}</div>'


def _cells(course: Course, row: dict[str, Any]) -> tuple[str, ...]:
    code, until = str(row["code"]), row["invited_until"]
    about = {"course": course.id, "code": code}
    role = choice(f"[Role of {code}]", "role", _ROLES, row["role"])
    group = field(f"[Group of {code}]", "group", value=str(row["group"]), maxlength=str(inviting.LONGEST_GROUP))
    state = "yes" if row["signs_in"] else f"invited until {until:%Y-%m-%d}" if until else "not yet"
    return (
        f"<b>{escape(code)}</b>",
        state,
        form("/course", (role, group), f"Keep[ {code} so]", {"deed": "set", **about}),
        form("/course", (), f"New link[ for {code}]", {"deed": "renew", **about}),
        form("/course", (), f"Remove[ {code}]", {"deed": "remove", **about}),
    )


def _inviting(course: Course) -> str:
    area = (
        "<label>Codes <small>one or many, such as L-07; a code is one person's, and no name</small>"
        '<textarea name="codes" required></textarea></label>'
    )
    group = field("Group", "group", hint="may be left empty", maxlength=str(inviting.LONGEST_GROUP))
    fields = [area, choice("Role", "role", _ROLES), group]
    return f"<h2>Invite</h2>{form('/course', fields, 'Make links', {'deed': 'invite', 'course': course.id})}"


def _settings(course: Course) -> str:
    days = "" if course.retention_days is None else str(course.retention_days)
    fields = [
        field("Title", "title", value=course.title, required=""),
        field("Erase recordings after days", "days", hint="empty: never by itself", value=days, inputmode="numeric"),
        field(
            "Percent of attempts for a second instructor",
            "percent",
            value=f"{100 * course.second_share:.0f}",
            inputmode="numeric",
            required="",
        ),
    ]
    changing = form("/course", fields, "Change the course", {"deed": "course", "course": course.id})
    return f"<h2>Course</h2>{changing}"


def _room(course: Course, room: str) -> str:
    limit = field(
        "At most, in GB",
        "gigabytes",
        hint="empty: no limit; films that are here stay",
        value=gigabytes(course.quota_bytes),
        inputmode="decimal",
    )
    limiting = form("/course", [limit], "Set the limit", {"deed": "quota", "course": course.id})
    return f"<h2>Room for films</h2><p>{room}</p>{limiting}"
