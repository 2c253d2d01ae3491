"""What the server answers beside the pages."""

from __future__ import annotations

import io
import json
import time
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from review.actions import comments
from review.store.repository import repository
from review.store.vault import erase_stowed
from tests.answers import Told
from tests.ui.conftest import STAMPS_MS, Site

UID = "0123456789abcdef"


def test_film_by_ranges(site: Site) -> None:
    """A request for a range of the film's bytes is answered with 206 and just those bytes."""
    whole = site.ask("GET", f"/api/media/{site.recording.id}")
    part = site.ask("GET", f"/api/media/{site.recording.id}", Range="bytes=100-199")
    assert (whole.status, part.status) == (200, 206)
    assert part.body == whole.body[100:200]
    assert part.headers["content-range"] == f"bytes 100-199/{len(whole.body)}"
    assert part.headers["content-type"] == "video/mp4"


def test_film_ranges_beyond_the_end(site: Site) -> None:
    """A range beyond the film's end is refused with 416."""
    assert site.ask("GET", f"/api/media/{site.recording.id}", Range="bytes=99999999-").status == 416


@pytest.mark.parametrize("path", ["media/{}", "times/{}", "trace/{}/stance_width", "still/{}?t=0"])
def test_unknown_recording(site: Site, path: str) -> None:
    """Whatever is asked of an unknown recording, the answer is 404 with one sentence in JSON."""
    answer = site.ask("GET", f"/api/{path.format('nowhere')}")
    assert answer.status == 404
    assert "nowhere" in answer.said["message"]


def test_times_are_those_of_the_frames(site: Site) -> None:
    """The times of the frames come as float64 seconds, with the film's own uneven spacing."""
    answer = site.ask("GET", f"/api/times/{site.recording.id}")
    times = np.frombuffer(answer.body, "<f8")
    np.testing.assert_allclose(times, np.array(STAMPS_MS) / 1000, atol=1e-6)


def test_faults_of_the_film_at_a_step(site: Site) -> None:
    """Before anything was looked at nothing is wrong; a step that the sheet does not have is a 404."""
    address = f"/api/film/{site.recording.id}?as=L-07&step="
    assert site.ask("GET", address + "hand_hygiene").said == {"step": [], "film": []}
    assert site.ask("GET", address + "nowhere").status == 404


def test_curve_before_analysis(site: Site) -> None:
    """A curve of a recording that was not analysed is a 404 that says so."""
    answer = site.ask("GET", f"/api/trace/{site.recording.id}/stance_width")
    assert (answer.status, "not analysed" in answer.said["message"]) == (404, True)


def test_unknown_measure(site: Site) -> None:
    """A curve of a measure that does not exist is a 404 that offers the known ones."""
    answer = site.ask("GET", f"/api/trace/{site.recording.id}/stance_widht")
    assert (answer.status, "stance_width" in answer.said["message"]) == (404, True)


def test_still_is_the_frame_of_its_time(site: Site) -> None:
    """A still shows the frame on the screen at its time: frame 5 stands from 0.29 s to 0.33 s."""
    answer = site.ask("GET", f"/api/still/{site.recording.id}?t=0.31&h=48")
    picture = np.asarray(Image.open(io.BytesIO(answer.body)).convert("L"))
    assert answer.headers["content-type"] == "image/jpeg"
    assert picture.shape[0] == 48
    assert abs(float(picture.mean()) - (20 + 4 * 5)) < 2.5


def test_still_is_kept_until_the_film_turns_out_mirrored(site: Site) -> None:
    """The browser asks again and is told that nothing changed; once the film is said to be mirrored, it is sent."""
    path = f"/api/still/{site.recording.id}?t=0.31&h=48"
    first = site.ask("GET", path)
    again = site.ask("GET", path, If_None_Match=first.headers["etag"])
    assert (first.status, again.status, again.body) == (200, 304, b"")
    with repository(site.home) as repo:
        repo.update_recording(replace(site.recording, mirrored=True))
    try:
        assert site.ask("GET", path, If_None_Match=first.headers["etag"]).status == 200
    finally:
        with repository(site.home) as repo:
            repo.update_recording(site.recording)


@pytest.mark.parametrize(("query", "status"), [("t=99", 404), ("t=-1", 404), ("t=soon", 422), ("t=nan", 422)])
def test_stills_that_cannot_be(site: Site, query: str, status: int) -> None:
    """A still outside of the film, or at no time at all, is refused with a sentence."""
    answer = site.ask("GET", f"/api/still/{site.recording.id}?{query}")
    assert answer.status == status
    assert answer.said["message"]


def test_scripts_and_nothing_else(site: Site) -> None:
    """Our scripts are served as JavaScript; no path leads out of their folder."""
    script = site.ask("GET", "/assets/any/clock.js")
    assert (script.status, script.headers["content-type"]) == (200, "text/javascript; charset=utf-8")
    for path in ("/assets/any/..%2Fapp.py", "/assets/any/nothing.js", "/assets/any/%2e%2e"):
        assert site.ask("GET", path).status == 404


def test_upload_goes_on_where_it_stopped(site: Site) -> None:
    """A slice at the wrong place is refused with 409 and the true offset, and HEAD tells that offset too."""
    assert site.ask("PUT", f"/api/upload/{UID}?offset=0", b"a" * 1000).said == {"offset": 1000}
    wrong = site.ask("PUT", f"/api/upload/{UID}?offset=0", b"a" * 1000)
    assert (wrong.status, wrong.said["offset"]) == (409, 1000)
    assert site.ask("HEAD", f"/api/upload/{UID}").headers["x-offset"] == "1000"
    assert site.ask("PUT", f"/api/upload/{UID}?offset=1000", b"b" * 24).said == {"offset": 1024}
    assert (site.home.incoming / UID / "arriving.part").read_bytes() == b"a" * 1000 + b"b" * 24


@pytest.mark.parametrize("uid", ["..%2F..%2Fetc", "UPPER0123456789AB", "short"])
def test_upload_names_are_narrow(site: Site, uid: str) -> None:
    """An upload's name can be nothing but hexadecimal digits, so that it is no path."""
    assert site.ask("PUT", f"/api/upload/{uid}?offset=0", b"a").status == 404


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
    ],
    ids=["other site", "other port", "cross-site", "same site, other origin"],
)
def test_other_sites_write_nothing(site: Site, headers: dict[str, str]) -> None:
    """A request that a page of another origin sends is refused with 403, and nothing is written."""
    uid = "feedfeedfeedfeed"
    assert site.ask("PUT", f"/api/upload/{uid}?offset=0", b"evil", **headers).status == 403
    assert site.ask("GET", f"/api/times/{site.recording.id}", **headers).status == 403
    assert not (site.home.incoming / uid).exists()


def test_own_page_may_write(site: Site) -> None:
    """Our own page's requests, with its origin, pass."""
    answer = site.ask(
        "PUT", "/api/upload/00ff00ff00ff00ff?offset=0", b"ours", Origin=site.address, Sec_Fetch_Site="same-origin"
    )
    assert answer.status == 200


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8610", "127.0.0.1.evil.example", ""])
def test_other_names_are_refused(site: Site, host: str) -> None:
    """A request under a name that is not this machine's own is refused, whatever it asks for."""
    assert site.ask("GET", "/assets/any/clock.js", Host=host).status == 421


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1:80", "[::1]:8610"])
def test_own_names_pass(site: Site, host: str) -> None:
    """The machine's own names pass, with and without a port."""
    assert site.ask("GET", "/assets/any/clock.js", Host=host).status == 200


def finish(site: Site, uid: str, body: bytes, **wishes: object) -> Told:
    """Send bytes as one slice and have them added; return the last answer."""
    site.ask("PUT", f"/api/upload/{uid}?offset=0", body)
    said = {"file": "notes.mp4", "size": len(body), **wishes}
    begun = site.ask("POST", f"/api/upload/{uid}/finish", json.dumps(said).encode())
    if begun.status != 202:
        return begun
    while (answer := site.ask("GET", f"/api/upload/{uid}")).said["state"] == "adding":
        time.sleep(0.02)
    return answer


def test_no_film_is_refused_and_gone(site: Site) -> None:
    """What is no film is refused under its own name, and nothing of it stays."""
    answer = finish(site, "aaaaaaaaaaaaaaaa", b"this is no film")
    assert answer.said["state"] == "failed"
    assert answer.said["message"].startswith("notes.mp4")
    assert not (site.home.incoming / "aaaaaaaaaaaaaaaa").exists()


def test_film_with_wrong_height_stays(site: Site, tiny_film_bytes: bytes) -> None:
    """A film whose wishes are refused stays on its way in, so that it need not be sent again."""
    answer = finish(site, "bbbbbbbbbbbbbbbb", tiny_film_bytes, partner_height_mm=17.0)
    assert answer.said["state"] == "failed"
    assert site.ask("HEAD", "/api/upload/bbbbbbbbbbbbbbbb").headers["x-offset"] == str(len(tiny_film_bytes))


def test_incomplete_film_waits(site: Site, tiny_film_bytes: bytes) -> None:
    """A film of which bytes are missing is not added yet; the answer says how many are here."""
    answer = finish(site, "cccccccccccccccc", tiny_film_bytes[:500], size=len(tiny_film_bytes))
    assert (answer.status, answer.said["message"].startswith("500 of ")) == (422, True)


def test_nobody_adds_nothing(site: Site, tiny_film_bytes: bytes) -> None:
    """A film that comes from somebody unknown is not added as somebody else's."""
    answer = finish(site, "eeeeeeeeeeeeeeee", tiny_film_bytes, **{"as": "L-99"})
    assert (answer.status, "L-99" in answer.said["message"]) == (404, True)


@pytest.mark.parametrize("body", [b"", b"[]", b"{}", b'{"file": "", "size": 1}', b'{"file": "a.mp4", "size": true}'])
def test_wishes_that_are_none(site: Site, body: bytes) -> None:
    """Whatever else comes in place of what was said of a film is refused with a sentence."""
    answer = site.ask("POST", "/api/upload/dddddddddddddddd/finish", body)
    assert answer.status == 422
    assert "choose" in answer.said["message"]


@pytest.fixture(scope="module")
def tiny_film_bytes(site: Site) -> bytes:
    """Return the bytes of the tiny film as the server gives them."""
    return site.ask("GET", f"/api/media/{site.recording.id}").body


def test_lost_film_says_what_brings_it_back(site: Site) -> None:
    """A lost copy is a 404 that names the command which makes it anew; with the original gone it asks for the film."""
    said, away = [], []
    folder = (site.home.root / site.recording.original).parent
    erase_stowed(site.home, site.recording.sha256)
    try:
        for name in ("playback.mp4", "original.mp4"):
            away.append((folder / name).rename(folder / f"away.{name}"))
            answer = site.ask("GET", f"/api/media/{site.recording.id}")
            said.append((answer.status, answer.said["message"]))
    finally:
        for path in away:
            path.rename(path.with_name(path.name.removeprefix("away.")))
    assert [status for status, _ in said] == [404, 404]
    assert f"runthrough mend {site.recording.id}" in said[0][1]
    assert "Add the same film again" in said[1][1]


def test_version_is_short_and_changes_with_what_is_said(site: Site) -> None:
    """A page that asks again gets the same text until somebody says something; an unknown recording has none."""
    address = f"/api/version/{site.recording.id}?as=L-07"
    first, again = (site.ask("GET", address) for _ in range(2))
    assert first.status == 200
    assert first.said == again.said
    assert len(first.body) < 200
    with repository(site.home) as repo:
        said = comments.write(repo, repo.person("L-07"), site.recording, 0.5, None, "Said.")
    assert site.ask("GET", address).said != first.said
    with repository(site.home) as repo:
        comments.remove(repo, repo.person("L-07"), said.id)
    assert site.ask("GET", "/api/version/ffff").status == 404
