"""Every route and page, for everybody: what is not named is refused, and what is named is open to whom it says."""

from __future__ import annotations

import ast
import inspect
import json
from collections.abc import Iterator
from typing import Final

import pytest

from review.access import Deed
from review.actions.handing_in import take_peer_back
from review.store.repository import reading
from tests import forms
from tests.access.asking import ask
from tests.access.school import CODES, FILMS, School, build, film_id
from ui import dashboard
from ui.doors import DOORS, FRAME, PAGES, ROUTES, SOCKET, Way, door_to
from ui.routes import routes

RATING: Final = {"maker", "peer", "teacher", "owner"}
STAFF: Final = {"teacher", "owner", "elsewhere"}
MEMBERS: Final = {"maker", "peer", "fellow", "teacher", "owner", "elsewhere"}
EVERYBODY: Final = set(CODES)

ON_FILM: Final = {
    Deed.WATCH: {"private": {"maker"}, "shared": RATING, "exemplar": RATING | {"fellow"}, "withdrawn": set()},
    Deed.SEE: {"private": {"maker"}, "shared": RATING, "exemplar": RATING, "withdrawn": set()},
    Deed.MARK: {"private": {"maker"}, "shared": RATING, "exemplar": RATING, "withdrawn": set()},
    Deed.SHARE: {"private": {"maker"}, "shared": {"maker"}, "exemplar": {"maker"}, "withdrawn": set()},
    Deed.CORRECT_CAPTIONS: {
        "private": {"maker"},
        "shared": {"maker", "teacher", "owner"},
        "exemplar": {"maker", "teacher", "owner"},
        "withdrawn": set(),
    },
    Deed.MASK: {
        "private": {"maker"},
        "shared": {"maker", "teacher", "owner"},
        "exemplar": {"maker", "teacher", "owner"},
        "withdrawn": set(),
    },
    Deed.NOTE_CONSENT: {kind: {"maker", "owner"} for kind in FILMS},
    Deed.ERASE_RECORDING: {kind: {"maker", "owner"} for kind in FILMS},
    Deed.SEE_LOOKS: {kind: {"maker", "owner"} for kind in FILMS},
    Deed.SIGN_OFF: {
        "private": set(),
        "shared": {"teacher", "owner"},
        "exemplar": {"teacher", "owner"},
        "withdrawn": set(),
    },
}
"""Who may come to a recording for a deed, by how it is shared."""

IN_COURSE: Final = {
    Deed.ADD_RECORDING: MEMBERS,
    Deed.SAVE_CHECKLIST: STAFF,
    Deed.RETIRE_CHECKLIST: STAFF,
    Deed.SEE_CLASS: STAFF,
    Deed.ASSIGN: STAFF,
    Deed.RUN_COURSE: {"owner", "elsewhere"},
    Deed.SET_RETENTION: {"owner", "elsewhere"},
    Way.SIGNED_IN: EVERYBODY,
}
"""Who may come for what is done to no recording."""

COOKIES: Final = ["none", "forged", "empty", "long", "padded", "letters"]

FILLED: Final = {
    "measure": "stance_width",
    "kind": "csv",
    "heads": "all",
    "version": "0",
    "name": "forms.css",
    "secret": "A" * 43,
}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> School:
    """Build the home once."""
    return build(tmp_path_factory.mktemp("doors") / "home")


@pytest.fixture
def school(made: School) -> Iterator[School]:
    """Give the home as it was built; what a test changes in the database is undone after it."""
    put_back = forms.kept(made.home)
    yield made
    put_back()


def asked(school: School) -> list[tuple[str, str]]:
    """Return every address of ours and how it may be asked for, from the routes themselves."""
    return sorted(
        (route.path, method) for route in routes(school.home) for method in (route.methods or set()) - {"HEAD"}
    )


def address(path: str, kind: str, name: str = "maker") -> str:
    """Fill in the names of an address; every name for a recording with the id of one, for an upload with one's own."""
    path = path.replace("{uid}", f"{list(CODES).index(name):016x}")
    for part in ("id", "recording"):
        path = path.replace(f"{{{part}}}", film_id(kind))
    for part, value in FILLED.items():
        path = path.replace(f"{{{part}}}", value)
    return path


def test_every_route_has_a_door_and_every_door_a_route(school: School) -> None:
    """A new route is shut until it is named; a door without a route is a leftover."""
    named = {(door.path, method) for door in ROUTES for method in door.methods - {"HEAD"}}
    assert named == set(asked(school))


def test_every_page_has_a_door() -> None:
    """The pages' addresses are read from the code of the dashboard."""
    calls = [node for node in ast.walk(ast.parse(inspect.getsource(dashboard))) if isinstance(node, ast.Call)]
    found = {
        f"/{word.value.value}"
        for call in calls
        for word in call.keywords
        if word.arg == "url_path" and isinstance(word.value, ast.Constant)
    }
    assert found
    assert {"/", *found} <= {door.path for door in PAGES}


def test_the_tables_of_this_test_name_every_deed_of_a_door() -> None:
    """A deed that a new door is for must be added to one of them."""
    for door in (*PAGES, *ROUTES):
        known = ON_FILM if door.recording else IN_COURSE
        assert door.to is Way.OPEN or door.to in known, door.path


def test_routes_are_open_to_whom_the_tables_name(school: School) -> None:
    """Every route, every person, every recording: refused with 403 and noted, or neither 401 nor 403."""
    wrong = []
    for path, method in asked(school):
        door = next(one for one in ROUTES if one.path == path and method in one.methods)
        for kind in FILMS if door.recording else ["shared"]:
            for name, secret in school.logins.items():
                allowed = door.to is Way.OPEN or name in (
                    ON_FILM[door.to][kind] if door.recording else IN_COURSE[door.to]  # type: ignore[index]
                )
                told = _asked_once(school, method, address(path, kind, name), secret, name)
                if (told not in (401, 403)) is not allowed:
                    wrong.append((method, path, kind, name, told))
    assert wrong == []


def _asked_once(school: School, method: str, where: str, secret: str, name: str) -> int:
    """Ask, undo what it did, and return the status; a refusal must have been noted."""
    writes = method not in ("GET", "HEAD")
    put_back = forms.kept(school.home) if writes else None
    before = _refusals(school, name)
    status = ask(school.home, method, where, secret, b"{}" if writes else b"").status
    if status == 403:
        assert _refusals(school, name) == before + 1, where
    if put_back:
        put_back()
    return status


def _refusals(school: School, name: str) -> int:
    with reading(school.home) as repo:
        return sum(not look.allowed for look in repo.looks().by(repo.person(CODES[name]).id))


@pytest.mark.parametrize("cookie", [None, "B" * 43, "", "x" * 5000, "A" * 42 + "=", "\u00e9" * 43], ids=COOKIES)
def test_without_a_login_there_is_only_what_is_open_to_all(school: School, cookie: str | None) -> None:
    """No cookie, a forged one, an odd one: 401, and pages lead to the form."""
    for path, method in asked(school):
        door = next(one for one in ROUTES if one.path == path and method in one.methods)
        told = ask(school.home, method, address(path, "shared"), cookie, b"{}")
        if door.to is Way.OPEN:
            assert told.status not in (401, 403), path
        elif door.page and method == "GET":
            assert (told.status, told.headers["location"][:8]) == (303, "/sign-in"), path
        else:
            assert told.status == 401, (method, path)


def test_a_login_that_ended_opens_nothing(school: School) -> None:
    """Signed out, the same cookie is refused at once."""
    secret = school.logins["maker"]
    where = f"/api/version/{film_id('private')}"
    assert ask(school.home, "GET", where, secret).status == 200
    assert ask(school.home, "POST", "/sign-out", secret).status == 303
    assert ask(school.home, "GET", where, secret).status == 401


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_nobody_acts_as_somebody_else(school: School, method: str) -> None:
    """``?as=`` of another is refused and noted on every route that needs a login, also beside one's own code."""
    secret = school.logins["teacher"]
    for path, known in asked(school):
        door = next(one for one in ROUTES if one.path == path and known in one.methods)
        if door.to is Way.OPEN or known != method:
            continue
        before = _refusals(school, "teacher")
        for query in ("as=L-08", "as=I-01&as=L-08", "as=", "as=i-01"):
            told = ask(school.home, known, f"{address(path, 'shared')}?{query}", secret, b"{}")
            assert (told.status, "message" in told.said) == (403, True), (path, query)
        assert _refusals(school, "teacher") == before + 4


@pytest.mark.parametrize("name", ["maker", "owner"])
def test_games_with_addresses_come_to_nothing(school: School, name: str) -> None:
    """Dots, doubled and encoded slashes, capitals, null bytes, ends cut off: 404, and no byte of a recording."""
    film = film_id("withdrawn")
    games = [
        f"/api//version/{film}",
        f"//api/version/{film}",
        f"/api/./version/{film}",
        f"/api/class/../version/{film}",
        f"/api/class/%2e%2e/version/{film}",
        f"/api/class/..%2fversion/{film}",
        f"/api/version/{film}%00",
        f"/api/version/{film}/",
        f"/api\\version\\{film}",
        f"/API/version/{film}",
        f"/api/VERSION/{film}",
        "/api/version/",
        "/api/version/%2e%2e",
        "/assets/x/..",
        "/assets/x/%2e%2e%2fapp.py",
        "/_stcore/metrics",
        "/_stcore/upload_file/a/b",
        "/media/anything",
        "/component/x/y",
        "/oauth2callback",
        "/auth/login",
    ]
    assert [(game, ask(school.home, "GET", game, school.logins[name]).status) for game in games] == [
        (game, 404) for game in games
    ]


@pytest.mark.parametrize("named", [film_id("private")[:4], "attempt.mp4", "a", "%25", film_id("private").upper()])
def test_parts_and_names_of_recordings_open_nothing(school: School, named: str) -> None:
    """Only the whole id counts, and what is not there is told without a word of what is."""
    told = ask(school.home, "GET", f"/api/version/{named}", school.logins["fellow"])
    assert told.status == 404
    assert not any(film_id(kind) in told.body.decode() for kind in FILMS)


def test_a_recording_that_is_not_there_is_told_again_and_again(school: School) -> None:
    """Who may come to a door is remembered for a moment, but not for what is not there."""
    answers = [ask(school.home, "GET", "/api/version/0123456789ab", school.logins["maker"]) for _ in range(3)]
    assert [told.status for told in answers] == [404] * 3


def test_who_lost_a_right_elsewhere_sees_nothing_more(school: School) -> None:
    """What is behind the door asks again: only that something was said may be heard for a moment."""
    film, secret = film_id("shared"), school.logins["peer"]
    ways = [f"/api/version/{film}", f"/api/board/{film}", f"/api/people/{film}", f"/api/chapters/{film}.vtt"]
    assert [ask(school.home, "GET", way, secret).status for way in ways] == [200, 200, 200, 200]
    with reading(school.home) as repo:
        maker = repo.person(CODES["maker"])
    take_peer_back(school.home, maker, film, CODES["peer"])
    assert [ask(school.home, "GET", way, secret).status for way in ways[1:]] == [403, 403, 403]
    body = json.dumps({"client": "browser-1", "ops": [{"seq": 1, "op": "uncover"}]}).encode()
    assert ask(school.home, "POST", f"/api/deeds/{film}", secret, body).status == 403
    assert ask(school.home, "POST", "/sign-out", secret).status == 303
    assert [ask(school.home, "GET", way, secret).status for way in ways] == [401] * 4


def test_other_sites_and_other_names_are_refused_before_anything_else(school: School) -> None:
    """A valid login does not help a page of another site, nor a name this server was not given."""
    secret, where = school.logins["owner"], f"/api/version/{film_id('shared')}"
    for headers in ({"origin": "http://elsewhere.example"}, {"origin": "null"}, {"sec_fetch_site": "cross-site"}):
        assert ask(school.home, "GET", where, secret, **headers).status == 403
        for form in ("/sign-in", "/sign-out", "/course", "/account", f"/invitation/{'A' * 43}"):
            assert ask(school.home, "POST", form, secret, b"deed=remove", **headers).status == 403, form
    assert ask(school.home, "GET", where, secret, host="elsewhere.example").status == 421
    assert ask(school.home, "GET", where, secret, host="Reviews.Example:8610").status == 200


def test_over_https_only_a_cookie_of_https_counts(school: School) -> None:
    """A cookie that some plain page could have set is not looked at there."""
    secret, where = school.logins["owner"], f"/api/version/{film_id('shared')}"
    assert ask(school.home, "GET", where, secret, scheme="https").status == 200
    assert ask(school.home, "GET", where, scheme="https", cookie=f"runthrough-login={secret}").status == 401


def test_codes_of_others_are_told_to_nobody_who_need_not_know_them(school: School) -> None:
    """What a learner whom nobody asked can read holds no code but the own one; nor does what an outsider reads."""
    for name in ("fellow", "nowhere"):
        for path, method in asked(school):
            told = ask(school.home, method, address(path, "shared"), school.logins[name]).body.decode("latin-1")
            others = [code for who, code in CODES.items() if who != name and code in told]
            assert others == [], (name, method, path)


def test_an_upload_is_its_senders_alone(school: School) -> None:
    """Nobody else appends to it, reads how far it is, asks for room under its name or finishes it."""
    uid, maker, fellow = "f" * 16, school.logins["maker"], school.logins["fellow"]
    here = f"/api/upload/{uid}"
    assert ask(school.home, "PUT", f"{here}?offset=0", maker, b"the first part").said == {"offset": 14}
    others = [("PUT", f"{here}?offset=14"), ("GET", here), ("HEAD", here), ("GET", f"{here}/room?size=99")]
    for method, where in [*others, ("POST", f"{here}/finish")]:
        before = _refusals(school, "fellow")
        assert ask(school.home, method, where, fellow, b"{}").status == 403, where
        assert _refusals(school, "fellow") == before + 1
    assert ask(school.home, "HEAD", here, maker).headers["x-offset"] == "14"


def test_the_frame_of_the_pages_has_few_doors() -> None:
    """The framework's own ways in, but for health and what is the same for everybody, need a login."""
    assert door_to("/_stcore/stream", SOCKET) is not None
    assert door_to("/_stcore/stream", "GET") is None
    shut = [door.path for door in FRAME if door.to is not Way.OPEN]
    assert shut == ["/_stcore/host-config", "/_stcore/stream"]
    assert len({(door.path, door.methods) for door in DOORS}) == len(DOORS)
