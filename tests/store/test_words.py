"""Whether all of a film was listened to."""

from __future__ import annotations

from pathlib import Path

from review.store.home import find_home
from review.store.words import WordStore


def test_a_film_was_listened_to_whole_without_a_gap(tmp_path: Path) -> None:
    """Stretches in any order; a hole, a missing end, or nothing at all is not whole."""
    words = WordStore(find_home(tmp_path / "home"), "r")
    assert not words.whole(600)
    assert not words.whole(0)
    words.put(400, 600, ())
    words.put(0, 200, ())
    assert not words.whole(600)
    words.put(200, 400, ())
    assert words.whole(600)
    assert words.whole(599)
    assert not words.whole(601)
    words.erase()
    assert not words.whole(600)
