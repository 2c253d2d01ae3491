"""Our components: each is a plain module in `assets`, drawn in its own shadow of the page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

import streamlit as st

from ui import assets


@lru_cache(maxsize=16)
def _declared(name: str, html: str, styles: tuple[str, ...]) -> Callable[..., Any]:
    return st.components.v2.component(
        f"runthrough.{name}", html=html, css=assets.style(*styles), js=assets.loader(name)
    )


def board(data: Mapping[str, Any], on_person: Callable[[], None]) -> None:
    """Show the board of the Review page.

    Parameters
    ----------
    data
        What `review.report.attempt.board` gives, with what `ui.deed_routes.whose_board` does. The board asks for itself
        anew by a route of ours.
    on_person
        Called when somebody else is to be worked as.
    """
    html = '<div class="board" data-board data-theme="light" tabindex="-1"></div>'
    _declared(
        "board",
        html,
        ("tokens", "board", "film", "timeline", "sheet", "outcome", "remarks", "captions", "consent", "share"),
    )(
        key="board",
        data=dict(data),
        default={"person": None},
        on_person_change=on_person,
    )


def shelf(data: Mapping[str, Any], on_wish: Callable[[], None]) -> None:
    """Show the Recordings page.

    Parameters
    ----------
    data
        Keys ``rows``, ``more`` and ``learners`` (what `review.report.recordings.listed` gives, each row with its
        ``check`` as `review.report.capture_check.capture_checks` gives it), ``sheets`` and ``sheet`` (checklists to
        choose from, and the one chosen first), ``whose`` (code of the learner whose recordings are shown, or empty),
        ``bare`` (what `review.report.consents.taken_back` gives), ``people``, ``as`` (code of the acting person),
        ``check`` (recording whose check is to be open).
    on_wish
        Called when something is wished for; it lies in the session's state under ``shelf``, as ``{"deed", "id"}``.
    """
    _page("shelf", "shelf", ("uploader", "camera", "consent", "share", "masked"), data, wish=on_wish)


def guide(data: Mapping[str, Any], on_sheet: Callable[[], None]) -> None:
    """Show the filming guide.

    Parameters
    ----------
    data
        What `review.report.filming.filming_guide` gives, with ``sheets`` (checklists to choose from) and ``drawings``
        (SVG by the key of a shot).
    on_sheet
        Called when another checklist is chosen; its id lies in the session's state under ``guide``, as ``sheet``.
    """
    _page("guide", "guide-page", ("guide",), data, sheet=on_sheet)


def sheets(data: Mapping[str, Any], on_person: Callable[[], None]) -> None:
    """Show the page Checklists.

    Parameters
    ----------
    data
        Keys ``people`` and ``as`` (code of the acting person).
    on_person
        Called when somebody else is to be worked as; the code lies in the session's state under ``sheets``.
    """
    _page("sheets", "sheets", ("sheets",), data, person=on_person)


def compare(data: Mapping[str, Any], on_wish: Callable[[], None]) -> None:
    """Show the Compare page.

    Parameters
    ----------
    data
        What `review.report.compare.compare` gives, with ``people`` and ``notice``.
    on_wish
        Called when other attempts or another person are chosen; it lies in the session's state under ``compare``, as
        ``{"deed", ...}``.
    """
    _page("compare", "raters-page", ("raters",), data, wish=on_wish)


def progress(data: Mapping[str, Any], on_wish: Callable[[], None]) -> None:
    """Show the Progress page.

    Parameters
    ----------
    data
        What `review.report.progress.progress` gives, with ``people`` and ``notice``.
    on_wish
        As that of `compare`, under ``progress``.
    """
    _page("progress", "raters-page", ("raters",), data, wish=on_wish)


def classes(data: Mapping[str, Any], on_person: Callable[[], None]) -> None:
    """Show the Class page.

    Parameters
    ----------
    data
        Keys ``people``, ``as`` (code of the acting person), ``allowed`` (whether that person may see the class) and
        ``notice``.
    on_person
        As that of `sheets`, under ``classes``.
    """
    _page("classes", "raters-page class-page", ("raters", "classes"), data, person=on_person)


def privacy(data: Mapping[str, Any], on_person: Callable[[], None]) -> None:
    """Show the page Privacy.

    Parameters
    ----------
    data
        Keys ``people``, ``as`` (code of the acting person) and ``notice``.
    on_person
        As that of `sheets`, under ``privacy``.
    """
    _page("privacy", "raters-page", ("raters", "consent", "privacy"), data, person=on_person)


def _page(
    name: str, look: str, styles: tuple[str, ...], data: Mapping[str, Any], **changed: Callable[[], None]
) -> None:
    """Draw a component of this name; `changed` names the values that come back from it, and whom to tell."""
    html = f'<div class="{look}" data-{name} data-theme="light"></div>'
    told = {f"on_{value}_change": tell for value, tell in changed.items()}
    _declared(name, html, ("tokens", "shelf", *styles))(
        key=name, data=dict(data), default=dict.fromkeys(changed), **told
    )
