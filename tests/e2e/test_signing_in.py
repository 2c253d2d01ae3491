"""Signing in, sharing and signing out in the browser; a login that ends closes the pages that are open."""

from __future__ import annotations

import http.client
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from review.actions import checklists, consents, courses, inviting, recordings, signing_in
from review.domain.course import CourseRole
from review.domain.sharing import Audience
from review.store.home import Home, find_home
from review.store.repository import reading, repository
from tests.e2e.rules import broken
from tests.screens import serving

PASSWORD = "lantern tide marble owl"
pytestmark = pytest.mark.browser


@dataclass(frozen=True, slots=True)
class Lab:
    """A served home to which people sign in: L-07 has an attempt, I-01 owns the course, L-12 is a fellow."""

    address: str
    home: Home
    recording: str
    link: str


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory, tiny_film: Path) -> Iterator[Lab]:
    """Make the home and serve it."""
    home = find_home(tmp_path_factory.mktemp("lab") / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        owner = courses.start(repo, "balance", "Fenwick Shore, balance and senses lab", "I-01")
        runs = repo.person("I-01")
        mine = inviting.invite(repo, runs, "balance", "L-07", CourseRole.LEARNER, "Tuesday")
        link = inviting.invite(repo, runs, "balance", "L-12", CourseRole.LEARNER, "Tuesday")
    for secret in (owner, mine):
        inviting.take_with_password(home, secret, PASSWORD)
    with reading(home) as repo:
        learner = repo.person("L-07")
    film = recordings.add(home, learner, tiny_film, name="Tiny attempt")
    consents.note(home, learner, film.id, [Audience.INSTRUCTORS])
    with serving(home) as address:
        yield Lab(address, home, film.id, link)


@pytest.fixture
def page(chromium: Any, lab: Lab) -> Iterator[Any]:
    """Give a page of a browser that nobody is signed in with."""
    context = chromium.new_context(viewport={"width": 1366, "height": 768})
    yield context.new_page()
    context.close()


def enter(page: Any, lab: Lab, code: str, start: str = "/") -> None:
    """Sign in by the form."""
    page.goto(f"{lab.address}{start}")
    page.get_by_label("Code").fill(code)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def test_one_signs_in_shares_and_signs_out(page: Any, lab: Lab) -> None:
    """The way one came for is gone on with; handing in goes as far as was agreed; after signing out nothing is left."""
    enter(page, lab, "L-07", f"/review?recording={lab.recording}")
    page.get_by_test_id("consent-of").wait_for(timeout=60_000)
    assert not page.get_by_test_id("person").is_visible()
    page.goto(lab.address)
    page.get_by_test_id("share-of").click(timeout=60_000)
    page.get_by_text("Not agreed: shown to peers").wait_for()
    page.get_by_test_id("hand-in").click()
    page.get_by_text("Handed in. Instructors of the course see it now.").wait_for()
    page.get_by_test_id("peer-code").fill("L-12")
    page.get_by_test_id("ask-peer").click()
    page.get_by_text("did not agree that peers").wait_for()
    page.get_by_test_id("share-close").click()
    with reading(lab.home) as repo:
        sharing = repo.recording(lab.recording).sharing
    assert (sharing.handed_in_at is not None, sharing.requests) == (True, ())
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("heading", name="Sign in").wait_for()
    assert page.request.get(f"{lab.address}/api/version/{lab.recording}").status == 401


def test_a_login_that_ends_elsewhere_ends_the_open_page(page: Any, lab: Lab) -> None:
    """The page says that nobody is signed in as soon as something is done, and shows nothing of a recording."""
    enter(page, lab, "L-07")
    page.get_by_test_id("recording").wait_for(timeout=60_000)
    with repository(lab.home) as repo:
        repo.accounts().end_all(repo.person("L-07").id)
    page.get_by_role("link", name="Compare").first.click()
    page.get_by_text("Nobody is signed in here").first.wait_for(timeout=30_000)
    page.get_by_test_id("recording").wait_for(state="detached", timeout=30_000)
    assert page.get_by_text("Tiny attempt").count() == 0


def test_the_pages_connection_needs_a_login(lab: Lab) -> None:
    """Without one, with a forged or an ended one and from another site it is refused; with one it opens."""
    with repository(lab.home) as repo:
        person, now = repo.person("I-01"), datetime.now(UTC)
        secret, ended = (signing_in.open_login(repo, person.id, now) for _ in range(2))
    signing_in.sign_out(lab.home, ended)
    assert [_shaken(lab, cookie) for cookie in ("", "B" * 43, ended)] == [403] * 3
    assert _shaken(lab, secret, Origin="http://elsewhere.example") == 403
    assert _shaken(lab, secret) == 101


def _shaken(lab: Lab, secret: str, **headers: str) -> int:
    """Return the status with which the server answers a handshake for the page's own connection."""
    connection = http.client.HTTPConnection(lab.address.removeprefix("http://"), timeout=20)
    asked = {
        "Upgrade": "websocket",
        "Connection": "Upgrade",
        "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",
        "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Protocol": "streamlit",
        "Cookie": f"runthrough-login={secret}",
        "Origin": lab.address,
        **headers,
    }
    try:
        connection.request("GET", "/_stcore/stream", headers=asked)
        return connection.getresponse().status
    finally:
        connection.close()


def test_the_plain_pages_can_be_read_by_all(page: Any, lab: Lab) -> None:
    """Signing in, an invitation, the account and the course keep the rules of WCAG 2.2 AA, light and dark."""
    page.goto(f"{lab.address}/sign-in")
    assert broken(page) == []
    page.goto(f"{lab.address}/invitation/{lab.link}")
    assert broken(page) == []
    enter(page, lab, "I-01", "/sign-in")
    page.wait_for_url(f"{lab.address}/**")
    for place in ("/account", "/course"):
        page.goto(f"{lab.address}{place}")
        assert broken(page) == []


def test_an_owner_invites_changes_and_removes(page: Any, lab: Lab) -> None:
    """Links are shown once, one a code; a removed person is gone from the list; a fault changes nothing."""
    enter(page, lab, "I-01", "/course")
    page.get_by_label("Codes").fill("L-31, L-32\nL-33")
    page.get_by_role("button", name="Make links").click()
    links = page.locator("code").all_text_contents()
    assert [link.startswith("/invitation/") for link in links] == [True] * 3
    page.get_by_label("Codes").fill("L-34 Jane")
    page.get_by_role("button", name="Make links").click()
    assert "Use no names" in page.get_by_role("alert").text_content()
    page.get_by_role("button", name="Remove L-33").click()
    assert "L-33 belongs to the course no more" in page.get_by_role("status").text_content()
    codes = page.locator("tbody b").all_text_contents()
    assert ("L-33" in codes, "L-34" in codes, "L-31" in codes) == (False, False, True)


def test_the_password_is_changed_on_the_account_page(page: Any, lab: Lab) -> None:
    """A wrong old one is told; the link of an invitation leads there without any script."""
    page.goto(f"{lab.address}/invitation/{lab.link}")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_label("Once more").fill(PASSWORD)
    page.get_by_role("button", name="Take the invitation").click()
    page.goto(f"{lab.address}/account")
    page.get_by_label("Password so far").fill("something else entirely")
    page.get_by_label("New password at least").fill("copper gate seven plums")
    page.get_by_label("New password once more").fill("copper gate seven plums")
    page.get_by_role("button", name="Change the password").click()
    assert "so far is another" in page.get_by_role("alert").text_content()
    assert json.loads(page.request.get(f"{lab.address}/api/exports").text())
