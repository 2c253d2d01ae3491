"""One browser with the Review page open, without a browser: the film, the page's routes, its connection, its marks."""

from __future__ import annotations

import asyncio
import json
import random
import time
from collections import Counter, defaultdict
from collections.abc import AsyncIterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any, Final
from uuid import uuid4

import aiohttp

from tests.benchmarks.load_home import Seat
from tests.benchmarks.load_stream import FaultOnPage, Stream

PATIENCE_S: Final = 10.0
LOOK_EVERY_S: Final = 0.8
"""As often as the page asks whether others said something."""

BOARD_PATIENCE_S: Final = 20.0
"""So long the page waits for a board."""

PICTURE_PATIENCE_S: Final = 60.0
"""So long a picture is waited for; a browser waits for minutes, and shows it when it is there."""

SOON_S: Final = 0.12
"""So long after something was stored the page asks for the board that has it."""

AGAIN_S: Final = 6.0
"""After so long it asks again."""

THINK_S: Final = (1.0, 3.0)
"""Between two stretches of the film."""

STRETCH_BYTES: Final = 256 * 1024
AT_ONCE: Final = 6
"""Connections a browser keeps to one server."""

ROWS_SEEN: Final = 5
MOST_ROUNDS: Final = 20_000


@dataclass(slots=True)
class Tally:
    """What all browsers met with.

    Attributes
    ----------
    stored
        Marks the server acknowledged, as the person's code, recording, mark, start and end.
    mark_ms
        How long each took: from when it was sent until the server answered that it is stored.
    shown_ms
        How long until a board came that has it.
    errors
        How often what went wrong.
    answers_ms
        How long the answers of each kind of address took, whole.
    played_bytes
        Bytes of films.
    boards
        How often a board came.
    """

    stored: list[tuple[str, str, str, float, float]] = field(default_factory=list)
    mark_ms: list[float] = field(default_factory=list)
    shown_ms: list[float] = field(default_factory=list)
    errors: Counter[str] = field(default_factory=Counter)
    answers_ms: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    played_bytes: int = 0
    boards: int = 0


async def rounds(until: float, shortest_s: float, longest_s: float) -> AsyncIterator[int]:
    """Yield after each of many random pauses, until a moment of the monotonic clock."""
    for number in range(MOST_ROUNDS):
        pause_s = random.uniform(shortest_s, longest_s)
        if time.monotonic() + pause_s >= until:
            return
        await asyncio.sleep(pause_s)
        yield number


class Browser:
    """A browser of one person.

    Parameters
    ----------
    address
        Of the server.
    seat
        Who sits there.
    until
        When it ends, by the monotonic clock.
    tally
        Takes what it meets with.
    every_s
        Seconds from a mark to the next, about.
    """

    def __init__(self, address: str, seat: Seat, until: float, tally: Tally, every_s: float) -> None:
        self._every_s = every_s
        self._address, self._seat, self._until, self._tally = address, seat, until, tally
        self._client, self._seq = str(uuid4()), 0
        self._wanted = self._asking = False
        self._waiting: dict[int, dict[str, Any]] = {}
        self._unseen: dict[int, float] = {}
        self._marks: dict[tuple[str, str | None], str] = {}
        self._seen: set[str] = set()
        self._board: dict[str, Any] = {}
        self._here, self._left = asyncio.Event(), False

    async def run(self, after_s: float) -> None:
        """Open the page after some seconds and use it until the end."""
        await asyncio.sleep(after_s)
        connector = aiohttp.TCPConnector(limit=AT_ONCE)
        cookie = {"Cookie": f"runthrough-login={self._seat.secret}"}
        patience = aiohttp.ClientTimeout(total=PATIENCE_S)
        async with aiohttp.ClientSession(connector=connector, headers=cookie, timeout=patience) as self._session:
            self._stream = Stream(self._session, self._address, self._seat.recording.id, self._seat.code)
            await self._get(f"/review?recording={self._seat.recording.id}&as={self._seat.code}", "/review")
            hearing = asyncio.create_task(self._hear())
            if await self._arrived(self._here, "no board"):
                await self._open_film()
                await asyncio.gather(self._play(), self._look(), self._mark())
            self._left = True
            await self._stream.close()
            hearing.cancel()
            with suppress(asyncio.CancelledError):
                await hearing

    async def _arrived(self, event: asyncio.Event, otherwise: str) -> bool:
        try:
            await asyncio.wait_for(event.wait(), PATIENCE_S)
        except TimeoutError:
            self._tally.errors[f"{otherwise} within {PATIENCE_S:.0f} s"] += 1
            return False
        return True

    async def _hear(self) -> None:
        """Take boards as they come; connect again when the connection is lost."""
        async for _ in rounds(self._until + PATIENCE_S, 0.0, 0.5):
            try:
                async for board in self._stream.boards():
                    await self._take(board)
            except (aiohttp.ClientError, OSError, TimeoutError, FaultOnPage) as error:
                self._tally.errors[f"page: {type(error).__name__} {error}"[:80]] += 1
            if self._left:
                return
            self._tally.errors["page: connection lost"] += 1

    async def _take(self, board: dict[str, Any]) -> None:
        self._board = board
        self._tally.boards += 1
        if board["client"] == self._client:
            for seq in [seq for seq in self._unseen if seq <= board["ack"]]:
                self._tally.shown_ms.append(1000 * (time.monotonic() - self._unseen.pop(seq)))
        self._here.set()

    async def _deliver(self) -> None:
        """Send all that is not stored, and ask for the board that has it soon after it was."""
        told = {"client": self._client, "ops": list(self._waiting.values())}
        film, code = self._seat.recording.id, self._seat.code
        began = time.monotonic()
        answer = await self._get(f"/api/deeds/{film}?as={code}", "/api/deeds", body=json.dumps(told).encode())
        if answer:
            self._acknowledge(json.loads(answer), began)
            await asyncio.sleep(SOON_S)
            await self._ask()

    def _acknowledge(self, answer: Mapping[str, Any], began: float) -> None:
        now, faults = time.monotonic(), {fault["seq"]: fault["message"] for fault in answer["faults"]}
        for seq in [seq for seq in self._waiting if seq <= answer["ack"]]:
            done = self._waiting.pop(seq)
            if seq in faults:
                self._tally.errors[f"mark: {faults[seq]}"[:80]] += 1
                continue
            self._tally.mark_ms.append(1000 * (now - began))
            self._unseen[seq] = began
            place = (self._seat.code, self._seat.recording.id)
            self._tally.stored.append((*place, done["mark_id"], done["onset_s"], done["offset_s"]))

    async def _ask(self) -> None:
        """Ask for the board as it is now; what is asked for while one is on its way is one more."""
        self._wanted = True
        while self._wanted and not self._asking:
            self._wanted, self._asking = False, True
            film, code = self._seat.recording.id, self._seat.code
            where = f"/api/board/{film}?as={code}&client={self._client}"
            told = await self._get(where, "/api/board", patience_s=BOARD_PATIENCE_S)
            self._asking = False
            if told:
                await self._take(json.loads(told))

    async def _mark(self) -> None:
        places = [(row["step"], row["side"]) for row in self._rows()]
        async for number in rounds(self._until, 0.8 * self._every_s, 1.2 * self._every_s):
            step, side = places[number % len(places)]
            await self._store(step, side)
            if not self._waiting:
                await self._after(step, side)

    async def _store(self, step: str, side: str | None) -> None:
        """Mark a step, or move its mark, each time to other seconds, and wait until that is acknowledged."""
        self._seq += 1
        length_s = 0.2 + self._seq / 1000
        onset_s = round(random.uniform(0, self._seat.recording.duration_s - length_s), 3)
        times = {"onset_s": onset_s, "offset_s": round(onset_s + length_s, 3)}
        mark_id = self._marks.setdefault((step, side), str(uuid4()))
        self._waiting[self._seq] = {
            "op": "mark", "mark_id": mark_id, "step": step, "side": side, **times, "seq": self._seq
        }  # fmt: skip
        await self._deliver()

    async def _after(self, step: str, side: str | None) -> None:
        """Fetch what the page fetches anew once one's own marks are others."""
        asked = f"as={self._seat.code}"
        await self._get(f"/api/film/{self._seat.recording.id}?step={step}&side={side or ''}&{asked}", "/api/film")
        await self._get(f"/api/chapters/{self._seat.recording.id}.vtt?{asked}&state={self._seq}", "/api/chapters")
        await self._stills([row for row in self._rows() if (row["step"], row["side"]) == (step, side)])

    def _rows(self) -> list[dict[str, Any]]:
        return [row for section in self._board["sections"] for row in section["rows"]]

    async def _stills(self, rows: list[dict[str, Any]]) -> None:
        asked = [f"/api/still/{self._seat.recording.id}?t={at:.3f}&h=120" for row in rows for at in row["stills"]]
        fresh = [one for one in asked if one not in self._seen]
        self._seen.update(fresh)
        waiting = (self._get(one, "/api/still", patience_s=PICTURE_PATIENCE_S) for one in fresh)
        await asyncio.gather(*waiting)

    async def _open_film(self) -> None:
        code, film = self._seat.code, self._seat.recording.id
        ways = {"times": "", "proposals": f"?as={code}", "captions": f".vtt?as={code}", "comments": f".vtt?as={code}"}
        await asyncio.gather(*(self._get(f"/api/{way}/{film}{rest}", f"/api/{way}") for way, rest in ways.items()))
        await self._stills(self._rows()[:ROWS_SEEN])

    async def _play(self) -> None:
        """Fetch the film stretch by stretch, from the start again when it is over."""
        first, size = 0, self._seat.recording.size_bytes
        async for _ in rounds(self._until, *THINK_S):
            asked = {"Range": f"bytes={first}-{min(first + STRETCH_BYTES, size) - 1}"}
            self._tally.played_bytes += len(await self._get(self._board["src"], "/api/media", asked))
            first = (first + STRETCH_BYTES) * (first + STRETCH_BYTES < size)

    async def _look(self) -> None:
        """Ask whether others said something, and for the board if they did."""
        film, code = self._seat.recording.id, self._seat.code
        async for _ in rounds(self._until, LOOK_EVERY_S, LOOK_EVERY_S):
            told = await self._get(f"/api/version/{film}?as={code}", "/api/version")
            known = str(self._board["version"]).encode()
            idle = not self._waiting and not self._unseen
            late = any(time.monotonic() - began > AGAIN_S for began in self._unseen.values())
            if late or (told and known not in told and idle):
                await self._ask()

    async def _get(
        self,
        path: str,
        kind: str,
        headers: Mapping[str, str] | None = None,
        body: bytes | None = None,
        patience_s: float = PATIENCE_S,
    ) -> bytes:
        """Fetch an address whole, or send something there; nothing where that failed, which is counted."""
        began, way = time.monotonic(), "GET" if body is None else "POST"
        asked = self._session.request(
            way,
            self._address + path,
            headers=headers,
            data=body,
            allow_redirects=False,
            timeout=aiohttp.ClientTimeout(total=patience_s),
        )
        try:
            async with asked as answer:
                body = await answer.read()
        except (aiohttp.ClientError, OSError, TimeoutError) as error:
            self._tally.errors[f"{kind}: {type(error).__name__}"] += 1
            return b""
        self._tally.answers_ms[kind].append(1000 * (time.monotonic() - began))
        if 200 <= answer.status < 300:
            return body
        self._tally.errors[f"{kind}: {answer.status}"] += 1
        return b""
