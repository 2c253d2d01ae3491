"""Our WebVTT as Chromium's own reader sees it: the same cues as ours does."""

from __future__ import annotations

import base64
from typing import Any

import pytest

from review.exchange.timed_text import metadata_track, read_cues
from tests.exchange.said import SAID
from tests.exchange.test_timed_text import COMMENTED, METADATA, NESTED

pytestmark = pytest.mark.browser

READ = """(address) => new Promise((done, failed) => {
    const video = document.body.appendChild(document.createElement("video"));
    const track = Object.assign(document.createElement("track"), { kind: "metadata", src: address });
    track.onload = () => done(Array.from(track.track.cues, (cue) =>
        [cue.id, Math.round(1000 * cue.startTime), Math.round(1000 * cue.endTime), cue.text]));
    track.onerror = () => failed(new Error("no track"));
    video.append(track);
    track.track.mode = "hidden";
})"""


@pytest.mark.parametrize(
    "text", [metadata_track(SAID), METADATA, NESTED, COMMENTED], ids=["ours", "metadata", "nested", "comments"]
)
def test_a_browser_sees_the_same_cues(chromium: Any, text: str) -> None:
    """Ids, times to the millisecond and texts are those that our reader gives, for our track and for examples."""
    page = chromium.new_page()
    found = page.evaluate(READ, f"data:text/vtt;base64,{base64.b64encode(text.encode()).decode()}")
    page.close()
    faults: list[str] = []
    ours = [[cue.id, cue.onset_ms, cue.offset_ms, cue.text] for cue in read_cues(text, faults)]
    assert found == ours
    assert (faults, len(ours) > 0) == ([], True)
