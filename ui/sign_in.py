"""Signing in and out, and taking an invitation."""

from __future__ import annotations

from typing import Final
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from review.actions import inviting, signing_in
from review.domain.account import Invitation
from review.domain.errors import InputError, NotAllowed, NotFound
from review.identity import openid
from review.identity.password import SHORTEST
from review.store.home import Home
from ui.acting import signing_in as people_sign_in
from ui.answering import Answers, Handler, threaded
from ui.cookies import give, secret_of, take_away
from ui.doors import own_page
from ui.form_page import field, fields_of, form, page, said, told
from ui.knocks import Knocks
from ui.school_sign_in import BEGIN

_PASSWORD: Final = {"autocomplete": "new-password", "required": "", "minlength": str(SHORTEST)}


class SignIn(Answers):
    """Answers of one home."""

    def __init__(self, home: Home) -> None:
        super().__init__(home)
        self._knocks = Knocks()

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [
            ("/sign-in", threaded(self.ask), ["GET"]),
            ("/sign-in", self.sign_in, ["POST"]),
            ("/sign-out", threaded(self.sign_out), ["POST"]),
            ("/invitation/{secret}", threaded(self.offer), ["GET"]),
            ("/invitation/{secret}", self.take, ["POST"]),
        ]

    def ask(self, request: Request) -> Response:
        """Show the form; there is none where nobody signs in."""
        if not people_sign_in(self._database):
            return RedirectResponse("/", 303)
        return _sign_in_page(request.query_params.get("to", "/"))

    async def sign_in(self, request: Request) -> Response:
        """Sign in with the code and the password of the form, and go where one wanted to."""
        given = await fields_of(request)
        return await run_in_threadpool(self._sign_in, request, given)

    def _sign_in(self, request: Request, given: dict[str, str]) -> Response:
        address, wanted = _address(request), given.get("to", "/")
        wait_s = self._knocks.waits_s(address)
        if wait_s:
            return _sign_in_page(wanted, f"Too many wrong passwords came from here. Wait {wait_s:.0f} s.", 429)
        try:
            secret = signing_in.sign_in(self._database, given.get("code", ""), given.get("password", ""))
        except NotAllowed as refusal:
            self._knocks.failed(address)
            return _sign_in_page(wanted, str(refusal), 422)
        self._knocks.came_in(address)
        return self._in(request, secret, wanted)

    def _in(self, request: Request, secret: str, wanted: str) -> Response:
        """Go on as whoever has just signed in; a login that this browser had before ends."""
        before = secret_of(request.cookies)
        if before:
            signing_in.sign_out(self._database, before)
        return give(RedirectResponse(own_page(wanted), 303), secret, request.url.scheme == "https")

    def sign_out(self, request: Request) -> Response:
        """End the login and have the browser forget it."""
        secret = secret_of(request.cookies)
        if secret:
            signing_in.sign_out(self._database, secret)
        return take_away(RedirectResponse("/sign-in", 303))

    def offer(self, request: Request) -> Response:
        """Show whom an invitation is for, and the form to take it."""
        try:
            invitation = inviting.offered(self._database, request.path_params["secret"])
        except NotFound as error:
            return page("Invitation", [told(str(error))], 404)
        return _invitation_page(invitation, request.path_params["secret"])

    async def take(self, request: Request) -> Response:
        """Set the password of the form, and sign in with it."""
        given = await fields_of(request)
        return await run_in_threadpool(self._take, request, given)

    def _take(self, request: Request, given: dict[str, str]) -> Response:
        secret, password = request.path_params["secret"], given.get("password", "")
        try:
            invitation = inviting.offered(self._database, secret)
        except NotFound as error:
            return page("Invitation", [told(str(error))], 404)
        if password != given.get("again"):
            return _invitation_page(invitation, secret, "The two passwords are not the same. Nothing was changed.", 422)
        try:
            login = inviting.take_with_password(self._database, secret, password)
        except InputError as error:
            return _invitation_page(invitation, secret, str(error), 422)
        return self._in(request, login, "/")


def _address(request: Request) -> str:
    return request.client.host if request.client else ""


def _by_school(asked: dict[str, str]) -> str:
    """Return the way to the school's own sign-in; nothing where no school is named."""
    if openid.school_of_environment() is None:
        return ""
    return f'<p><a href="{BEGIN}?{urlencode(asked)}">Go on with the school\'s account</a></p>'


def _sign_in_page(wanted: str, message: str = "", status: int = 200) -> Response:
    fields = [
        field("Code", "code", hint="such as L-07", autocomplete="username", required="", autocapitalize="characters"),
        field("Password", "password", "password", autocomplete="current-password", required=""),
    ]
    return page(
        "Sign in",
        [
            told(message),
            _by_school({"to": own_page(wanted)}),
            form("/sign-in", fields, "Sign in", {"to": own_page(wanted)}),
            said("No account yet, or the password forgotten? Ask whoever runs your course for a link."),
        ],
        status,
    )


def _invitation_page(invitation: Invitation, secret: str, message: str = "", status: int = 200) -> Response:
    fields = [
        field("Password", "password", "password", f"at least {SHORTEST} characters, spaces count", **_PASSWORD),
        field("Once more", "again", "password", **_PASSWORD),
    ]
    return page(
        "Invitation",
        [
            told(message),
            _by_school({"invitation": secret}),
            said(f"You are invited as {invitation.code}, {invitation.role}. Choose a password; this link then ends."),
            said("Four or five words that belong to no saying make a good one. There is no need for signs or digits."),
            form(f"/invitation/{secret}", fields, "Take the invitation", {"code": invitation.code}),
        ],
        status,
    )
