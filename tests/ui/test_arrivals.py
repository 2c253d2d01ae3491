"""Films on their way in: slices with a digest, room, and what a killed server left to be done."""

from __future__ import annotations

import base64
import hashlib
import json
import time
from dataclasses import asdict
from pathlib import Path

import pytest

from review.actions import recordings
from review.domain.errors import EntryRefused
from review.domain.model import Recording
from review.store.home import Home
from review.store.repository import reading
from review.store.room import QUOTA_VARIABLE, held_bytes, no_room
from tests.ui.conftest import Site
from ui.arrivals import Arrivals, Wishes


def digest(body: bytes) -> str:
    """Return the header's value for a slice."""
    return f"sha-256=:{base64.b64encode(hashlib.sha256(body).digest()).decode()}:"


def test_damaged_slice_counts_nothing(site: Site) -> None:
    """A slice that is not the one its digest was made of is thrown away; the right one then goes in its place."""
    path = "/api/upload/1111aaaa1111aaaa"
    wrong = site.ask("PUT", f"{path}?offset=0", b"damaged", Content_Digest=digest(b"whole"))
    assert (wrong.status, "damaged on its way" in wrong.said["message"]) == (422, True)
    assert site.ask("HEAD", path).headers["x-offset"] == "0"
    right = site.ask("PUT", f"{path}?offset=0", b"whole", Content_Digest=digest(b"whole"))
    assert right.said == {"offset": 5}


@pytest.mark.parametrize("header", ["sha-256=:AAAA:", "md5=:AAAA:", "sha-256=:A:", ""])
def test_header_without_a_digest(site: Site, header: str) -> None:
    """A header from which no SHA-256 can be read refuses the slice instead of trusting it."""
    answer = site.ask("PUT", "/api/upload/2222aaaa2222aaaa?offset=0", b"whole", Content_Digest=header)
    assert (answer.status, "Content-Digest" in answer.said["message"]) == (422, True)


def test_quota_refuses_before_the_first_slice(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """A film that would lift the home over its quota is refused in words before anything of it is sent."""
    monkeypatch.setenv(QUOTA_VARIABLE, str((held_bytes(site.home) + 5000) / 1e9))
    room = "/api/upload/3333aaaa3333aaaa/room?size="
    assert site.ask("GET", f"{room}4000").status == 200
    refused = site.ask("GET", f"{room}6000")
    assert (refused.status, QUOTA_VARIABLE in refused.said["message"]) == (507, True)
    assert site.ask("PUT", "/api/upload/3333aaaa3333aaaa?offset=0", b"a" * 6000).status == 507


def test_full_disk_is_told_in_words(site: Site) -> None:
    """A film larger than any disk is refused with the sizes that count."""
    reason = no_room(site.home, 10**17)
    assert reason is not None
    assert reason.startswith(f"The disk with {site.home.root} is nearly full")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a file that is always full")
def test_a_disk_that_fills_in_a_slice(site: Site) -> None:
    """The sender is told, nothing of the slice counts, and once there is room the same slice goes in its place."""
    uid = "5555bbbb5555bbbb"
    part = site.home.incoming / uid / "arriving.part"
    part.parent.mkdir(parents=True)
    part.symlink_to("/dev/full")
    path = f"/api/upload/{uid}?offset=0"
    told = site.ask("PUT", path, b"whole", Content_Digest=digest(b"whole"))
    assert (told.status, "is full. What was sent is kept: make room and go on." in told.said["message"]) == (507, True)
    part.unlink()
    assert site.ask("PUT", path, b"whole", Content_Digest=digest(b"whole")).said == {"offset": 5}


def test_an_empty_film_is_called_empty(site: Site) -> None:
    """A file without a byte is refused as empty, whatever else was said of it."""
    body = json.dumps({"file": "nothing.mp4", "size": 0, "as": "L-07"}).encode()
    answer = site.ask("POST", "/api/upload/5555aaaa5555aaaa/finish", body)
    assert (answer.status, answer.said["message"].split(". ")[0]) == (422, "nothing.mp4: the file is empty (0 bytes)")


@pytest.mark.parametrize(("said", "pace"), [({}, 1.0), ({"slow_motion": None}, 1.0), ({"slow_motion": 8}, 8.0)])
def test_pace_is_that_of_life_unless_told(said: dict[str, object], pace: float) -> None:
    """A film plays at the pace of life unless the page says how many times slower."""
    assert Wishes.of({"file": "knee.mp4", "size": 5, **said}).slow_motion == pace


@pytest.mark.parametrize("slow", ["8", True, []])
def test_a_pace_that_is_no_number_is_refused(slow: object) -> None:
    """What is no number of times is refused with what was expected."""
    with pytest.raises(EntryRefused, match="times slower"):
        Wishes.of({"file": "knee.mp4", "size": 5, "slow_motion": slow})


def test_next_start_adds_what_had_arrived(
    furnished: tuple[Home, Recording], tiny_film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A film that had arrived with its wishes when the server was killed is added by the next one, and tidied away."""
    home, recording = furnished
    analysed: list[str] = []
    monkeypatch.setattr(recordings, "start_analysis", lambda home, person, found: analysed.append(found))
    folder = home.incoming / "4444aaaa4444aaaa"
    folder.mkdir()
    (folder / "arriving.part").write_bytes(tiny_film.read_bytes())
    wishes = Wishes("tiny.mp4", tiny_film.stat().st_size, "Tiny", None, False, None)
    with reading(home) as repo:
        person = repo.people()[0]
    (folder / "wishes.json").write_text(json.dumps({"as": person.id, **asdict(wishes)}), "utf-8")
    arrivals = Arrivals(home)
    arrivals.go_on()
    while (found := arrivals.adding(folder.name)).state == "adding":
        time.sleep(0.02)
    assert (found.state, found.recording) == ("done", recording.id)
    assert analysed == [recording.id]
    assert not folder.exists()
