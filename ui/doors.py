"""Every address that is answered where people sign in, and who may come to it. What is not named here is refused.

This is the first of two looks: each report and each deed looks again at the very recording or course it is about.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import Enum
from typing import Final

from review.access import Deed


class Way(Enum):
    """Who may come where no deed says it."""

    OPEN = "everybody, signed in or not"
    SIGNED_IN = "everybody who is signed in"


@dataclass(frozen=True, slots=True)
class Door:
    """An address, how it may be asked for, and who may come.

    Parameters
    ----------
    path
        The address; ``{name}`` stands for one part of it, ``{name:path}`` for the rest.
    methods
        How it may be asked for; `SOCKET` is a connection that stays.
    to
        The deed that one comes to do, or a way in that needs none.
    recording
        Which of the names stands for a recording that the deed is done to, if any.
    page
        Whether a person who is not signed in is led to the page for that.
    """

    path: str
    methods: frozenset[str]
    to: Deed | Way
    recording: str | None = None
    page: bool = False
    pattern: re.Pattern[str] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        parts = re.split(r"\{(\w+)(:path)?\}", self.path)
        text = "".join(
            re.escape(literal) + (f"(?P<{name}>{'.+' if rest else '[^/]+'})" if name else "")
            for literal, name, rest in zip(parts[::3], [*parts[1::3], ""], [*parts[2::3], ""], strict=True)
        )
        object.__setattr__(self, "pattern", re.compile(text))


SOCKET: Final = "SOCKET"
_READ: Final = frozenset({"GET", "HEAD"})
_PUT: Final = frozenset({"PUT"})
_POST: Final = frozenset({"POST"})
_BOTH: Final = _READ | _POST


def _of(path: str, deed: Deed, methods: frozenset[str] = _READ) -> Door:
    return Door(path, methods, deed, recording="id")


def _page(path: str, to: Deed | Way = Way.SIGNED_IN, methods: frozenset[str] = _READ) -> Door:
    return Door(path, methods, to, page=True)


def _open(path: str, methods: frozenset[str] = _READ) -> Door:
    return Door(path, methods, Way.OPEN)


def _known(path: str, methods: frozenset[str] = _READ) -> Door:
    return Door(path, methods, Way.SIGNED_IN)


FRAME: Final = (
    _open("/_stcore/health"),
    _known("/_stcore/host-config"),
    _known("/_stcore/stream", frozenset({SOCKET})),
    _open("/static/{rest:path}"),
    _open("/favicon.png"),
    _open("/favicon.ico"),
    _open("/index.css"),
)
"""What the pages' framework answers and the pages need; its other addresses stay shut."""

PAGES: Final = (
    _page("/"),
    _page("/recordings"),
    _page("/review"),
    _page("/compare"),
    _page("/progress"),
    _page("/class", Deed.SEE_CLASS),
    _page("/checklists"),
    _page("/filming"),
    _page("/privacy"),
)

ROUTES: Final = (
    _open("/assets/{version}/{name}"),
    _open("/sign-in", _BOTH),
    _open("/sign-in/school"),
    _open("/sign-in/school/begin"),
    _open("/invitation/{secret}", _BOTH),
    _known("/sign-out", _POST),
    _page("/account", methods=_BOTH),
    _page("/course", Deed.RUN_COURSE, _BOTH),
    _of("/api/media/{id}", Deed.WATCH),
    _of("/api/times/{id}", Deed.WATCH),
    _of("/api/still/{id}", Deed.WATCH),
    _of("/api/trace/{id}/{measure}", Deed.SEE),
    _of("/api/landmarks/{id}", Deed.SEE),
    _of("/api/chapters/{id}.vtt", Deed.SEE),
    _of("/api/people/{id}", Deed.SEE),
    _of("/api/entry/{id}", Deed.SEE),
    _of("/api/film/{id}", Deed.SEE),
    _of("/api/proposals/{id}", Deed.MARK),
    _of("/api/version/{id}", Deed.SEE),
    _of("/api/deeds/{id}", Deed.SEE, _POST),
    _of("/api/board/{id}", Deed.SEE),
    Door("/api/upload/{uid}", _READ | _PUT, Deed.ADD_RECORDING),
    Door("/api/upload/{uid}/room", _READ, Deed.ADD_RECORDING),
    Door("/api/upload/{uid}/finish", _POST, Deed.ADD_RECORDING),
    Door("/api/framing", _POST, Deed.ADD_RECORDING),
    _known("/api/exports"),
    _of("/api/export/{id}/{kind}", Deed.SEE),
    _of("/api/import/{id}", Deed.SEE, _POST),
    _of("/api/captions/{id}.vtt", Deed.SEE),
    _of("/api/comments/{id}.vtt", Deed.SEE),
    _of("/api/captions/{id}", Deed.SEE),
    _of("/api/captions/{id}/correct", Deed.CORRECT_CAPTIONS, _POST),
    _of("/api/captions/{id}/file", Deed.CORRECT_CAPTIONS, _POST),
    _known("/api/words"),
    _known("/api/sheets"),
    _known("/api/sheet/{id}"),
    _known("/api/sheet/{id}/file/{kind}"),
    _known("/api/sheet/{id}/paper"),
    Door("/api/paper/{recording}", _READ, Deed.SEE, recording="recording"),
    Door("/api/sheets/look", _POST, Deed.SAVE_CHECKLIST),
    Door("/api/sheets/store", _POST, Deed.SAVE_CHECKLIST),
    Door("/api/sheets/copy", _POST, Deed.SAVE_CHECKLIST),
    Door("/api/sheets/retire", _POST, Deed.RETIRE_CHECKLIST),
    Door("/api/class", _READ, Deed.SEE_CLASS),
    Door("/api/class/table/{name}", _READ, Deed.SEE_CLASS),
    Door("/api/class/assign", _POST, Deed.SEE_CLASS),
    Door("/api/class/rate", _POST, Deed.SEE_CLASS),
    Door("/api/class/expect", _POST, Deed.SEE_CLASS),
    _of("/api/consent/{id}", Deed.NOTE_CONSENT, _BOTH),
    _of("/api/consent/{id}/paper", Deed.NOTE_CONSENT),
    _of("/api/consent/{id}/withdraw", Deed.NOTE_CONSENT, _POST),
    _of("/api/erase/{id}", Deed.ERASE_RECORDING, _POST),
    _of("/api/looks/{id}", Deed.SEE_LOOKS),
    _known("/api/privacy"),
    _known("/api/mine"),
    Door("/api/retention", _POST, Deed.SET_RETENTION),
    _known("/api/receipt/{id}"),
    _known("/api/receipt/{id}/paper"),
    _of("/api/masked/{id}", Deed.MASK),
    _of("/api/masked/{id}/stop", Deed.MASK, _POST),
    _of("/api/masked/{id}/{heads}.mp4", Deed.MASK),
    _of("/api/masked/{id}/{heads}", Deed.MASK, _POST),
    _of("/api/masked/{id}/{heads}/remove", Deed.MASK, _POST),
    _of("/api/share/{id}", Deed.SHARE, _BOTH),
)
"""Our own routes, in the order of `ui.routes.routes`."""

DOORS: Final = (*FRAME, *PAGES, *ROUTES)


def door_to(path: str, method: str) -> tuple[Door, dict[str, str]] | None:
    r"""Return the door of an address and the names in it; None where there is none.

    An address with an empty part, a part of dots only, a backslash or a sign that does not print has no door, whatever
    would come of it once it is tidied.

    Examples
    --------
    >>> door_to("/api/media/a1b2c3", "GET")[1]
    {'id': 'a1b2c3'}
    >>> [door_to(path, "GET") for path in ("/api//media/a1", "/api/media/..", "/API/media/a1", "/api/media/a1\0")]
    [None, None, None, None]
    """
    parts = path.split("/")[1:]
    if "\\" in path or not path.isprintable() or any(part in ("", ".", "..") for part in parts[:-1]):
        return None
    if parts[-1:] in (["."], [".."]):
        return None
    for door in DOORS:
        found = door.pattern.fullmatch(path) if method in door.methods else None
        if found:
            return door, found.groupdict()
    return None


def own_page(wanted: str) -> str:
    """Return an address if it is that of a page of ours, else that of the first page.

    Examples
    --------
    >>> own_page("/review?recording=a1b2c3"), own_page("//elsewhere.example"), own_page("https://elsewhere.example")
    ('/review?recording=a1b2c3', '/', '/')
    """
    found = door_to(wanted.partition("?")[0], "GET") if wanted.startswith("/") and wanted.isprintable() else None
    return wanted if found is not None and found[0].page else "/"
