"""The Checklists page: sheets to browse, change, copy, retire, import, export and print."""

from __future__ import annotations

from typing import Any

import streamlit as st

from ui import components, session
from ui.acting import everybody


def show() -> None:
    """Show the page; what it shows and stores goes by routes of its own, so that nothing is drawn anew."""
    person = session.me()
    people = [{"code": one.code, "role": str(one.role)} for one in everybody(session.home())]
    components.sheets({"people": people, "as": person.code}, _take_person)


def _take_person() -> None:
    code: Any = st.session_state["sheets"].get("person")
    if isinstance(code, str):
        session.work_as(code)
