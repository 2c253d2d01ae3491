"""Where steps seem to lie by what was said: order, skips, repeats, sides, and what is kept of it."""

from __future__ import annotations

import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from review.checklists import shipped
from review.domain.checklist import Checklist
from review.domain.checklist_file import read_checklist
from review.domain.proposal import Proposal
from review.domain.tracks import empty_tracks
from review.domain.transcript import Transcript, Word
from review.pipeline import proposals
from review.pipeline.proposals import listened, look, proposals_of
from review.store.home import Home, find_home
from review.store.trackstore import TrackStore
from review.store.words import WordStore
from tests.store.made import recording
from tests.synthetic_face import Face, face_tracks, steps

BALANCE = [
    ("now the floor is clear", 2.0),
    ("the chair is behind you", 5.0),
    ("next feet together please I will not let you fall", 9.0),
    ("now keep your eyes open and look straight ahead", 15.0),
    ("steady with eyes open", 24.0),
    ("now close your eyes and stand still", 28.0),
    ("steady with eyes closed", 50.0),
    ("open your eyes and have a seat", 54.0),
    ("romberg is negative", 58.0),
]


def said(lines: list[tuple[str, float]]) -> Transcript:
    """Return lines as words of 0.3 s."""
    return tuple(
        Word(word, at_s + 0.35 * place, at_s + 0.35 * place + 0.3, 0.9)
        for text, at_s in lines
        for place, word in enumerate(text.split())
    )


@pytest.fixture(scope="module")
def balance() -> Checklist:
    """Return the short sheet."""
    return read_checklist(shipped("balance_only"))


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make an empty home."""
    return find_home(tmp_path / "home")


def _asked(home: Home, sheet: Checklist, lines: list[tuple[str, float]]) -> tuple[Proposal, ...]:
    WordStore(home, "r").put(0, 9, said(lines))
    found = proposals_of(home, "r", sheet)
    assert found is not None
    return found


def test_nothing_is_said_where_nobody_listened(home: Home, balance: Checklist) -> None:
    """Before the sound was listened to there is no answer; a film without words has an empty one."""
    assert proposals_of(home, "r", balance) is None
    assert _asked(home, balance, []) == ()


def test_each_step_begins_where_it_is_announced(home: Home, balance: Checklist) -> None:
    """Steps in the sheet's order are proposed at the first thing said for them, with what was heard as reason."""
    found = {one.step_id: one for one in _asked(home, balance, BALANCE)}
    assert found["eyes_open"].interval.onset_s == pytest.approx(15.0)
    assert found["eyes_closed"].interval.onset_s == pytest.approx(28.0)
    assert found["result"].interval.onset_s == pytest.approx(54.0)
    assert found["result"].reasons[0] == "heard “romberg is negative” at 0:58"


def test_a_step_left_out_is_not_proposed(home: Home, balance: Checklist) -> None:
    """Nothing is proposed for a step of which nothing was said."""
    left_out = [line for line in BALANCE if not 15.0 <= line[1] < 28.0]
    assert "eyes_open" not in {one.step_id for one in _asked(home, balance, left_out)}


def test_a_step_done_again_is_proposed_twice(home: Home, balance: Checklist) -> None:
    """The order may go back: a repeated step has two proposals."""
    again = [*BALANCE[:7], ("now keep your eyes open and look straight ahead", 54.0), ("steady with eyes open", 63.0)]
    found = [one.interval.onset_s for one in _asked(home, balance, again) if one.step_id == "eyes_open"]
    assert found == pytest.approx([15.0, 54.0])


def test_proposals_are_sorted_and_kept_until_the_words_change(home: Home, balance: Checklist) -> None:
    """Asking again gives the same, from the disk too; other words give other proposals."""
    found = _asked(home, balance, BALANCE)
    assert list(found) == sorted(found, key=lambda one: one.interval)
    assert all(0.0 < one.confidence < 1.0 for one in found)
    assert proposals_of(home, "r", balance) == found
    later = [(text, at_s + 3.0) for text, at_s in BALANCE]
    assert [one.interval.onset_s for one in _asked(home, balance, later)] == pytest.approx(
        [one.interval.onset_s + 3.0 for one in found]
    )


def test_what_was_seen_counts_once_it_was_noted(home: Home, balance: Checklist) -> None:
    """A film that was looked at tells when eyes were held shut, and the proposals say so from then on."""
    before = _asked(home, balance, BALANCE)
    times = np.arange(620) / 10
    shut, lids = steps(times, 0.1, (31.5, 49.5, 0.9)), steps(times, 0.3, (31.5, 49.5, 0.03))
    store = TrackStore(home, "r")
    store.create(empty_tracks(times, 640, 480))
    store.write(0, face_tracks(times, Face(blink=(shut, shut), ratio=(lids, lids))), ("face",))
    assert proposals_of(home, "r", balance) == before
    look(home, "r", balance, ())
    after = {one.step_id: one.reasons for one in proposals_of(home, "r", balance) or ()}
    assert "eyes closed 0:31-0:49" in after["eyes_closed"]
    assert not any("eyes closed" in reason for reason in after["eyes_open"])


def test_they_are_made_once_all_was_listened_to_and_only_once(
    home: Home, balance: Checklist, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The analysis makes them when the last words came; who asks meanwhile waits for these rather than makes them."""
    film, made = recording(id="r", frames=620), []
    kept = home.tracks / "r.words" / "first_pass.json"

    def counted(*asked: Any) -> tuple[Proposal, ...]:
        made.append(asked)
        time.sleep(0.2)
        return really(*asked)

    really = proposals._made
    monkeypatch.setattr(proposals, "_made", counted)
    WordStore(home, "r").put(0, 300, said(BALANCE[:5]))
    listened(home, film, balance)
    assert not kept.exists()
    WordStore(home, "r").put(300, 620, said(BALANCE[5:]))
    with ThreadPoolExecutor(4) as pool:
        first = pool.submit(listened, home, film, balance)
        found = [pool.submit(proposals_of, home, "r", balance) for _ in range(3)]
        first.result()
        assert [one.step_id for one in found[0].result() or ()].count("eyes_open") == 1
        assert found[1].result() == found[2].result() == found[0].result()
    assert kept.exists()
    assert len(made) == 1


def test_what_was_heard_goes_with_the_words(home: Home, balance: Checklist) -> None:
    """Once the words are erased, nothing is left of the proposals that were made of them."""
    _asked(home, balance, BALANCE)
    kept = home.tracks / "r.words" / "first_pass.json"
    assert "romberg is negative" in kept.read_text("utf-8")
    WordStore(home, "r").erase()
    assert not kept.exists()
    assert proposals_of(home, "r", balance) is None
