"""What the server answers beside the pages: films, times, curves, stills, uploads, scripts and styles."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import Any, Final

from anyio import CapacityLimiter
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from review.access import Deed
from review.actions.belonging import no_room_for
from review.actions.copies import loss
from review.domain.errors import EntryRefused, InputError, NotAllowed, NotFound, RunthroughError
from review.domain.model import Interval, Side
from review.measures import measure
from review.pipeline.stills import DIRECTLY, Look
from review.report import attempt, recordings
from review.report.chapters import chapters
from review.report.entries import preview
from review.report.film_words import film_words
from review.report.landmarks import construction_bytes, landmark_bytes
from review.report.people import people_seen
from review.report.proposed import proposed
from review.report.tracks import trace_bytes, trace_of
from review.store.home import Home
from review.store.media import load_times
from review.store.room import FULL, grown, no_room
from review.store.vault import bucket_of, is_kept
from ui import assets
from ui.account_page import AccountPage
from ui.acting import AT_THE_DOOR, acting, note_refusal, who_signed_in
from ui.answering import ASK_AGAIN, GONE, QUICK, Answers, Handler, said_in, threaded
from ui.arrivals import Arrivals, Wishes, digest_of
from ui.boards import PutTogether
from ui.bucket_films import from_bucket
from ui.caption_routes import Captions
from ui.class_routes import Classes
from ui.course_page import CoursePage
from ui.deed_routes import Deeds
from ui.exports import Exports
from ui.masked_routes import Masked
from ui.privacy_routes import Privacy
from ui.school_sign_in import SchoolSignIn
from ui.share_routes import Shares
from ui.sheet_routes import Sheets
from ui.sign_in import SignIn
from ui.viewfinder import Viewfinder

FOREVER: Final = {"Cache-Control": "private, max-age=31536000, immutable"}
NOT_KEPT: Final = {"Cache-Control": "no-store"}
"""For films: a browser that keeps none shows none after the consent was taken back."""

STILL_HEIGHT_PX: Final = 120
STILLS: Final = 6
"""How many pictures are asked for at once; those of one film are then made together."""

_TEXT_TYPES: Final = {".mp4": "video/mp4", ".m4v": "video/mp4", ".mov": "video/quicktime", ".webm": "video/webm"}


def routes(
    home: Home, look: Look = DIRECTLY, boards: PutTogether | None = None, camera: Viewfinder | None = None
) -> list[Route]:
    """Return the routes that serve one home.

    `look` makes the pictures of films, `boards` boards, if not here, `camera` looks at the pictures of an open camera.
    """
    films, uploads, files = _Films(home, look), _Uploads(home), Exports(home)
    quick, stills = CapacityLimiter(QUICK), CapacityLimiter(STILLS)
    table: list[tuple[str, Callable[[Request], Any], list[str]]] = [
        ("/api/media/{id}", threaded(films.media, quick), ["GET"]),
        ("/api/times/{id}", threaded(films.times), ["GET"]),
        ("/api/trace/{id}/{measure}", threaded(films.trace), ["GET"]),
        ("/api/landmarks/{id}", threaded(films.landmarks), ["GET"]),
        ("/api/chapters/{id}.vtt", threaded(films.chapters, quick), ["GET"]),
        ("/api/people/{id}", threaded(films.people), ["GET"]),
        ("/api/entry/{id}", threaded(films.entry), ["GET"]),
        ("/api/film/{id}", threaded(films.film, quick), ["GET"]),
        ("/api/proposals/{id}", threaded(films.proposals), ["GET"]),
        ("/api/version/{id}", threaded(films.version, quick), ["GET"]),
        ("/api/still/{id}", threaded(films.still, stills), ["GET"]),
        ("/api/upload/{uid}", uploads.take, ["PUT"]),
        ("/api/upload/{uid}", threaded(uploads.tell), ["GET"]),
        ("/api/upload/{uid}/room", threaded(uploads.room), ["GET"]),
        ("/api/upload/{uid}/finish", uploads.finish, ["POST"]),
        ("/api/framing", (camera or Viewfinder()).check, ["POST"]),
        ("/api/exports", threaded(files.kinds), ["GET"]),
        ("/api/export/{id}/{kind}", threaded(files.file), ["GET"]),
        ("/api/import/{id}", files.take, ["POST"]),
        ("/assets/{version}/{name}", threaded(asset), ["GET"]),
        *Deeds(home, boards).table(),
        *Captions(home).table(),
        *Sheets(home).table(),
        *Classes(home).table(),
        *Privacy(home).table(),
        *Masked(home).table(),
        *Shares(home).table(),
        *SignIn(home).table(),
        *SchoolSignIn(home).table(),
        *AccountPage(home).table(),
        *CoursePage(home).table(),
    ]
    return [Route(path, _answered(home, handler), methods=methods) for path, handler, methods in table]


def _answered(home: Home, handler: Handler) -> Handler:
    """Turn the errors we raise on purpose into one JSON sentence with a fitting status; note what was refused."""

    async def answer(request: Request) -> Response:
        try:
            return await handler(request)
        except ClientDisconnect:
            return Response(status_code=GONE)
        except RunthroughError as error:
            person = AT_THE_DOOR.get()
            if isinstance(error, NotAllowed) and person is not None:
                told = request.path_params.get("id")
                await run_in_threadpool(note_refusal, home, person, f"{request.method} {request.url.path}", told)
            return fault(_status(error), str(error))

    return answer


def _status(error: RunthroughError) -> int:
    kinds = ((NotFound, 404), (NotAllowed, 403), (InputError, 422))
    return next((status for kind, status in kinds if isinstance(error, kind)), 500)


def fault(status: int, message: str, **more: Any) -> JSONResponse:
    """Return an error as one sentence in JSON."""
    return JSONResponse({"message": message, **more}, status, headers=ASK_AGAIN)


class Stretch(FileResponse):
    """A film, or the bytes of it that are asked for, sent in pieces as large as players ask for."""

    chunk_size = 256 * 1024


class _Films(Answers):
    """What is read of recordings."""

    def __init__(self, home: Home, look: Look) -> None:
        super().__init__(home)
        self._look = look

    def media(self, request: Request) -> Response:
        """Answer with the film, or the stretch of its bytes that the request's ``Range`` asks for."""
        person = self._person(request)
        recording = recordings.find(self._database, person, request.path_params["id"], Deed.WATCH)
        path = self._home.root / recording.playback
        size = is_kept(self._home, recording.playback)
        if size is None:
            raise NotFound(loss(self._home, recording))
        self._trail.saw(person, recording, Deed.WATCH)
        media_type = _TEXT_TYPES.get(path.suffix.lower(), "application/octet-stream")
        bucket = bucket_of(self._home)
        if bucket is not None and not path.is_file():
            return from_bucket(request, bucket, recording.playback, size, media_type, NOT_KEPT)
        return Stretch(path, media_type=media_type, headers=NOT_KEPT)

    def times(self, request: Request) -> Response:
        """Answer with the presentation times of all frames: float64, little-endian, seconds."""
        recording = recordings.find(self._database, self._person(request), request.path_params["id"], Deed.WATCH)
        times = load_times(self._home, recording.sha256)
        return Response(times.astype("<f8").tobytes(), media_type="application/octet-stream", headers=ASK_AGAIN)

    def trace(self, request: Request) -> Response:
        """Answer with a measure's curve over the whole film, packed as `trace_bytes` says."""
        person = self._person(request)
        recording = recordings.find(self._database, person, request.path_params["id"])
        of = measure(request.path_params["measure"])
        trace = trace_of(self._home, person, recording, of.name)
        if trace is None:
            raise NotFound(f"{recording.name} has no curve yet: it was not analysed. Start that first.")
        return Response(trace_bytes(of, trace), media_type="application/octet-stream", headers=ASK_AGAIN)

    def landmarks(self, request: Request) -> Response:
        """Answer with the landmarks of a stretch, or with what the measures of a ``step`` rest on; see `packed`."""
        person = self._person(request)
        recording = recordings.find(self._database, person, request.path_params["id"])
        seconds = Interval(_number(request, "from", 0.0), _number(request, "to", 0.0))
        step = request.query_params.get("step")
        if step is None:
            body = landmark_bytes(self._home, person, recording, seconds)
        else:
            body = construction_bytes(self._home, person, recording, seconds, step, _side(request))
        return Response(body, media_type="application/octet-stream", headers=ASK_AGAIN)

    def chapters(self, request: Request) -> Response:
        """Answer with the person's own marks as WebVTT chapters."""
        person = self._person(request)
        recording = recordings.find(self._database, person, request.path_params["id"])
        return Response(chapters(self._home, person, recording), media_type="text/vtt", headers=ASK_AGAIN)

    def people(self, request: Request) -> Response:
        """Answer with everybody whom the first look saw, as `people_seen` says."""
        person = self._person(request)
        recording = recordings.find(self._database, person, request.path_params["id"])
        return JSONResponse(people_seen(self._home, person, recording), headers=ASK_AGAIN)

    def entry(self, request: Request) -> Response:
        """Answer with what a text would be read as on a step, as `preview` says; nothing is stored."""
        asked = request.query_params
        place = (request.path_params["id"], asked.get("step", ""), _side(request))
        return JSONResponse(
            preview(self._home, self._person(request), *place, asked.get("text", "")), headers=ASK_AGAIN
        )

    def film(self, request: Request) -> Response:
        """Answer with what is wrong with a step's seconds and with the film, as `film_words` says."""
        step = request.query_params.get("step", "")
        told = film_words(self._home, self._person(request), request.path_params["id"], step, _side(request))
        return JSONResponse(told, headers=ASK_AGAIN)

    def proposals(self, request: Request) -> Response:
        """Answer with where steps are proposed to the person, as `proposed` says."""
        told = proposed(self._home, self._person(request), request.path_params["id"])
        return JSONResponse(told, headers=ASK_AGAIN)

    def version(self, request: Request) -> Response:
        """Answer with the short text that changes whenever anybody says something of a recording."""
        told = attempt.version(self._database, request.path_params["id"], self._person(request))
        return JSONResponse({"version": told}, headers=ASK_AGAIN)

    def still(self, request: Request) -> Response:
        """Answer with a frame as a JPEG picture; the browser may keep it until the film turns out mirrored."""
        time_s = _number(request, "t", 0.0)
        height = round(_number(request, "h", STILL_HEIGHT_PX))
        person = self._person(request)
        recording = recordings.find(self._database, person, request.path_params["id"], Deed.WATCH)
        named = {"ETag": f'"{recording.id}-{time_s}-{height}-{recording.mirrored}"', **ASK_AGAIN}
        if request.headers.get("if-none-match") == named["ETag"]:
            return Response(status_code=304, headers=named)
        picture = recordings.still(self._home, recording, time_s, height, self._look)
        return Response(picture, media_type="image/jpeg", headers=named)


def _side(request: Request) -> Side | None:
    asked = request.query_params.get("side")
    return "left" if asked == "left" else "right" if asked == "right" else None


def _number(request: Request, name: str, default: float) -> float:
    text = request.query_params.get(name, str(default))
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if number != number or abs(number) > 1e13:
        raise EntryRefused(f"{name}={text[:20]} came; expected a number.")
    return number


class _Uploads(Answers):
    """What is written: films in slices."""

    def __init__(self, home: Home) -> None:
        super().__init__(home)
        self._arrivals = Arrivals(home)
        self._arrivals.go_on()

    def _expect_own(self, request: Request, begins: bool = False) -> None:
        """Let only those go on with an upload who began it."""
        person = who_signed_in(self._home)
        if person is not None:
            self._arrivals.expect_own(request.path_params["uid"], person, begins)

    def _no_room(self, request: Request, more: int, whole: int) -> str | None:
        """Say why the home has no room for so many bytes more, or the course for so many of a film; None if both do."""
        person = who_signed_in(self._home)
        course = request.query_params.get("course")
        short = None if person is None else no_room_for(self._home, person, course, whole)
        return short or no_room(self._home, more)

    async def take(self, request: Request) -> Response:
        """Append a slice at its offset; 409 and the true offset if it does not belong there."""
        uid, offset = request.path_params["uid"], round(_number(request, "offset", 0))
        await run_in_threadpool(self._expect_own, request, True)
        digest = digest_of(request.headers.get("content-digest"))
        size = request.headers.get("content-length", "0")
        more = int(size) if size.isdecimal() else 0
        reason = await run_in_threadpool(self._no_room, request, more, offset + more)
        if reason:
            return fault(507, reason)
        try:
            taken = await self._arrivals.take(uid, offset, request.stream(), digest)
        except OSError as error:
            if error.errno not in FULL:
                raise
            return fault(507, f"The disk with {self._home.root} is full. What was sent is kept: make room and go on.")
        except ClientDisconnect:
            return Response(status_code=GONE)
        here = self._arrivals.offset(uid)
        grown(self._home, max(0, here - offset))
        if taken is None:
            return fault(409, f"{here} bytes are here; the next slice must begin there.", offset=here)
        return JSONResponse({"offset": here})

    def room(self, request: Request) -> Response:
        """Answer whether a film of ``size`` bytes can come, for a ``course`` if one is named: 507 and why if not."""
        self._expect_own(request)
        whole = round(_number(request, "size", 0))
        here = self._arrivals.offset(request.path_params["uid"])
        reason = self._no_room(request, max(0, whole - here), whole)
        return fault(507, reason) if reason else JSONResponse({"room": True}, headers=ASK_AGAIN)

    def tell(self, request: Request) -> Response:
        """Answer a HEAD with how much is here, and a GET with how far the adding is."""
        self._expect_own(request)
        uid = request.path_params["uid"]
        here = {"X-Offset": str(self._arrivals.offset(uid)), **ASK_AGAIN}
        if request.method == "HEAD":
            return Response(headers=here)
        return JSONResponse(asdict(self._arrivals.adding(uid)), headers=here)

    async def finish(self, request: Request) -> Response:
        """Start adding the film; its progress is then told by GET."""
        said = await said_in(request, "choose the film again")
        await run_in_threadpool(self._expect_own, request)
        person = await run_in_threadpool(acting, self._home, said.get("as"))
        started = self._arrivals.finish(request.path_params["uid"], person, Wishes.of(said))
        return JSONResponse(asdict(started), 202)


def asset(request: Request) -> Response:
    """Answer with one of our scripts or styles; only the current version may be kept by the browser."""
    name = request.path_params["name"]
    path = assets.FOLDER / name
    if path.parent != assets.FOLDER or path.suffix not in assets.MEDIA_TYPES or not path.is_file():
        return fault(404, f"There is no script or style called {name[:60]!r}. Reload the page.")
    current = request.path_params["version"] == assets.version()
    headers = FOREVER if current else ASK_AGAIN
    return FileResponse(path, media_type=assets.MEDIA_TYPES[path.suffix], headers=headers)
