"""What the server answers for the page Checklists: sheets, their files, paper, drafts, and tables looked through."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from review.actions import checklists
from review.domain.errors import ChecklistRefused, EntryRefused
from review.domain.model import Person
from review.exchange.sheets.grid import MOST_BYTES
from review.report import paper, results, sheets
from review.report.sign_off import sign_off_of
from review.store.repository import Repository, reading, repository
from ui.answering import ASK_AGAIN, Answers, Handler, json_object, said_in, threaded


class Sheets(Answers):
    """Answers about check-off sheets of one home."""

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [
            ("/api/sheets", threaded(self.rows), ["GET"]),
            ("/api/sheet/{id}", threaded(self.sheet), ["GET"]),
            ("/api/sheet/{id}/file/{kind}", threaded(self.file), ["GET"]),
            ("/api/sheet/{id}/paper", threaded(self.blank), ["GET"]),
            ("/api/paper/{recording}", threaded(self.filled), ["GET"]),
            ("/api/sheets/look", self.look, ["POST"]),
            ("/api/sheets/store", self._written(self._store), ["POST"]),
            ("/api/sheets/copy", self._written(self._copy), ["POST"]),
            ("/api/sheets/retire", self._written(self._retire), ["POST"]),
        ]

    def rows(self, request: Request) -> Response:
        """Answer with all sheets, and with the words an author chooses among."""
        with reading(self._database) as repo:
            return JSONResponse({"sheets": sheets.rows(repo), "choices": sheets.choices()}, headers=ASK_AGAIN)

    def sheet(self, request: Request) -> Response:
        """Answer with one sheet whole, in its newest version or the one asked for."""
        person = self._person(request)
        with reading(self._database) as repo:
            told = sheets.shown(repo, person, request.path_params["id"], _version(request))
        return JSONResponse(told, headers=ASK_AGAIN)

    def file(self, request: Request) -> Response:
        """Answer with a sheet as a file to keep."""
        kind = request.path_params["kind"]
        with reading(self._database) as repo:
            name, content = sheets.file_of(repo, request.path_params["id"], _version(request), kind)
        headers = {"Content-Disposition": f"attachment; filename*=UTF-8''{quote(name)}", **ASK_AGAIN}
        return Response(content, media_type=sheets.FILES[kind], headers=headers)

    def blank(self, request: Request) -> Response:
        """Answer with a sheet for paper, to be filled in by hand."""
        with reading(self._database) as repo:
            sheet = repo.checklist(request.path_params["id"], _version(request))
        return HTMLResponse(paper.blank_page(sheet), headers=ASK_AGAIN)

    def filled(self, request: Request) -> Response:
        """Answer with an attempt's sheet for paper, with the grades of the rater ``by``."""
        person = self._person(request)
        with reading(self._database) as repo:
            recording = repo.recording(request.path_params["recording"])
            rater = results.rater_of(repo, person, recording, request.query_params.get("by"))
            signed = sign_off_of(repo, person, recording)
            page = paper.filled_page(results.added_up(repo, person, recording, rater), signed)
        self._trail.took_out(person, recording, paper.IN_THE_TRAIL)
        return HTMLResponse(page, headers=ASK_AGAIN)

    async def look(self, request: Request) -> Response:
        """Answer with the preview of the table in the body; nothing is stored."""
        name = request.query_params.get("name", "table")[:200]
        content = bytearray()
        async for part in request.stream():
            content += part
            if len(content) > MOST_BYTES:
                break
        head, _, body = bytes(content).partition(b"\n")
        said = json_object(head)
        table = said.get("table")
        chosen = table if isinstance(table, int) else None
        try:
            _, told = await run_in_threadpool(sheets.look, name, body, chosen, said)
        except ChecklistRefused as refused:
            return _refusal(refused)
        return JSONResponse(told, headers=ASK_AGAIN)

    def _written(self, write: Callable[[Repository, Person, dict[str, Any]], dict[str, Any]]) -> Handler:
        """Make a handler that reads a JSON object, writes as the acting person, and answers with what came of it."""

        async def answer(request: Request) -> Response:
            said = await said_in(request)
            try:
                return JSONResponse(await run_in_threadpool(self._run, write, request, said))
            except ChecklistRefused as refused:
                return _refusal(refused)

        return answer

    def _run(self, write: Callable[..., dict[str, Any]], request: Request, said: dict[str, Any]) -> dict[str, Any]:
        person = self._person(request)
        with repository(self._database) as repo:
            return write(repo, person, said)

    def _store(self, repo: Repository, person: Person, said: dict[str, Any]) -> dict[str, Any]:
        values, based_on = said.get("values"), said.get("based_on")
        if not isinstance(values, dict) or not (based_on is None or isinstance(based_on, int)):
            raise EntryRefused("A draft of a sheet was expected. Nothing was stored; reload the page and try again.")
        sheet = checklists.save_draft(repo, person, values, based_on)
        return {"id": sheet.id, "version": sheet.version}

    def _copy(self, repo: Repository, person: Person, said: dict[str, Any]) -> dict[str, Any]:
        old, new, title = (str(said.get(key) or "") for key in ("id", "new_id", "title"))
        sheet = checklists.copy(repo, person, old, new, title or None)
        return {"id": sheet.id, "version": sheet.version}

    def _retire(self, repo: Repository, person: Person, said: dict[str, Any]) -> dict[str, Any]:
        named = str(said.get("id") or "")
        (checklists.bring_back if said.get("back") else checklists.retire)(repo, person, named)
        return {"id": named}


def _refusal(refused: ChecklistRefused) -> Response:
    told = {"message": str(refused), "source": refused.source, "faults": sheets.faults(refused.faults)}
    return JSONResponse(told, 422, headers=ASK_AGAIN)


def _version(request: Request) -> int | None:
    asked = request.query_params.get("version")
    if asked and not (asked.isdecimal() and len(asked) <= 9):
        raise EntryRefused(f"version={asked[:20]} came; expected a whole number.")
    return int(asked) if asked else None
