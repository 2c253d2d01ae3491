"""What the server answers for the page Class: the figures of a class, and its tables as files."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from review.exchange.csv_text import MEDIA_TYPE
from review.report.class_files import class_csv
from review.report.cohort import cohort
from review.store.database import Database, open_database
from review.store.home import Home
from ui.acting import acting
from ui.answering import ASK_AGAIN, Handler, threaded


class Classes:
    """Answers about the class of one home."""

    def __init__(self, home: Home) -> None:
        self._home = home

    @cached_property
    def _database(self) -> Database:
        return open_database(self._home)

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [
            ("/api/class", threaded(self.told), ["GET"]),
            ("/api/class/table/{name}", threaded(self.file), ["GET"]),
        ]

    def told(self, request: Request) -> Response:
        """Answer with all that the page shows, as `cohort` says."""
        return JSONResponse(self._told(request), headers=ASK_AGAIN)

    def file(self, request: Request) -> Response:
        """Answer with one table as CSV."""
        name, text = class_csv(self._told(request), request.path_params["name"])
        named = {"Content-Disposition": f'attachment; filename="{name}"', **ASK_AGAIN}
        return Response(text, media_type=MEDIA_TYPE, headers=named)

    def _told(self, request: Request) -> dict[str, Any]:
        asked = request.query_params
        person = acting(self._home, asked.get("as"))
        return cohort(self._database, person, asked.get("checklist") or None, asked.get("which") or "newest")
