"""The whole way of an attempt through three browsers, each of which has only what is its person's to see.

A learner shares it, a peer comments, an instructor answers and signs, and the learner sees all of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from review.actions import checklists, courses, inviting
from review.domain.course import Course, CourseRole, Membership
from review.domain.signoff import Finding
from review.store.home import Home, find_home
from review.store.repository import reading, repository
from tests.e2e.coded import even_ms, write_coded
from tests.screens import all_kept, browser_program, serving

pytestmark = pytest.mark.browser

PASSWORD = "lantern tide marble owl"
PATIENCE_MS = 60_000
SIZE = {"width": 1366, "height": 768}
SAID, ANSWER = "The feet are apart until here.", "Right. Heel to heel, then begin to count."
SHEET = """
id = "stand_still"
version = 1
title = "Fenwick Shore, standing still"
summary = "Two steps."
notice = "Practice feedback, not a diagnosis."

[scale]
name = "Two levels"
not_assessable = "cannot be judged"
levels = [{ key = "yes", word = "yes", share = 1 }, { key = "not_yet", word = "not yet", share = 0 }]

[pass]
critical = true

[[section]]
id = "all"
title = "All"

[[section.step]]
id = "feet"
title = "Feet together"
action = "Stand with the feet together."
expected = "Heel to heel."
caution = "Stand guard."
points = 1
critical = true

[[section.step]]
id = "count"
title = "Count aloud"
action = "Count to twenty."
expected = "No step."
caution = "Stand guard."
points = 1
"""


@dataclass(frozen=True, slots=True)
class Lab:
    """A served home to which people sign in, the links that they were invited by, and a film."""

    address: str
    home: Home
    links: dict[str, str]
    film: Path


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """Invite a learner, a peer, a fellow and an instructor to a course."""
    folder = tmp_path_factory.mktemp("three")
    home = find_home(folder / "home")
    with repository(home) as repo:
        courses.start(repo, "balance", "Fenwick Shore, balance and senses lab", "I-01")
        owner = repo.person("I-01")
        text = folder / "stand_still.toml"
        text.write_text(SHEET)
        checklists.save(repo, owner, text)
        roles = dict.fromkeys(("L-07", "L-12", "L-20"), CourseRole.LEARNER) | {"I-03": CourseRole.INSTRUCTOR}
        repo.courses().put(Course("nerves", "Fenwick Shore, cranial nerves", datetime.now(UTC)))
        links = {code: inviting.invite(repo, owner, "balance", code, role) for code, role in roles.items()}
        learner = repo.person("L-07")
        repo.courses().put_member(Membership("nerves", learner.id, CourseRole.LEARNER))
    film = write_coded(folder / "attempt.mp4", even_ms(6.0))
    with serving(home) as address:
        yield Lab(address, home, links, film)


@pytest.fixture
def browsers(chromium: Any, lab: Lab) -> Iterator[dict[str, Any]]:
    """Give each person a page in a browser of their own, signed in by the link of the invitation."""
    kinds = chromium.browser_type
    running = {}
    for code in ("L-07", "L-12", "I-03"):
        running[code] = kinds.launch(executable_path=browser_program(), args=["--no-sandbox", "--disable-gpu"])
    pages = {code: browser.new_page(viewport=SIZE) for code, browser in running.items()}
    for code, page in pages.items():
        take_invitation(page, lab, code)
    yield pages
    for browser in running.values():
        browser.close()


def take_invitation(page: Any, lab: Lab, code: str) -> None:
    """Choose a password on the page of the invitation, which signs in."""
    page.goto(f"{lab.address}/invitation/{lab.links[code]}")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_label("Once more").fill(PASSWORD)
    page.get_by_role("button", name="Take the invitation").click()
    page.get_by_role("heading", name="Recordings").wait_for(timeout=PATIENCE_MS)


def review(page: Any, lab: Lab, recording_id: str) -> None:
    """Open the Review page of the recording."""
    page.goto(f"{lab.address}/review?recording={recording_id}")
    page.get_by_test_id("frame").get_by_text("frame ").wait_for(state="attached", timeout=PATIENCE_MS)


def grade(page: Any, step: str, digit: str) -> None:
    """Grade a step by keys, and say that one is sure, which uncovers it."""
    page.locator(f'[data-testid="row"][data-key="{step}|"] .row-title').click()
    page.keyboard.press(digit)
    page.keyboard.press("Shift+3")


def test_an_attempt_goes_from_learner_to_peer_to_instructor_and_back(browsers: dict[str, Any], lab: Lab) -> None:
    """Added with consent, shared, commented on, answered, graded, signed, seen; the rest of the course sees nothing."""
    learner, peer, instructor = browsers["L-07"], browsers["L-12"], browsers["I-03"]
    assert learner.get_by_test_id("recording").count() == peer.get_by_test_id("recording").count() == 0

    recording_id = add_with_consent(learner, lab)
    for page in (peer, instructor):
        assert page.request.get(f"{lab.address}/api/media/{recording_id}").status == 403
    share(learner)

    peer.goto(lab.address)
    peer.get_by_test_id("recording").get_by_text("Standing still, first try").wait_for(timeout=PATIENCE_MS)
    review(peer, lab, recording_id)
    grade(peer, "feet", "2")
    peer.keyboard.press("Shift+ArrowRight")
    comment(peer, SAID)

    review(instructor, lab, recording_id)
    assert instructor.get_by_text(SAID).count() == 0
    assert not instructor.get_by_test_id("share-of").is_visible()
    grade(instructor, "feet", "2")
    heard = instructor.get_by_test_id("comment").filter(has_text=SAID).first
    heard.wait_for(timeout=PATIENCE_MS)
    heard.get_by_test_id("comment-answer").click()
    instructor.get_by_test_id("comment-box").fill(ANSWER)
    instructor.get_by_test_id("comment-save").click()
    grade(instructor, "count", "1")
    sign(instructor)

    review(learner, lab, recording_id)
    learner.get_by_test_id("share-of").click()
    learner.get_by_test_id("handed-in").get_by_text("Handed in on").wait_for(timeout=PATIENCE_MS)
    learner.get_by_test_id("share-close").click()
    assert learner.get_by_text(SAID).count() == 0
    grade(learner, "feet", "1")
    for text in (SAID, ANSWER):
        learner.get_by_test_id("comment").get_by_text(text).first.wait_for(timeout=PATIENCE_MS)
    learner.keyboard.press("p")
    learner.get_by_test_id("signed").get_by_text("To be repeated").wait_for(timeout=PATIENCE_MS)
    holds(lab, recording_id)


def add_with_consent(page: Any, lab: Lab) -> str:
    """Send the film with the examined person's consent to peers and instructors; return the recording's id."""
    page.get_by_test_id("film-file").set_input_files(lab.film, timeout=PATIENCE_MS)
    page.get_by_label("Checklist").select_option("stand_still")
    page.get_by_test_id("course").select_option(label="Fenwick Shore, balance and senses lab")
    page.get_by_label("Name shown").fill("Standing still, first try")
    page.get_by_test_id("agreed").check()
    page.get_by_test_id("audience-peers").first.check()
    page.get_by_test_id("audience-instructors").first.check()
    page.get_by_test_id("partner").first.fill("K.M.")
    page.get_by_test_id("add-recording").click()
    page.get_by_test_id("recording").get_by_text("Standing still, first try").wait_for(timeout=PATIENCE_MS)
    with reading(lab.home) as repo:
        (recording,) = repo.recordings()
    assert (recording.checklist_id, recording.sharing.course_id) == ("stand_still", "balance")
    return recording.id


def share(page: Any) -> None:
    """Hand the attempt in and ask the peer, in the dialog."""
    page.get_by_test_id("share-of").click()
    page.get_by_test_id("hand-in").click()
    page.get_by_text("Handed in. Instructors of the course see it now.").wait_for()
    page.get_by_test_id("peer-code").fill("L-12")
    page.get_by_test_id("ask-peer").click()
    page.get_by_test_id("share").get_by_text("L-12").first.wait_for()
    page.get_by_test_id("share-close").click()


def comment(page: Any, text: str) -> None:
    """Write a comment by keys, and wait until it is kept."""
    page.keyboard.press("c")
    page.keyboard.type(text)
    page.keyboard.press("Enter")
    page.get_by_test_id("comment").get_by_text(text).first.wait_for(timeout=PATIENCE_MS)
    all_kept(page, PATIENCE_MS)


def sign(page: Any) -> None:
    """Sign that the attempt is to be repeated."""
    page.keyboard.press("p")
    page.get_by_test_id("outcome").wait_for()
    page.locator('[data-testid="finding"][value="to_be_repeated"]').check(timeout=PATIENCE_MS)
    page.get_by_test_id("sign-words").fill("Feet together, then once more in a week.")
    page.get_by_test_id("sign").click()
    page.get_by_test_id("sign").get_by_text("Sure?").wait_for()
    page.get_by_test_id("sign").click()
    page.get_by_test_id("signed").get_by_text("To be repeated").wait_for(timeout=PATIENCE_MS)


def holds(lab: Lab, recording_id: str) -> None:
    """Hold what is stored against what was done, and who looked against who did."""
    with reading(lab.home) as repo:
        people = {one.id: one.code for one in repo.people()}
        said = {(people[one.person_id], one.text): one for one in repo.comments(recording_id)}
        (signed,) = repo.sign_offs().of(recording_id)
        looked = {people.get(look.person_id or "") for look in repo.looks().of(recording_id) if look.allowed}
        refused = {people.get(look.person_id or "") for look in repo.looks().of(recording_id) if not look.allowed}
    assert set(said) == {("L-12", SAID), ("I-03", ANSWER)}
    assert said["I-03", ANSWER].reply_to == said["L-12", SAID].id
    assert (signed.finding, people[signed.person_id]) == (Finding.AGAIN, "I-03")
    assert looked >= {"L-07", "L-12", "I-03"}
    assert refused == {"L-12", "I-03"}


def test_a_fellow_who_was_not_asked_sees_nothing(chromium: Any, lab: Lab) -> None:
    """Another learner of the same course has an empty list, and every address of the recording is refused."""
    with reading(lab.home) as repo:
        (recording,) = repo.recordings()
    context = chromium.new_context(viewport=SIZE)
    page = context.new_page()
    take_invitation(page, lab, "L-20")
    page.get_by_test_id("film-file").wait_for(state="attached", timeout=PATIENCE_MS)
    assert page.get_by_test_id("recording").count() == 0
    for kind in ("media", "times", "version", "captions", "export"):
        tail = {"captions": ".vtt", "export": "/report"}.get(kind, "")
        assert page.request.get(f"{lab.address}/api/{kind}/{recording.id}{tail}").status == 403
    context.close()
