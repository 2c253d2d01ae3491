"""Who was let in a moment ago comes in by the same key without being looked up, and nobody else does."""

from __future__ import annotations

from tests.store.made import INSTRUCTOR, LEARNER
from ui import recent
from ui.recent import KEPT_S, Recent

KEY = ("secret", "see", "aaaa")


class Clock:
    """A clock that is set by hand."""

    now = 100.0

    def __call__(self) -> float:
        """Tell the time."""
        return self.now


def test_who_was_let_in_is_known_for_a_moment() -> None:
    """Not before, nor when the moment is over; let in again, the moment begins anew."""
    clock = Clock()
    known = Recent(clock)
    assert known.person(KEY) is None
    known.note(KEY, LEARNER)
    clock.now += KEPT_S - 0.01
    assert known.person(KEY) == LEARNER
    clock.now += 0.02
    assert known.person(KEY) is None
    known.note(KEY, LEARNER)
    assert known.person(KEY) == LEARNER


def test_another_login_deed_or_recording_is_another_key() -> None:
    """Each is looked up by itself."""
    known = Recent(Clock())
    known.note(KEY, LEARNER)
    assert [known.person(key) for key in ((None, *KEY[1:]), ("secret", "watch", "aaaa"), ("secret", "see", None))] == [
        None,
        None,
        None,
    ]
    known.note(("another", *KEY[1:]), INSTRUCTOR)
    assert known.person(KEY) == LEARNER


def test_all_are_forgotten_at_once() -> None:
    """As when a request may have changed who may come where."""
    known = Recent(Clock())
    known.note(KEY, LEARNER)
    known.forget()
    assert known.person(KEY) is None


def test_no_more_are_kept_than_there_is_room_for() -> None:
    """Many keys, as of many pictures, do not pile up."""
    known = Recent(Clock())
    for number in range(recent._MOST + 1):
        known.note(("secret", "see", number), LEARNER)
    assert len(known._let_in) == 1
