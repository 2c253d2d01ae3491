"""Whose attempts at which sheet the pages Compare and Progress are about: chosen there, else named by the address."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import streamlit as st

from review.domain.errors import NotFound
from review.report.attempt import NOTICE
from ui import session
from ui.acting import everybody
from ui.ahead import page_report, parts_of

_PARTS: Final = ("learner", "checklist", "recording")
_CHOICE: Final = "chosen attempts"


def told(path: str) -> dict[str, Any]:
    """Return what a page shows of what was chosen; of what is likely, with a message, where that is not there.

    Parameters
    ----------
    path
        The page's address, as `ui.ahead.page_report` takes it.
    """
    home, person = session.home(), session.me()
    asked = {part: _asked().get(part) for part in parts_of(path)}
    try:
        data = page_report(home, person, path, **asked)
    except NotFound as error:
        st.error(str(error))
        _keep({})
        data = page_report(home, person, path, **dict.fromkeys(asked))
    people = [{"code": one.code, "role": str(one.role)} for one in everybody(home)]
    return {**data, "people": people, "notice": NOTICE}


def take(name: str) -> None:
    """Do what was wished for on a page: show other attempts, or work as somebody else."""
    wish: Any = st.session_state[name].get("wish")
    if not isinstance(wish, Mapping):
        return
    if wish.get("deed") == "work as":
        session.work_as(str(wish.get("code")))
    elif wish.get("deed") == "choose":
        _keep({part: str(wish[part]) for part in _PARTS if wish.get(part)})


def _asked() -> Mapping[str, str]:
    named = {part: str(st.query_params[part]) for part in _PARTS if part in st.query_params}
    kept: Mapping[str, str] = st.session_state.get(_CHOICE, {})
    return named or kept


def _keep(choice: Mapping[str, str]) -> None:
    """Keep a choice for both pages, and in the address, so that it survives a reload."""
    st.session_state[_CHOICE] = choice
    for part in _PARTS:
        if part in choice:
            st.query_params[part] = choice[part]
        elif part in st.query_params:
            del st.query_params[part]
