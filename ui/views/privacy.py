"""The Privacy page: who can see which recording and why, consents, who looked, dates and receipts."""

from __future__ import annotations

from typing import Any

import streamlit as st

from review.report.attempt import NOTICE
from ui import components, session
from ui.acting import everybody


def show() -> None:
    """Show the page; what it shows and stores goes by routes of its own."""
    person = session.me()
    people = [{"code": one.code, "role": str(one.role)} for one in everybody(session.home())]
    components.privacy({"people": people, "as": person.code, "notice": NOTICE}, _take_person)


def _take_person() -> None:
    code: Any = st.session_state["privacy"].get("person")
    if isinstance(code, str):
        session.work_as(code)
