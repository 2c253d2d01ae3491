"""Landmarks and captions as the server answers them."""

from __future__ import annotations

import pytest

from tests.ui.conftest import Site


@pytest.mark.parametrize(
    "path", ["landmarks/nowhere?from=0&to=1", "captions/nowhere.vtt", "comments/nowhere.vtt", "chapters/nowhere.vtt"]
)
def test_unknown_recording(site: Site, path: str) -> None:
    """Whatever is asked of an unknown recording, the answer is 404 with one sentence in JSON."""
    answer = site.ask("GET", f"/api/{path}")
    assert (answer.status, "nowhere" in answer.said["message"]) == (404, True)


@pytest.mark.parametrize(
    ("query", "status", "words"),
    [
        ("from=0&to=1", 404, "not analysed"),
        ("from=0&to=1000", 422, "at most"),
        ("from=2&to=1", 422, "interval"),
        ("from=x&to=1", 422, "number"),
        ("from=0&to=1&as=nobody", 404, "nobody"),
    ],
)
def test_landmarks_that_cannot_be_had(site: Site, query: str, status: int, words: str) -> None:
    """Before an analysis, of too long or impossible a stretch, as nobody: a sentence that says what was expected."""
    answer = site.ask("GET", f"/api/landmarks/{site.recording.id}?{query}")
    assert (answer.status, words in answer.said["message"]) == (status, True)


@pytest.mark.parametrize("kind", ["captions", "comments", "chapters"])
def test_comments_and_marks_are_text_tracks(site: Site, kind: str) -> None:
    """Captions, comments and chapters come as WebVTT, asked for anew each time; other sites may not have them."""
    answer = site.ask("GET", f"/api/{kind}/{site.recording.id}.vtt?as=L-07")
    assert (answer.status, answer.headers["content-type"].split(";")[0]) == (200, "text/vtt")
    assert answer.body.startswith(b"WEBVTT\n")
    assert answer.headers["cache-control"] == "no-cache"
    away = site.ask("GET", f"/api/{kind}/{site.recording.id}.vtt", Sec_Fetch_Site="cross-site")
    assert away.status == 403
