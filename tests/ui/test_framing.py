"""The framing check of an open camera, on frames of the rendered clips."""

from __future__ import annotations

import io
import os
import signal
from pathlib import Path

import av
import numpy as np
import psutil
import pytest
from PIL import Image
from starlette.applications import Starlette
from starlette.routing import Route

import sample_clips
from tests.answers import answered
from tests.ui.conftest import Site
from ui.viewfinder import Viewfinder


def jpeg(picture: Image.Image) -> bytes:
    """Return a picture as a JPEG of at most 480 px a side."""
    picture.thumbnail((480, 480))
    out = io.BytesIO()
    picture.save(out, "JPEG")
    return out.getvalue()


def first_picture(name: str) -> Image.Image:
    """Return a rendered clip's first frame."""
    with av.open(str(Path(sample_clips.__file__).with_name(f"{name}.mp4"))) as film:
        return next(film.decode(video=0)).to_image()


def test_good_framing_says_nothing(site: Site) -> None:
    """A rendered face in a close-up and a rendered person from head to feet are framed well."""
    assert site.ask("POST", "/api/framing?view=face", jpeg(first_picture("face"))).said == {"said": []}
    assert site.ask("POST", "/api/framing?view=body", jpeg(first_picture("romberg"))).said == {"said": []}


def test_what_is_amiss_is_said(site: Site) -> None:
    """A black picture is too dark and shows nobody; a person cut off below the hip shows no feet."""
    black = site.ask("POST", "/api/framing?view=body", jpeg(Image.fromarray(np.zeros((90, 160, 3), np.uint8))))
    assert [sentence.split(":")[0] for sentence in black.said["said"]] == ["It is too dark", "Nobody is in view"]
    person = first_picture("romberg")
    upper = person.crop((0, 0, person.width, round(person.height * 0.6)))
    cut = site.ask("POST", "/api/framing?view=body", jpeg(upper))
    assert [sentence.split(":")[0] for sentence in cut.said["said"]] == ["The feet are not in view"]


@pytest.mark.parametrize("body", [b"", b"no picture"], ids=["nothing", "text"])
def test_what_is_no_picture(site: Site, body: bytes) -> None:
    """What is no picture is refused with a sentence."""
    answer = site.ask("POST", "/api/framing", body)
    assert (answer.status, "JPEG" in answer.said["message"]) == (422, True)


def test_the_checking_process_is_another_one_where_it_ended_and_ends_when_it_is_closed() -> None:
    """One picture is answered with a sentence that says so, the next one as ever; nothing is left behind."""
    camera = Viewfinder()
    app = Starlette(routes=[Route("/", camera.check, methods=["POST"])])
    asked = {"type": "http", "method": "POST", "path": "/", "query_string": b"view=face", "headers": []}
    picture = jpeg(first_picture("face"))
    try:
        assert answered(app, asked, picture).said == {"said": []}
        (first,) = camera.here()._processes
        os.kill(first, signal.SIGKILL)
        told = answered(app, asked, picture)
        assert (told.status, "filming goes on" in told.said["message"]) == (503, True)
        assert answered(app, asked, picture).said == {"said": []}
        (second,) = camera.here()._processes
    finally:
        camera.close()
    assert not psutil.pid_exists(second)
