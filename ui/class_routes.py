"""What the server answers for the page Class: the figures of a class, and its tables as files."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from review.actions import assigning, standards
from review.domain.errors import EntryRefused
from review.domain.model import Person
from review.domain.sharing import Purpose
from review.domain.wording import counted
from review.exchange.csv_text import MEDIA_TYPE
from review.report.class_files import class_csv
from review.report.cohort import cohort
from review.store.repository import Repository, repository
from ui.ahead import page_report
from ui.answering import ASK_AGAIN, Answers, Handler, said_in, threaded


class Classes(Answers):
    """Answers about the class of one home."""

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [
            ("/api/class", threaded(self.told), ["GET"]),
            ("/api/class/table/{name}", threaded(self.file), ["GET"]),
            ("/api/class/assign", self._written(_assign), ["POST"]),
            ("/api/class/rate", self._written(_rate), ["POST"]),
            ("/api/class/expect", self._written(_expect), ["POST"]),
        ]

    def told(self, request: Request) -> Response:
        """Answer with all that the page shows, as `cohort` says; at first as it was begun with the page."""
        chosen = {part: said for part, said in request.query_params.items() if said and part != "as"}
        first = chosen == {"which": "newest"}
        told = page_report(self._home, self._person(request), "/class") if first else self._told(request)
        return JSONResponse(told, headers=ASK_AGAIN)

    def file(self, request: Request) -> Response:
        """Answer with one table as CSV."""
        name, text = class_csv(self._told(request), request.path_params["name"])
        named = {"Content-Disposition": f'attachment; filename="{name}"', **ASK_AGAIN}
        return Response(text, media_type=MEDIA_TYPE, headers=named)

    def _told(self, request: Request) -> dict[str, Any]:
        asked = request.query_params
        person = self._person(request)
        which, course = asked.get("which") or "newest", asked.get("course") or None
        return cohort(self._database, person, asked.get("checklist") or None, which, course=course)

    def _written(self, write: Callable[[Repository, Person, dict[str, Any]], str]) -> Handler:
        """Make a handler that reads a JSON object, writes as the acting person, and answers with what was done."""

        async def answer(request: Request) -> Response:
            said = await said_in(request)
            return JSONResponse({"done": await run_in_threadpool(self._run, write, request, said)}, headers=ASK_AGAIN)

        return answer

    def _run(
        self, write: Callable[[Repository, Person, dict[str, Any]], str], request: Request, said: dict[str, Any]
    ) -> str:
        person = self._person(request)
        with repository(self._database) as repo:
            return write(repo, person, said)


def _assign(repo: Repository, person: Person, said: dict[str, Any]) -> str:
    named = said.get("recordings")
    if not isinstance(named, list) or not named:
        raise EntryRefused("No attempt was chosen. Choose some in the list, then ask somebody.")
    made = assigning.assign(repo, person, [str(one) for one in named], str(said.get("code") or "") or None)
    seconds = sum(one.purpose is Purpose.SECOND for one in made)
    codes = {one.id: one.code for one in repo.people()}
    asked = ", ".join(sorted({codes[one.person_id] for one in made if one.purpose is Purpose.FIRST}))
    more = f" {seconds} of them {'has' if seconds == 1 else 'have'} a second rater drawn." if seconds else ""
    count = len(made) - seconds
    return f"{counted(count, 'attempt')} asked of {asked}.{more}"


def _rate(repo: Repository, person: Person, said: dict[str, Any]) -> str:
    rating = said.get("rating")
    if isinstance(rating, bool) or not (rating is None or isinstance(rating, int)):
        raise EntryRefused("A rating was expected as a whole number. Nothing was changed; reload the page.")
    recording = repo.recording(str(said.get("recording") or ""))
    standards.rate(repo, person, recording, rating)
    return "Your rating was taken back." if rating is None else "Your rating is stored."


def _expect(repo: Repository, person: Person, said: dict[str, Any]) -> str:
    chances = {}
    rows = said.get("chances")
    for row in rows if isinstance(rows, list) else []:
        percent, side = (row.get("percent"), row.get("side")) if isinstance(row, dict) else (None, None)
        if isinstance(percent, bool) or not isinstance(percent, int | float):
            raise EntryRefused("A chance was expected as a number from 0 to 100. Nothing was changed.")
        chances[str(row.get("step")), side if side in ("left", "right") else None] = percent / 100
    course, sheet = said.get("course"), str(said.get("checklist") or "")
    count = standards.expect(repo, person, str(course) if course else None, sheet, chances)
    return f"{count} {'chance is' if count == 1 else 'chances are'} stored."
