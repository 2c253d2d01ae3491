"""What a server tells those who run it: whether it works, its figures, and a line for each request."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from prometheus_client.parser import text_string_to_metric_families
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from review.actions.recordings import add
from review.domain.errors import InputError
from review.store import room
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.rows import Job
from review.store.settings import SETTINGS_FILE, settings_of
from tests.answers import Told, answered
from tests.homes import learners_home
from ui.service import BOUNDS_S, Counts, Service

TOKEN = "a-token-that-nobody-guesses-7301"
ORDER = ("method", "door", "status", "state", "le")
SECRET = "L-07 wrote this about the examined person"


def _served(home: Home, lines: list[str]) -> Starlette:
    def fine(request: object) -> PlainTextResponse:
        return PlainTextResponse("fine")

    def fails(request: object) -> PlainTextResponse:
        raise ValueError(SECRET)

    routes = [Route("/api/media/{id}", fine), Route("/review", fine), Route("/progress", fails)]
    return Starlette(routes=routes, middleware=[Middleware(Service, home=home, write=lines.append)])


def _ask(app: Starlette, path: str, method: str = "GET", token: str = "") -> Told:
    headers = [(b"authorization", f"Bearer {token}".encode())] if token else []
    return answered(
        app, {"type": "http", "method": method, "path": path, "query_string": b"as=L-07", "headers": headers}
    )


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Return a home with a learner whose settings ask for figures and a log."""
    made, _ = learners_home(tmp_path / "home")
    (made.root / SETTINGS_FILE).write_text(f'metrics_token = "{TOKEN}"\nlog = "json"\n')
    settings_of.cache_clear()
    return made


def _metrics(app: Starlette) -> dict[tuple[str, tuple[str, ...]], float]:
    told = _ask(app, "/metrics", token=TOKEN)
    assert told.status == 200, told.body
    assert told.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    samples = [one for family in text_string_to_metric_families(told.body.decode()) for one in family.samples]
    return {(one.name, tuple(one.labels[name] for name in ORDER if name in one.labels)): one.value for one in samples}


def test_a_server_that_works_says_so(home: Home) -> None:
    """Nobody has to be signed in, and nothing else is told."""
    told = _ask(_served(home, []), "/health")
    assert (told.status, told.said) == (200, {"status": "working"})
    assert told.headers["cache-control"] == "no-store"
    assert _ask(_served(home, []), "/health", "POST").status == 405


@pytest.mark.laptop("a SQLite file that is damaged; a server out of reach is told by tests/store/test_server.py")
def test_what_fails_is_told(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk without room, and a database that cannot be opened, each make the server fail."""
    monkeypatch.setattr("review.report.service.SPARE_BYTES", 1e18)
    told = _ask(_served(home, []), "/health")
    assert (told.status, told.said) == (503, {"status": "failing", "failing": ["room"]})
    broken = find_home(home.root.parent / "broken")
    (broken.root / "runthrough.db").write_bytes(b"no database, but long enough to be looked at as one" * 40)
    assert _ask(_served(broken, []), "/health").said["failing"] == ["database", "room"]


def test_health_is_looked_at_once_a_second(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """However often somebody asks, the database is asked once."""
    looks: list[Home] = []
    monkeypatch.setattr("ui.service.failing", lambda home, database: looks.append(home) or [])
    app = _served(home, [])
    assert [_ask(app, "/health").status for _ in range(5)] == [200] * 5
    assert len(looks) == 1


def test_figures_are_for_whoever_has_the_token(home: Home) -> None:
    """Without one set there is nothing there; without it, or with another, they are refused."""
    app = _served(home, [])
    assert [_ask(app, "/metrics", token=token).status for token in ("", "another", TOKEN[:-1])] == [401] * 3
    (home.root / SETTINGS_FILE).write_text("")
    settings_of.cache_clear()
    assert _ask(_served(home, []), "/metrics", token=TOKEN).status == 404


def test_a_token_that_is_short_is_refused(home: Home) -> None:
    """The program does not start with it, and does not repeat it."""
    (home.root / SETTINGS_FILE).write_text('metrics_token = "guess-me"\n')
    settings_of.cache_clear()
    with pytest.raises(InputError, match=r"metrics_token: .*20 to 200") as refused:
        settings_of(home)
    assert "guess-me" not in str(refused.value)


def test_figures_count_requests_by_door(home: Home) -> None:
    """The names in an address are not told; how soon an answer began is counted in classes that add up."""
    app = _served(home, [])
    for path in ("/api/media/a1b2c3", "/api/media/d4e5f6", "/review", "/nowhere/L-07"):
        _ask(app, path)
    with pytest.raises(ValueError, match="examined"):
        _ask(app, "/progress")
    told = _metrics(app)
    assert told["runthrough_requests_total", ("GET", "/api/media/{id}", "200")] == 2
    assert told["runthrough_requests_total", ("GET", "/review", "200")] == 1
    assert told["runthrough_requests_total", ("GET", "/progress", "500")] == 1
    assert told["runthrough_requests_total", ("GET", "none", "404")] == 1
    assert told["runthrough_request_seconds_count", ("/api/media/{id}",)] == 2
    assert told["runthrough_request_seconds_bucket", ("/api/media/{id}", "+Inf")] == 2
    assert not any("L-07" in label or "a1b2c3" in label for _, labels in told for label in labels)


def test_waits_are_counted_in_their_class() -> None:
    """An answer at a bound counts below it; the slowest count in none but the last."""
    counts = Counts()
    for seconds in (BOUNDS_S[0], BOUNDS_S[0] + 1e-6, 99.0):
        counts.add("GET", "/review", 200, seconds)
    told = counts.requests()
    assert told.waits["/review"] == [1, 1, *[0] * (len(BOUNDS_S) - 2), 1]
    assert told.waited_s["/review"] == pytest.approx(99.02, abs=1e-3)


def test_figures_tell_what_is_there_and_what_waits(home: Home, tiny_film: Path) -> None:
    """Films, their seconds and bytes, and since when the oldest analysis waits."""
    with repository(home) as repo:
        learner = repo.person("L-07")
    film = add(home, learner, tiny_film)
    with repository(home) as repo:
        repo.put_job(Job(film.id, "waiting", 0, 9, "", datetime.now(UTC), None))
    told = _metrics(_served(home, []))
    assert told["runthrough_recordings", ()] == 1
    assert told["runthrough_film_seconds", ()] == pytest.approx(film.duration_s)
    assert told["runthrough_film_bytes", ()] == tiny_film.stat().st_size
    assert told["runthrough_analyses", ("waiting",)] == 1
    assert 0 <= told["runthrough_waiting_seconds", ()] < 60
    assert told["runthrough_disk_free_bytes", ()] > room.SPARE_BYTES
    assert told["process_resident_memory_bytes", ()] > 1e6


def test_each_request_has_a_line_with_nothing_of_anybody(home: Home) -> None:
    """The door, the status, the time; of a fault its kind and place, and never what it says."""
    lines: list[str] = []
    app = _served(home, lines)
    _ask(app, "/api/media/a1b2c3")
    with pytest.raises(ValueError, match="examined"):
        _ask(app, "/progress")
    told: list[dict[str, Any]] = [json.loads(line) for line in lines]
    assert [(one["event"], one["door"], one["status"]) for one in told] == [
        ("request", "/api/media/{id}", 200),
        ("fault", "/progress", 500),
    ]
    assert told[1]["fault"].startswith("ValueError")
    assert all(line.endswith("\n") for line in lines)
    assert not any(word in line for line in lines for word in ("L-07", "a1b2c3", "examined"))
