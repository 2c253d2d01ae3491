"""Whether all of a film was listened to."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from review.domain.errors import StoreBroken
from review.domain.transcript import Word
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


FIRST = Word("bysets", 1.0, 1.5, 0.3)
SECOND = Word("biceps", 1.0, 1.5, 0.7)


def test_both_listenings_are_kept_apart(tmp_path: Path) -> None:
    """The words are those of the first; those of the second stand beside, in order, and go with them."""
    words = WordStore(find_home(tmp_path / "home"), "r")
    assert words.again() == ()
    words.put(200, 400, (FIRST,))
    words.put(0, 200, (FIRST,), (SECOND,))
    assert words.transcript() == (FIRST, FIRST)
    assert words.again() == (SECOND,)
    words.put(0, 200, (FIRST,))
    assert words.again() == ()
    words.erase()
    assert words.transcript() is None


def test_words_of_one_listening_are_read(tmp_path: Path) -> None:
    """Files of before there were two listenings hold a list; what is neither is told with what to do."""
    home = find_home(tmp_path / "home")
    words = WordStore(home, "r")
    words.put(0, 200, ())
    (path,) = home.tracks.glob("r.words/*.json")
    path.write_text(json.dumps([{"text": "bysets", "onset_s": 1.0, "offset_s": 1.5, "confidence": 0.3}]))
    assert (words.transcript(), words.again()) == ((FIRST,), ())
    for broken in ("{}", "3", '{"words": [{}], "again": []}', "["):
        path.write_text(broken)
        with pytest.raises(StoreBroken, match="Analyse the film again"):
            words.transcript()
