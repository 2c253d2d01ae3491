"""The connection that a page keeps to its server, in the messages of the pages' framework: boards come.

The framework runs the page's script when the page is opened, and sends the first board; later ones the page fetches by
a route of its own.
"""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from typing import Any, Final
from urllib.parse import urlencode

import aiohttp
from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ClientState_pb2 import ClientState
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg

OWN_COMPONENT: Final = "runthrough.board"


class FaultOnPage(Exception):
    """The page's script ended with a fault, or the page shows one."""


class Stream:
    """One connection of the Review page.

    Parameters
    ----------
    browser
        Holds the cookie of the login.
    address
        Of the server.
    recording, code
        What is reviewed, and who does that.
    """

    def __init__(self, browser: aiohttp.ClientSession, address: str, recording: str, code: str) -> None:
        self._browser = browser
        self._address = address
        self._page = {"query_string": urlencode({"recording": recording, "as": code}), "page_name": "review"}
        self._socket: aiohttp.ClientWebSocketResponse | None = None

    async def boards(self) -> AsyncIterator[dict[str, Any]]:
        """Connect, ask for the page, and yield the board whenever it comes; ends with the connection.

        Raises
        ------
        FaultOnPage
            If the page says that something went wrong.
        """
        place = f"{self._address}/_stcore/stream"
        connecting = self._browser.ws_connect(
            place, protocols=("streamlit",), origin=self._address, max_msg_size=0, compress=15
        )
        async with connecting as self._socket:
            await self._send(ClientState(**self._page))
            async for message in self._socket:
                if message.type is aiohttp.WSMsgType.BINARY:
                    board = self._read(ForwardMsg.FromString(message.data))
                    if board is not None:
                        yield board

    def _read(self, message: ForwardMsg) -> dict[str, Any] | None:
        kind = message.WhichOneof("type")
        if kind == "script_finished" and message.script_finished == ForwardMsg.FINISHED_WITH_COMPILE_ERROR:
            raise FaultOnPage("the page's script could not be read")
        if kind == "delta" and message.delta.WhichOneof("type") == "new_element":
            return self._element(message)
        return None

    def _element(self, message: ForwardMsg) -> dict[str, Any] | None:
        element = message.delta.new_element
        if element.HasField("exception"):
            raise FaultOnPage(element.exception.type)
        if element.bidi_component.component_name != OWN_COMPONENT:
            return None
        board: dict[str, Any] = json.loads(element.bidi_component.json)
        return board

    async def _send(self, state: ClientState) -> None:
        if self._socket is not None and not self._socket.closed:
            await self._socket.send_bytes(BackMsg(rerun_script=state).SerializeToString())

    async def close(self) -> None:
        """Leave the page."""
        if self._socket is not None:
            await self._socket.close()
