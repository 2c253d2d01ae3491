"""The Class page: what waits, how each step goes over the class, and where each learner stands."""

from __future__ import annotations

from typing import Any

import streamlit as st

from review.access import Deed, may
from review.report.attempt import NOTICE
from ui import components, session
from ui.acting import everybody


def show() -> None:
    """Show the page to those who may see it; what it shows and stores goes by routes of its own."""
    person = session.me()
    people = [{"code": one.code, "role": str(one.role)} for one in everybody(session.home())]
    allowed = may(person, Deed.SEE_CLASS)
    data = {"people": people, "as": person.code, "allowed": allowed, "notice": NOTICE}
    components.classes(data, _take_person)


def offered() -> bool:
    """Tell whether the page is offered to whom one works as."""
    return may(session.me(), Deed.SEE_CLASS)


def _take_person() -> None:
    code: Any = st.session_state["classes"].get("person")
    if isinstance(code, str):
        session.work_as(code)
