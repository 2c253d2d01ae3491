"""What a browser session remembers between runs of the page: the home, and whom one works as."""

from __future__ import annotations

from typing import Final

import streamlit as st

from review.domain.errors import NotFound
from review.domain.model import Person
from review.store.home import Home, find_home
from ui.acting import AS_ANOTHER, note_refusal, who_signed_in, working

AS: Final = "as"
"""Query parameter with the code of the acting person: it survives a reload of the page."""


def home() -> Home:
    """Return the home that the server was started with."""
    found: Home = st.session_state.setdefault("home", None) or find_home()
    st.session_state["home"] = found
    return found


def me() -> Person:
    """Return whom one works as: chosen before, else asked for by the address; whoever is likely if that is nobody.

    Where people sign in, that is who is signed in, whatever the address asks for; where nobody is (any more), the page
    says so and ends.
    """
    code = st.session_state.get(AS) or st.query_params.get(AS)
    try:
        person = working(home(), code)
    except NotFound:
        person = working(home(), None)
    if person is None:
        return _themselves()
    work_as(person.code)
    if st.query_params.get(AS) != person.code:
        st.query_params[AS] = person.code
    return person


def _themselves() -> Person:
    person = who_signed_in(home())
    if person is None:
        st.session_state.clear()
        st.html('<h1>Nobody is signed in here</h1><p><a href="/sign-in" target="_self">Sign in</a></p>')
        st.stop()
    if st.session_state.get(AS) not in (None, person.code):
        st.session_state.clear()
    work_as(person.code)
    asked = st.query_params.get(AS)
    if asked != person.code:
        st.query_params[AS] = person.code
        if asked:
            note_refusal(home(), person, AS_ANOTHER)
    return person


def work_as(code: str) -> None:
    """Remember whom one works as."""
    st.session_state[AS] = code
