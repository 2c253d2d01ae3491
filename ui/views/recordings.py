"""The Recordings page: attempts as rows, and the way in for new films."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

import streamlit as st

from review.actions.recordings import start_analysis, stop_analysis
from review.domain.checklist import DEFAULT_CHECKLIST
from review.domain.errors import RunthroughError
from review.pipeline.jobs import UNFINISHED
from review.report.capture_check import capture_checks
from review.report.consents import noted, taken_back
from review.report.privacy import soon_erased
from review.report.recordings import listed
from review.report.sharing import own_courses, shared
from review.store.repository import reading
from ui import components, session
from ui.acting import everybody

_BETWEEN_LOOKS_S: Final = 1.5
"""How often a page looks whether a running analysis has come further."""

_CHECKING_S: Final = 0.4
"""How long a page waits for capture checks that nobody asked for before; the others come with the next look."""

_OPEN: Final = "recording to open"
_ANEW: Final = "page to run anew"
_FAULT: Final = "fault of the list"
_DEEDS: Final = {"analyse": start_analysis, "stop": stop_analysis}
_UNTOLD: Final = "untold"
_SHOWN: Final = "recordings shown"
_WHOSE: Final = "whose recordings"
_AT_ONCE: Final = 20
"""How many recordings are shown at first, and how many more each time."""


def show(open_recording: Callable[[str], None]) -> None:
    """Show all recordings, newest first, and the way in for films."""
    wanted = st.session_state.pop(_OPEN, None)
    if wanted:
        open_recording(wanted)
    if fault := st.session_state.pop(_FAULT, None):
        st.error(fault)
    fresh = [_data()]
    working = _unfinished(fresh[0])

    def draw() -> None:
        data = fresh.pop() if fresh else _data()
        components.shelf(data, _take_wish)
        ended = working and not _unfinished(data)
        if st.session_state.pop(_ANEW, False) or ended:
            st.rerun()

    st.fragment(draw, run_every=_BETWEEN_LOOKS_S if working else None)()


def _unfinished(data: Mapping[str, Any]) -> bool:
    """Tell whether the list will say more by itself: an analysis is running, or a film is still to be checked."""
    return any(row["analysis"]["state"] in UNFINISHED or row["check"] == _UNTOLD for row in data["rows"])


def _data() -> dict[str, Any]:
    home, person = session.home(), session.me()
    people = [{"code": one.code, "role": str(one.role)} for one in everybody(home)]
    with reading(home) as repo:
        sheets = [{"id": sheet.id, "title": sheet.title} for sheet in repo.sheets().offered()]
        told = listed(repo, person, st.session_state.get(_SHOWN, _AT_ONCE), st.session_state.get(_WHOSE))
        agreed, shares, soon = noted(repo, person), shared(repo, person), soon_erased(repo)
        bare, courses = taken_back(repo, person), own_courses(repo, person)
        checks = capture_checks(home, repo, person, _CHECKING_S, [row["id"] for row in told["rows"]])
    found = [
        {
            **row,
            "check": checks.get(row["id"], _UNTOLD),
            "soon": soon.get(row["id"], ""),
            **agreed.get(row["id"], {}),
            **shares.get(row["id"], {}),
        }
        for row in told["rows"]
    ]
    who = {"people": people, "as": person.code, "check": st.query_params.get("check")}
    whose = {"more": told["more"], "learners": told["learners"], "whose": st.session_state.get(_WHOSE, "")}
    first = _first_sheet([sheet["id"] for sheet in sheets])
    choices = {"sheets": sheets, "sheet": first, "courses": courses}
    return {"rows": found, "bare": bare, **choices, **who, **whose}


def _first_sheet(offered: Sequence[str]) -> str:
    """Return the sheet that is chosen first: the usual one, or the first that is offered where that is retired."""
    return DEFAULT_CHECKLIST if DEFAULT_CHECKLIST in offered or not offered else offered[0]


def _take_wish() -> None:
    """Do what was wished for: open a recording, have it analysed or not, show one that came, work as somebody else."""
    wish: Any = st.session_state["shelf"].get("wish")
    if not isinstance(wish, Mapping):
        return
    deed, asked = wish.get("deed"), str(wish.get("id"))
    st.session_state[_ANEW] = True
    if deed == "open":
        st.session_state[_OPEN] = asked
    elif deed == "work as":
        session.work_as(asked)
    elif deed == "show more":
        st.session_state[_SHOWN] = st.session_state.get(_SHOWN, _AT_ONCE) + _AT_ONCE
    elif deed == "show those of":
        st.session_state[_WHOSE], st.session_state[_SHOWN] = asked, _AT_ONCE
    elif deed in _DEEDS:
        try:
            _DEEDS[deed](session.home(), session.me(), asked)
        except RunthroughError as error:
            st.session_state[_FAULT] = str(error)
