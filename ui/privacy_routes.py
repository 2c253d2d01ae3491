"""What the server answers of privacy: consents, erasing and receipts, dates, and who looked."""

from __future__ import annotations

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response, StreamingResponse

from review.actions import consents
from review.actions.erasing import erase
from review.actions.retention import set_days
from review.domain.errors import EntryRefused
from review.domain.model import Person
from review.report.consent_text import consent_page
from review.report.consents import consent_told
from review.report.mine import MEDIA_TYPE, own_recordings, pack
from review.report.privacy import looks_at, privacy
from review.report.receipts import receipt, receipt_page
from ui.answering import ASK_AGAIN, Answers, Handler, said_in, threaded


class Privacy(Answers):
    """Answers of one home."""

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [
            ("/api/consent/{id}", threaded(self.consent), ["GET"]),
            ("/api/consent/{id}", self.note, ["POST"]),
            ("/api/consent/{id}/paper", threaded(self.paper), ["GET"]),
            ("/api/consent/{id}/withdraw", threaded(self.withdraw), ["POST"]),
            ("/api/erase/{id}", threaded(self.erase), ["POST"]),
            ("/api/privacy", threaded(self.privacy), ["GET"]),
            ("/api/mine", threaded(self.mine), ["GET"]),
            ("/api/looks/{id}", threaded(self.looks), ["GET"]),
            ("/api/retention", self.keep, ["POST"]),
            ("/api/receipt/{id}", threaded(self.receipt), ["GET"]),
            ("/api/receipt/{id}/paper", threaded(self.receipt_paper), ["GET"]),
        ]

    def consent(self, request: Request) -> Response:
        """Answer with what was agreed to, and the choices there are, as `consent_told` says."""
        return self._told(request, self._person(request))

    async def note(self, request: Request) -> Response:
        """Note the terms in the body, and answer as `consent` does."""
        said = await said_in(request)
        return await run_in_threadpool(self._note, request, said)

    def _note(self, request: Request, said: dict[str, Any]) -> Response:
        person = self._person(request)
        consents.note(self._home, person, request.path_params["id"], *consents.terms_of(said))
        return self._told(request, person)

    def withdraw(self, request: Request) -> Response:
        """Note that the consent was taken back, and answer as `consent` does."""
        person = self._person(request)
        consents.withdraw(self._home, person, request.path_params["id"])
        return self._told(request, person)

    def _told(self, request: Request, person: Person) -> Response:
        return JSONResponse(consent_told(self._database, person, request.path_params["id"]), headers=ASK_AGAIN)

    def paper(self, request: Request) -> Response:
        """Answer with the text as a page to print."""
        told = consent_told(self._database, self._person(request), request.path_params["id"])
        return HTMLResponse(consent_page(str(told["title"])), headers=ASK_AGAIN)

    def erase(self, request: Request) -> Response:
        """Erase a recording, and answer with the receipt."""
        person = self._person(request)
        made = erase(self._home, person, request.path_params["id"])
        return JSONResponse(receipt(self._database, person, made.id), headers=ASK_AGAIN)

    def receipt(self, request: Request) -> Response:
        """Answer with a receipt."""
        told = receipt(self._database, self._person(request), request.path_params["id"])
        return JSONResponse(told, headers=ASK_AGAIN)

    def receipt_paper(self, request: Request) -> Response:
        """Answer with a receipt as a page to print."""
        told = receipt(self._database, self._person(request), request.path_params["id"])
        return HTMLResponse(receipt_page(told), headers=ASK_AGAIN)

    def privacy(self, request: Request) -> Response:
        """Answer with all that the page shows, as `privacy` says."""
        return JSONResponse(privacy(self._database, self._person(request)), headers=ASK_AGAIN)

    def looks(self, request: Request) -> Response:
        """Answer with who looked at a recording."""
        told = looks_at(self._database, self._person(request), request.path_params["id"])
        return JSONResponse({"looks": told}, headers=ASK_AGAIN)

    async def keep(self, request: Request) -> Response:
        """Set after how many ``days`` recordings are erased, null for never, and answer as `privacy` does."""
        said = await said_in(request)
        days = said.get("days")
        if not (days is None or (isinstance(days, int) and not isinstance(days, bool))):
            raise EntryRefused(f"{str(days)[:20]} came as a number of days; expected a whole number, or nothing.")
        return await run_in_threadpool(self._keep, request, days)

    def _keep(self, request: Request, days: int | None) -> Response:
        set_days(self._home, self._person(request), days)
        return self.privacy(request)

    def mine(self, request: Request) -> Response:
        """Answer with everything of the acting person, packed on the way."""
        person = self._person(request)
        for one in own_recordings(self._home, person)[0]:
            self._trail.took_out(person, one, "all of mine")
        named = {
            "Content-Disposition": f'attachment; filename="runthrough-{person.code}.zip"',
            "Cache-Control": "no-store",
        }
        return StreamingResponse(pack(self._home, person), media_type=MEDIA_TYPE, headers=named)
