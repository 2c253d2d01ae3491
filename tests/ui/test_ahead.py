"""What a page shows is begun with its document, and handed out once to whom it is for."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from review.domain.errors import NotFound
from review.domain.model import Recording
from review.store.home import Home, find_home
from review.store.repository import reading
from ui import ahead
from ui.ahead import FRESH_S, Ahead, begin_page, page_report


class Clock:
    """A clock that stands until it is moved."""

    now = 0.0

    def __call__(self) -> float:
        """Tell its time."""
        return self.now


def test_what_was_begun_is_handed_out_once() -> None:
    """The first to take it is given it and waits for it if need be; the next works it out itself."""
    begun, may_end, runs = threading.Event(), threading.Event(), []

    def work() -> str:
        begun.set()
        may_end.wait(20)
        runs.append("ahead")
        return "ahead"

    some = Ahead()
    some.begin("key", work)
    some.begin("key", work)
    assert begun.wait(20)
    threading.Timer(0.05, may_end.set).start()
    assert [some.take("key", lambda: "now"), some.take("key", lambda: "now")] == ["ahead", "now"]
    assert runs == ["ahead"]


def test_what_waits_behind_another_is_worked_out_at_once() -> None:
    """Whoever takes what has not begun to be worked out does not wait for what is before it."""
    may_end = threading.Event()
    some = Ahead()
    some.begin("long", lambda: may_end.wait(20))
    some.begin("next", lambda: "ahead")
    assert some.take("next", lambda: "now") == "now"
    may_end.set()


def test_what_is_old_is_not_shown() -> None:
    """What was begun too long ago is worked out anew, and does not count among those that are kept."""
    clock = Clock()
    some = Ahead(clock)
    for number in range(20):
        some.begin(number, lambda: "ahead")
    clock.now = FRESH_S + 0.1
    some.begin("later", lambda: "ahead")
    assert (some.take(0, lambda: "now"), some.take(19, lambda: "now")) == ("now", "now")
    assert len(some._begun) == 1


def test_a_refusal_comes_with_the_page() -> None:
    """What working it out raises is raised where it is taken, or by working it out there."""

    def fails() -> None:
        raise NotFound("Nothing here.")

    some = Ahead()
    some.begin("key", fails)
    with pytest.raises(NotFound, match="Nothing here"):
        some.take("key", fails)


@pytest.mark.parametrize("path", ["/compare", "/progress", "/review"])
def test_a_page_is_begun_for_whom_it_is(
    furnished: tuple[Home, Recording], monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    """The person whom the address names is given what was begun with it, all others what is theirs."""
    home, recording = furnished
    monkeypatch.setattr(ahead, "AHEAD", Ahead())
    with reading(home) as repo:
        learner, other = (repo.person(code) for code in ("L-07", "I-02"))
    parts = {"recording": recording.id} if path == "/review" else {"learner": None, "checklist": None}
    parts |= {"recording": None} if path == "/compare" else {}
    begin_page(home, path, {"as": "L-07", **{part: said for part, said in parts.items() if said}})
    key = ahead._key(home, learner, path, parts)
    begun = ahead.AHEAD._begun[key][1]
    assert page_report(home, other, path, **parts)["me"]["code"] == "I-02"
    assert page_report(home, learner, path, **parts) is begun.result(20)
    assert page_report(home, learner, path, **parts) == begun.result()


def test_nothing_is_begun_for_nobody(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither of a page that computes nothing, nor of no recording, nor where nobody has that code."""
    monkeypatch.setattr(ahead, "AHEAD", Ahead())
    home = find_home(tmp_path / "home")
    for path, query in (("/filming", {}), ("/review", {}), ("/compare", {"as": "L-99"})):
        begin_page(home, path, query)
    assert not ahead.AHEAD._begun
    with reading(home) as repo:
        assert not any(one.code == "L-99" for one in repo.people())
