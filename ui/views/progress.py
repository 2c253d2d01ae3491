"""The Progress page: a learner's attempts over time, and what to practise next."""

from __future__ import annotations

from ui import chosen, components


def show() -> None:
    """Show the attempts that were chosen, else one's own."""
    components.progress(chosen.told("/progress"), lambda: chosen.take("progress"))
