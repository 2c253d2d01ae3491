"""The script behind every page: the frame around it, and the choice of page."""

from __future__ import annotations

from typing import Literal

import streamlit as st

from ui import assets
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
    st.navigation(pages, position="top").run()


if __name__ == "__main__":
    main()
