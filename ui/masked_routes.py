"""What the server answers of copies with masked faces: which there are, making one, breaking it off, taking it out."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response

from review.access import Deed
from review.actions.masking import drop_copy
from review.domain.errors import NotFound
from review.domain.masking import Heads
from review.domain.model import Person, Recording
from review.report import recordings
from review.report.masking import IN_THE_TRAIL, KINDS, STAYS, masked, masked_file
from review.store.home import Home
from ui.answering import ASK_AGAIN, Answers, Handler, threaded
from ui.making import Makings

_NOT_KEPT: Final = {"Cache-Control": "no-store"}


class Masked(Answers):
    """Answers of one home."""

    def __init__(self, home: Home) -> None:
        super().__init__(home)
        self._makings = Makings(home)

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [
            ("/api/masked/{id}", threaded(self.told), ["GET"]),
            ("/api/masked/{id}/stop", threaded(self.stop), ["POST"]),
            ("/api/masked/{id}/{heads}.mp4", threaded(self.film), ["GET"]),
            ("/api/masked/{id}/{heads}", threaded(self.make), ["POST"]),
            ("/api/masked/{id}/{heads}/remove", threaded(self.remove), ["POST"]),
        ]

    def told(self, request: Request) -> Response:
        """Answer with the kinds there are, the copies that were made, and how far one in the making is."""
        return self._answer(*self._asked(request))

    def make(self, request: Request) -> Response:
        """Have a copy made, with the film's sound if ``sound`` is 1, and answer as `told` does."""
        person, recording = self._asked(request)
        self._makings.start(person, recording.id, _heads(request), request.query_params.get("sound") == "1")
        return self._answer(person, recording)

    def stop(self, request: Request) -> Response:
        """Break off the copy in the making, and answer as `told` does."""
        person, recording = self._asked(request)
        self._makings.stop(recording.id)
        return self._answer(person, recording)

    def remove(self, request: Request) -> Response:
        """Remove a copy, and answer as `told` does."""
        person, recording = self._asked(request)
        drop_copy(self._home, person, recording.id, _heads(request))
        return self._answer(person, recording)

    def film(self, request: Request) -> Response:
        """Answer with a copy, or the stretch of its bytes that the request's ``Range`` asks for."""
        person, recording = self._asked(request)
        path, name = masked_file(self._home, person, recording.id, _heads(request))
        self._trail.took_out(person, recording, IN_THE_TRAIL)
        return FileResponse(path, media_type="video/mp4", filename=name, headers=_NOT_KEPT)

    def _asked(self, request: Request) -> tuple[Person, Recording]:
        person = self._person(request)
        return person, recordings.find(self._home, person, request.path_params["id"], Deed.MASK)

    def _answer(self, person: Person, recording: Recording) -> Response:
        making = self._makings.known(recording.id)
        told: dict[str, Any] = {
            "kinds": [{"heads": str(heads), "words": words} for heads, words in KINDS.items()],
            "has_sound": recording.has_sound,
            "copies": masked(self._home, person, recording.id),
            "making": None if making is None else asdict(making),
            "stays": STAYS,
        }
        return JSONResponse(told, headers=ASK_AGAIN)


def _heads(request: Request) -> Heads:
    asked = request.path_params["heads"]
    try:
        return Heads(asked)
    except ValueError:
        raise NotFound.among("masked copy", asked, [str(heads) for heads in Heads]) from None
