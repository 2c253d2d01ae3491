"""The script behind every page: the frame around it, and the choice of page."""

from __future__ import annotations

from html import escape
from typing import Literal

import streamlit as st

from review.access import Deed, may
from ui import assets, session
from ui.acting import signing_in
from ui.views import classes, compare, guide, privacy, progress, recordings, review, sheets


def main() -> None:
    """Show the page that was asked for."""
    st.set_page_config(page_title="Runthrough", layout="wide", initial_sidebar_state="collapsed")
    st.html(f"<style>{assets.style('frame')}</style>")
    review_page = st.Page(review.show, title="Review", url_path="review")

    def open_recording(recording_id: str) -> None:
        st.switch_page(review_page, query_params={"recording": recording_id})

    def list_recordings() -> None:
        recordings.show(open_recording)

    list_page = st.Page(list_recordings, title="Recordings", url_path="recordings", default=True)
    guide_page = st.Page(guide.show, title="Filming guide", url_path="filming")
    sheets_page = st.Page(sheets.show, title="Checklists", url_path="checklists")
    compare_page = st.Page(compare.show, title="Compare", url_path="compare")
    progress_page = st.Page(progress.show, title="Progress", url_path="progress")
    shown: Literal["visible", "hidden"] = "visible" if classes.offered() else "hidden"
    class_page = st.Page(classes.show, title="Class", url_path="class", visibility=shown)
    privacy_page = st.Page(privacy.show, title="Privacy", url_path="privacy")
    pages = [list_page, review_page, compare_page, progress_page, class_page, sheets_page, guide_page, privacy_page]
    chosen = st.navigation(pages, position="top")
    _whoever()
    chosen.run()


def _whoever() -> None:
    """Say who is signed in, with the ways to the account, to the course one runs, and out."""
    if not signing_in(session.home()):
        return
    person = session.me()
    course = '<a href="/course" target="_self">Course</a>' if may(person, Deed.RUN_COURSE) else ""
    account = f'<a href="/account" target="_self">Account of {escape(person.code)}</a>'
    out = '<form action="/sign-out" method="post"><button>Sign out</button></form>'
    st.html(f'<div class="whoever">{course}{account}{out}</div>')


if __name__ == "__main__":
    main()
