"""The Compare page: grades of an attempt side by side, and how alike people grade."""

from __future__ import annotations

from review.report.compare import compare
from ui import chosen, components


def show() -> None:
    """Show the attempts that were chosen, else one's own newest."""
    components.compare(chosen.told(compare, ("learner", "checklist", "recording")), lambda: chosen.take("compare"))
