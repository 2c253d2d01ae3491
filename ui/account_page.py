"""The page Account: one's courses, one's password, and the browsers one is signed in with."""

from __future__ import annotations

from html import escape

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from review.actions import signing_in
from review.domain.errors import EntryRefused, InputError
from review.domain.model import Person
from review.identity.password import SHORTEST
from review.identity.secret import digest
from review.store.repository import reading
from ui.acting import acting
from ui.acting import signing_in as people_sign_in
from ui.answering import Answers, Handler, threaded
from ui.cookies import secret_of
from ui.form_page import field, fields_of, form, page, table, told


class AccountPage(Answers):
    """Answers of one home."""

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [("/account", threaded(self.show), ["GET"]), ("/account", self.change, ["POST"])]

    def show(self, request: Request) -> Response:
        """Show the page; there is none where nobody signs in."""
        if not people_sign_in(self._database):
            return RedirectResponse("/", 303)
        return self._page(request, acting(self._home, None))

    async def change(self, request: Request) -> Response:
        """Do what a form of the page asks for, and show it again."""
        given = await fields_of(request)
        return await run_in_threadpool(self._change, request, given)

    def _change(self, request: Request, given: dict[str, str]) -> Response:
        person = acting(self._home, None)
        try:
            done = self._do(request, person, given)
        except InputError as error:
            return self._page(request, person, str(error), 422)
        return self._page(request, person, done)

    def _do(self, request: Request, person: Person, given: dict[str, str]) -> str:
        here = secret_of(request.cookies) or ""
        deed = given.get("deed")
        if deed == "password":
            if given.get("new") != given.get("again"):
                raise EntryRefused("The two new passwords are not the same. Nothing was changed.")
            signing_in.change_password(self._database, person, given.get("old", ""), given.get("new", ""), here)
            return "Your password was changed. Whoever was signed in elsewhere with the old one is signed out."
        if deed == "end":
            signing_in.end_login(self._database, person, given.get("login", ""))
            return "That browser is signed out."
        if deed == "end others":
            signing_in.end_other_logins(self._database, person, here)
            return "All other browsers are signed out."
        raise EntryRefused("This page did not know what to do. Nothing was changed; reload it.")

    def _page(self, request: Request, person: Person, message: str = "", status: int = 200) -> Response:
        here = digest(secret_of(request.cookies) or "")
        with reading(self._database) as repo:
            titles = {course.id: course.title for course in repo.courses().all()}
            logins = repo.accounts().logins(person.id)
            account = repo.accounts().of(person.id)
        courses = "; ".join(f"{titles[course]} ({role})" for course, role in sorted((person.courses or {}).items()))
        rows = [
            (
                f'<time datetime="{one.made_at.isoformat()}">{one.made_at:%Y-%m-%d %H:%M} UTC</time>',
                f'<time datetime="{one.seen_at.isoformat()}">{one.seen_at:%Y-%m-%d %H:%M} UTC</time>',
                "this browser"
                if one.digest == here
                else form(
                    "/account", (), f"Sign out[ the one of {one.made_at:%H:%M}]", {"deed": "end", "login": one.digest}
                ),
            )
            for one in logins
        ]
        parts = [
            told(message, good=status == 200),
            f"<p>Signed in as <b>{escape(person.code)}</b>. {escape(courses or 'You belong to no course now')}.</p>",
            f'<div class="plain">{form("/sign-out", (), "Sign out")}</div>',
            _password_part(person) if account is not None and account.password is not None else "",
            "<h2>Where you are signed in</h2>",
            f'<div class="wide">{table(("since", "last used", "sign out"), rows, _LASTING)}</div>',
            f'<div class="plain">{form("/account", (), "Sign out all others", {"deed": "end others"})}</div>',
        ]
        return page("Account", parts, status, way_back=True)


_LASTING = "A login ends an hour after it was last used, and after a day in any case."


def _password_part(person: Person) -> str:
    fresh = {"autocomplete": "new-password", "required": "", "minlength": str(SHORTEST)}
    fields = [
        field("Password so far", "old", "password", autocomplete="current-password", required=""),
        field("New password", "new", "password", f"at least {SHORTEST} characters, spaces count", **fresh),
        field("New password once more", "again", "password", **fresh),
    ]
    hidden = {"deed": "password", "username": person.code}
    return f"<h2>Password</h2>{form('/account', fields, 'Change the password', hidden)}"
