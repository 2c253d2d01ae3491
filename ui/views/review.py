"""The Review page: one attempt with its film, timeline and contact sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import streamlit as st

from review.access import Deed
from review.actions.copies import lacking, restore_copies
from review.actions.looking import trail_of
from review.domain.errors import NotAllowed, NotFound, RunthroughError
from review.domain.model import Recording
from review.pipeline.jobs import UNFINISHED
from review.report.recordings import find, newest
from ui import components, session
from ui.ahead import page_report
from ui.deed_routes import whose_board

_BETWEEN_LOOKS_S: Final = 4.0
"""How often a page looks whether a running analysis has come further."""

_LAST: Final = "last recording"


def show() -> None:
    """Show the recording that the address names, else the one looked at last, else the newest."""
    recording_id = _asked_for()
    if recording_id is None:
        _nothing("No recording yet", "Add a film of an attempt first.")
        return
    try:
        recording = find(session.home(), session.me(), recording_id)
    except NotFound:
        _nothing("This recording is not here", "It may have been erased, or the address was copied wrongly.")
        return
    except RunthroughError as error:
        _nothing("This recording cannot be shown", str(error))
        return
    trail_of(session.home()).saw(session.me(), recording, Deed.SEE, "Review")
    st.session_state[_LAST] = recording_id
    if st.query_params.get("recording") != recording_id:
        st.query_params["recording"] = recording_id
    if lacking(session.home(), recording):
        _mend(recording)
    _review(recording_id)


def _nothing(title: str, why: str) -> None:
    """Say that there is nothing to review, and where to find something."""
    st.title(title)
    st.write(why)
    st.html('<a href="/" target="_self">To the recordings</a>')


def _mend(recording: Recording) -> None:
    """Have made anew what the film cannot be played without, with a bar that tells how far it is."""
    bar = st.progress(0.0, f"Something that was made of {recording.name} is lost. It is made again from the original.")
    told = ""

    def tell(stage: str, share: float) -> None:
        nonlocal told
        text = f"{stage}: {100 * share:.0f} %"
        if text != told:
            bar.progress(min(1.0, share), text)
        told = text

    try:
        restore_copies(session.home(), session.me(), recording.id, tell)
    except RunthroughError as error:
        st.error(str(error))
    bar.empty()


def _asked_for() -> str | None:
    named = st.query_params.get("recording") or st.session_state.get(_LAST)
    if named:
        return str(named)
    known = newest(session.home(), session.me())
    return known.id if known else None


def _review(recording_id: str) -> None:
    """Draw the board in a fragment, which looks again by itself as long as an analysis is running."""
    fresh = [_data(recording_id)]
    running = _unfinished(fresh[0])

    def draw() -> None:
        try:
            data = fresh.pop() if fresh else _data(recording_id)
        except (NotAllowed, NotFound):
            st.rerun()
        components.board(data, _take_person)
        if running != _unfinished(data):
            st.rerun()

    st.fragment(draw, run_every=_BETWEEN_LOOKS_S if running else None)()


def _unfinished(data: Mapping[str, Any]) -> bool:
    return data["recording"]["analysis"]["state"] in UNFINISHED


def _data(recording_id: str) -> dict[str, Any]:
    beside = whose_board(session.home())
    return {**page_report(session.home(), session.me(), "/review", recording=recording_id), **beside}


def _take_person() -> None:
    code = st.session_state["board"].get("person")
    if isinstance(code, str):
        session.work_as(code)
