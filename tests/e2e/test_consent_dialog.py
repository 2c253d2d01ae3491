"""Consent in the browser: noted from the list, taken back while another page is open, and what is left then."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from review.actions import recordings
from review.domain.model import Recording
from review.store.home import Home
from review.store.repository import reading
from tests.e2e.rules import broken
from tests.e2e.test_compare_progress import SIZE
from tests.films import even_times, make_film
from tests.homes import learners_home
from tests.screens import serving

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Home, Recording, Path]]:
    """Serve a home with one recording; its address, the home, the recording, and a further film."""
    folder = tmp_path_factory.mktemp("consent")
    home, learner = learners_home(folder / "home", instructor="I-02")
    kept = recordings.add(home, learner, make_film(folder / "first.mp4", even_times(40)), name="First attempt")
    recordings.stop_analysis(home, learner, kept.id)
    second = make_film(folder / "second.mp4", even_times(41))
    with serving(home) as address:
        yield address, home, kept, second


def test_the_dialog_keeps_the_rules(chromium: Any, lab: tuple[Any, ...]) -> None:
    """The dialog with the text to read unfolded, against axe-core."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{lab[0]}/?as=L-07")
    page.get_by_test_id("consent-of").first.click(timeout=PATIENCE_MS)
    page.get_by_text("Text to read to the examined person").click()
    page.get_by_test_id("consent-note").wait_for()
    assert broken(page) == []
    page.close()


def test_consent_is_noted_with_the_film(chromium: Any, lab: tuple[Any, ...]) -> None:
    """The question beside the film is answered in place; a name instead of initials is refused with a reason."""
    address, home, _, film = lab
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{address}/?as=L-07")
    page.get_by_test_id("film-file").set_input_files(film, timeout=PATIENCE_MS)
    page.get_by_test_id("agreed").check()
    page.get_by_test_id("audience-peers").first.check()
    page.get_by_test_id("partner").first.fill("Kim")
    page.get_by_test_id("add-recording").click()
    page.get_by_test_id("upload-status").get_by_text("no name").wait_for(timeout=PATIENCE_MS)
    page.get_by_test_id("partner").first.fill("K.M.")
    page.get_by_test_id("add-recording").click()
    page.get_by_test_id("consent-line").filter(has_text="peers whom the learner asks").wait_for(timeout=PATIENCE_MS)
    page.close()
    with reading(home) as repo:
        newest = repo.recordings()[0].sharing.consent
    assert newest is not None
    assert newest.partner == "K.M."


def test_an_open_page_goes_blank_when_consent_is_taken_back(chromium: Any, lab: tuple[Any, ...]) -> None:
    """The film and all else leave the other window within seconds; the list keeps a bare row; noting anew opens it."""
    address, _, kept, _ = lab
    watching, page = chromium.new_page(viewport=SIZE), chromium.new_page(viewport=SIZE)
    watching.goto(f"{address}/review?recording={kept.id}&as=I-02")
    watching.get_by_test_id("video").wait_for(timeout=PATIENCE_MS)
    page.goto(f"{address}/review?recording={kept.id}&as=L-07")
    page.get_by_test_id("consent-of").click(timeout=PATIENCE_MS)
    page.get_by_test_id("consent-back").click()
    page.get_by_text("Sure? Take it back now").click()
    page.get_by_test_id("closed").get_by_text("took the consent back").wait_for(timeout=PATIENCE_MS)
    watching.get_by_test_id("closed").get_by_text("took the consent back").wait_for(timeout=PATIENCE_MS)
    assert watching.locator("video").count() == 0
    assert watching.request.get(f"{address}/api/media/{kept.id}?as=L-07").status == 403
    assert watching.request.get(f"{address}/api/still/{kept.id}?t=0.1&as=L-07").status == 403
    assert broken(watching) == []
    watching.close()
    page.get_by_role("link", name="To the recordings").click()
    bare = page.get_by_test_id("bare")
    bare.get_by_text("erase it, or note consent anew").wait_for(timeout=PATIENCE_MS)
    assert "First attempt" not in page.content()
    assert broken(page) == []
    bare.get_by_test_id("consent-of").click()
    page.get_by_test_id("consent").get_by_test_id("audience-instructors").check()
    page.get_by_test_id("consent-note").click()
    page.get_by_test_id("consent-said").get_by_text("Noted").wait_for()
    page.get_by_test_id("consent-close").click()
    page.get_by_role("link", name="First attempt").wait_for(timeout=PATIENCE_MS)
    page.close()


def test_the_text_fits_one_printed_page(chromium: Any, lab: tuple[Any, ...], tmp_path: Path) -> None:
    """The page to print is one sheet of A4."""
    from pypdf import PdfReader

    address, _, kept, _ = lab
    page = chromium.new_page()
    page.goto(f"{address}/api/consent/{kept.id}/paper?as=L-07")
    page.pdf(path=tmp_path / "consent.pdf", prefer_css_page_size=True)
    page.close()
    assert len(PdfReader(tmp_path / "consent.pdf").pages) == 1
