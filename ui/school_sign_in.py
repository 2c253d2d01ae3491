"""Signing in through the school's OpenID Connect, and binding an invitation to it."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass
from typing import Final

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from review.actions import inviting, signing_in
from review.domain.errors import InputError
from review.identity import openid
from review.store.home import Home
from ui.acting import signing_in as people_sign_in
from ui.answering import Answers, Handler, threaded
from ui.cookies import give
from ui.doors import own_page
from ui.form_page import page, said, told

BEGIN: Final = "/sign-in/school/begin"
_END: Final = "/sign-in/school"
_BROWSER: Final = "runthrough-begun"
_LASTING_S: Final = 600.0
_MOST: Final = 5000


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A sign-in whose end is awaited: in which browser, for which invitation, where to go then, until when."""

    begun: openid.Begun
    browser: str
    invitation: str
    wanted: str
    until: float


class SchoolSignIn(Answers):
    """Answers of one home; without a school in the environment they say that there is none."""

    def __init__(self, home: Home) -> None:
        super().__init__(home)
        self._waiting: OrderedDict[str, _Waiting] = OrderedDict()
        self._lock = threading.Lock()

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [(BEGIN, threaded(self.begin), ["GET"]), (_END, threaded(self.end), ["GET"])]

    def begin(self, request: Request) -> Response:
        """Lead to the school's own page."""
        school = openid.school_of_environment()
        if school is None or not people_sign_in(self._database):
            return _refused("No school is named here through which people sign in.", 404)
        try:
            place, begun = openid.begin(school, f"{str(request.base_url).rstrip('/')}{_END}")
        except InputError as error:
            return _refused(str(error), 502)
        browser = secrets.token_urlsafe(32)
        asked = request.query_params
        waiting = _Waiting(
            begun, browser, asked.get("invitation", ""), asked.get("to", "/"), time.monotonic() + _LASTING_S
        )
        with self._lock:
            self._waiting[begun.state] = waiting
            while len(self._waiting) > _MOST:
                self._waiting.popitem(last=False)
        answer = RedirectResponse(place, 303, {"Cache-Control": "no-store"})
        https = request.url.scheme == "https"
        answer.set_cookie(_BROWSER, browser, int(_LASTING_S), path=_END, secure=https, httponly=True, samesite="lax")
        return answer

    def end(self, request: Request) -> Response:
        """Take the school's answer: sign in who is known, bind who has an invitation, refuse everybody else."""
        school, asked = openid.school_of_environment(), request.query_params
        with self._lock:
            waiting = self._waiting.pop(asked.get("state", ""), None)
        here = request.cookies.get(_BROWSER, "")
        if school is None or waiting is None or time.monotonic() > waiting.until:
            return _refused("This answer of the school was not awaited, or came too late. Begin again.", 422)
        if not hmac.compare_digest(waiting.browser.encode(), here.encode()):
            return _refused("This sign-in was begun in another browser. Begin again in this one.", 422)
        try:
            subject = openid.subject(school, waiting.begun, asked.get("code", ""))
            secret = self._opened(school, subject, waiting.invitation)
        except InputError as error:
            return _refused(str(error), 422)
        answer = RedirectResponse(own_page(waiting.wanted), 303, {"Cache-Control": "no-store"})
        answer.delete_cookie(_BROWSER, path=_END)
        return give(answer, secret, request.url.scheme == "https")

    def _opened(self, school: openid.School, subject: str, invitation: str) -> str:
        if invitation:
            return inviting.take_with_subject(self._database, invitation, school.issuer, subject)
        return signing_in.sign_in_as_subject(self._database, school.issuer, subject)


def _refused(message: str, status: int) -> Response:
    way = '<p><a href="/sign-in">Back to signing in</a></p>'
    return page("Sign in", [told(message), said("Nobody comes in without an invitation to a course."), way], status)
