"""The Recordings page: attempts as rows, and the way in for new films."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

import streamlit as st

from review.actions.recordings import DEFAULT_CHECKLIST, start_analysis
from review.domain.errors import RunthroughError
from review.report.recordings import rows
from review.store.repository import reading
from ui import components, session
from ui.acting import everybody

_BETWEEN_LOOKS_S: Final = 1.5
_OPEN: Final = "recording to open"
_FAULT: Final = "fault of the list"


def show(open_recording: Callable[[str], None]) -> None:
    """Show all recordings, newest first, and the form that adds one."""
    wanted = st.session_state.pop(_OPEN, None)
    if wanted:
        open_recording(wanted)
    _head()
    known = rows(session.home(), session.me())
    _adding(first=not known)
    if fault := st.session_state.pop(_FAULT, None):
        st.error(fault)
    _list(open_recording)


def _head() -> None:
    left, right = st.columns([4, 1], vertical_alignment="bottom")
    left.title("Recordings", anchor=False)
    people = {person.code: f"{person.code}, {person.role}" for person in everybody(session.home())}
    code = session.me().code
    chosen = right.selectbox(
        "Working as", list(people), index=list(people).index(code), format_func=lambda one: people[one], key="who"
    )
    if chosen != code:
        session.work_as(chosen)
        st.rerun()


def _adding(first: bool) -> None:
    with reading(session.home()) as repo:
        sheets = [{"id": sheet.id, "title": sheet.title} for sheet in repo.checklists()]
    data = {"sheets": sheets, "sheet": DEFAULT_CHECKLIST, "as": session.me().code, "first": first}
    components.uploader(data, _added)


def _added() -> None:
    """Run the page again; the list then holds the new recording."""


def _list(open_recording: Callable[[str], None]) -> None:
    def draw() -> None:
        found = rows(session.home(), session.me())
        components.shelf({"rows": found, "as": session.me().code}, _take_wish)
        if st.session_state.get(_OPEN):
            st.rerun()

    working = any(row["analysis"]["state"] in ("waiting", "running") for row in rows(session.home(), session.me()))
    st.fragment(draw, run_every=_BETWEEN_LOOKS_S if working else None)()


def _take_wish() -> None:
    """Open a recording, or have it analysed."""
    wish: Any = st.session_state["shelf"].get("wish")
    if not isinstance(wish, Mapping):
        return
    try:
        if wish.get("deed") == "open":
            st.session_state[_OPEN] = str(wish.get("id"))
        elif wish.get("deed") == "analyse":
            start_analysis(session.home(), session.me(), str(wish.get("id")))
    except RunthroughError as error:
        st.session_state[_FAULT] = str(error)
