"""The Compare page: grades of an attempt side by side, and how alike people grade."""

from __future__ import annotations

from review.access import Deed
from review.actions.looking import trail_of
from review.report.recordings import find
from ui import chosen, components, session


def show() -> None:
    """Show the attempts that were chosen, else one's own newest."""
    told = chosen.told("/compare")
    if told.get("attempt"):
        home, person = session.home(), session.me()
        trail_of(home).saw(person, find(home, person, told["attempt"]["recording"]), Deed.SEE, "Compare")
    components.compare(told, lambda: chosen.take("compare"))
