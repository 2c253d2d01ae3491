"""Copies with masked faces through the server: made in the background, looked at, taken out, broken off, removed."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

import pytest

from review.domain.errors import EntryRefused, InputError
from review.domain.masking import Heads
from review.store.repository import reading, repository
from tests.ui.conftest import Site
from ui import making
from ui.making import Makings


def _until(look: Callable[[], Any], found: Callable[[Any], bool]) -> Any:
    """Look until something is found, at most for a minute."""
    ending = time.monotonic() + 60
    while not found(said := look()):
        assert time.monotonic() < ending, said
        time.sleep(0.05)
    return said


def test_a_copy_is_made_taken_out_and_removed(site: Site) -> None:
    """The server tells how far it is; the film comes in parts too, under a plain name, kept by no cache."""
    place = f"/api/masked/{site.recording.id}"
    first = site.ask("GET", f"{place}?as=L-07").said
    assert ([each["heads"] for each in first["kinds"]], first["copies"], first["making"]) == (
        ["others", "all"],
        [],
        None,
    )
    begun = site.ask("POST", f"{place}/all?as=L-07")
    assert (begun.status, begun.said["making"]["heads"]) == (200, "all")
    done = _until(
        lambda: site.ask("GET", f"{place}?as=L-07").said, lambda said: said["making"]["state"] not in ("making",)
    )
    assert (done["making"]["state"], done["making"]["share"]) == ("done", 1.0)
    (copy,) = done["copies"]
    assert [each["words"] for each in copy["doubtful"]] == ["no head was found, so nothing is masked"]
    film = site.ask("GET", f"{place}/all.mp4?as=L-07", Range="bytes=0-99")
    assert (film.status, film.headers["content-type"], len(film.body)) == (206, "video/mp4", 100)
    assert film.headers["content-disposition"] == f'attachment; filename="{copy["name"]}"'
    assert film.headers["cache-control"] == "no-store"
    assert "tiny" not in copy["name"].lower()
    assert site.ask("POST", f"{place}/all/remove?as=L-07").said["copies"] == []
    assert site.ask("GET", f"{place}/all.mp4?as=L-07").status == 404
    with reading(site.home) as repo:
        assert [one.what for one in repo.looks().of(site.recording.id)].count("copy with masked faces") == 1


@pytest.mark.parametrize(
    ("method", "rest", "status", "words"),
    [
        ("GET", "?as=L-12", 403, "masked faces"),
        ("POST", "/all?as=L-12", 403, "masked faces"),
        ("GET", "/others.mp4?as=L-12", 403, "masked faces"),
        ("POST", "/some?as=L-07", 404, "others"),
        ("GET", "/others.mp4?as=L-07", 404, "Have it made first"),
    ],
)
def test_what_is_refused_is_told(site: Site, method: str, rest: str, status: int, words: str) -> None:
    """A peer gets none, a kind that there is not is answered with those there are; the trail says nothing left."""
    with reading(site.home) as repo:
        before = len(repo.looks().of(site.recording.id))
    answer = site.ask(method, f"/api/masked/{site.recording.id}{rest}")
    assert (answer.status, words in answer.said["message"]) == (status, True)
    with reading(site.home) as repo:
        assert len(repo.looks().of(site.recording.id)) == before


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """Stand in for the making: it tells how far it is until let go, then fails by running out of room."""
    let_go = threading.Event()

    def make(*given: Any, sound: bool, progress: Callable[[str, float], None]) -> None:
        while not let_go.wait(0.01):
            progress("Looking for heads", 0.5)
        raise InputError("There is no room.")

    monkeypatch.setattr(making, "mask_heads", make)
    return let_go


def test_one_at_a_time_and_broken_off_when_asked(site: Site, slow: threading.Event) -> None:
    """A second of the same film is refused meanwhile; stopping says that nothing was kept; another may begin."""
    with repository(site.home) as repo:
        learner = repo.person("L-07")
    makings = Makings(site.home)
    makings.start(learner, "film", Heads.ALL, sound=False)
    half = _until(lambda: makings.known("film"), lambda one: one.stage == "Looking for heads")
    assert half.share == pytest.approx(0.42)
    with pytest.raises(EntryRefused, match="stop it first"):
        makings.start(learner, "film", Heads.OTHERS, sound=False)
    makings.stop("film")
    stopped = _until(lambda: makings.known("film"), lambda one: one.state != "making")
    assert (stopped.state, stopped.message) == ("stopped", "Stopped. Nothing of this copy was kept.")
    makings.start(learner, "film", Heads.ALL, sound=False)
    slow.set()
    failed = _until(lambda: makings.known("film"), lambda one: one.state != "making")
    assert (failed.state, failed.message) == ("failed", "There is no room.")
