"""The filming guide: where to put the phone for each part of a checklist, with a drawing each."""

from __future__ import annotations

from typing import Any, Final

import streamlit as st

from review.domain.checklist import DEFAULT_CHECKLIST
from review.report.filming import filming_guide
from review.store.repository import reading
from ui import assets, components, session

_SHEET: Final = "checklist of the guide"


def show() -> None:
    """Show how to film the checklist that was chosen, the usual one at first."""
    home = session.home()
    session.me()
    with reading(home) as repo:
        sheets = [{"id": sheet.id, "title": sheet.title} for sheet in repo.sheets().offered()]
    known = [sheet["id"] for sheet in sheets]
    if not known:
        st.header("No checklist yet")
        st.write("Add a film on the page Recordings, or store a checklist; then this page says how to film its steps.")
        return
    chosen = st.session_state.get(_SHEET, DEFAULT_CHECKLIST)
    guide = filming_guide(home, chosen if chosen in known else known[0])
    drawings = {shot["key"]: assets.drawing(f"filming_{shot['key']}") for shot in guide["shots"]}
    components.guide({**guide, "sheets": sheets, "drawings": drawings}, _take_sheet)


def _take_sheet() -> None:
    chosen: Any = st.session_state["guide"].get("sheet")
    if isinstance(chosen, str):
        st.session_state[_SHEET] = chosen
