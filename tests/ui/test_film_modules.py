"""The modules about looking at a film, called in a real browser without the pages around them."""

from __future__ import annotations

import json
import struct
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from review.report.landmarks import HOLD_S
from tests.screens import Site, modules_run

pytestmark = pytest.mark.browser

Run = Callable[..., Any]

MODULES = ("stage", "loop", "lockstep", "packs", "beside")

BOX = {"width": 800, "height": 400}
WIDE = {"width": 1600, "height": 900}
TALL = {"width": 900, "height": 1600}


@pytest.fixture(scope="module")
def run(chromium: Any, site: Site) -> Iterator[Run]:
    """Return a function that evaluates code in a page of ours, with the modules' exports in `m`."""
    with modules_run(chromium, site, *MODULES) as evaluated:
        yield evaluated


@pytest.mark.parametrize(
    ("picture", "fit"),
    [
        (WIDE, {"left": 400 - 711.111 / 2, "top": 0, "width": 711.111, "height": 400}),
        (TALL, {"left": 287.5, "top": 0, "width": 225, "height": 400}),
        ({"width": 400, "height": 100}, {"left": 0, "top": 100, "width": 800, "height": 200}),
    ],
    ids=["bars beside", "upright film", "bars above"],
)
def test_the_whole_picture_lies_in_the_middle(run: Run, picture: dict[str, int], fit: dict[str, float]) -> None:
    """The picture is as large as it fits, its bars equal on both sides."""
    assert run("([box, picture]) => m.letterbox(box, picture)", [BOX, picture]) == pytest.approx(fit, abs=1e-2)


@settings(max_examples=60, deadline=None)
@given(
    scale=some.floats(1, 16),
    x=some.floats(0, 1),
    y=some.floats(0, 1),
    factor=some.floats(0.2, 5),
    at=some.tuples(some.floats(0, 800), some.floats(0, 400)),
    picture=some.sampled_from([WIDE, TALL]),
)
def test_no_view_leaves_the_picture(
    run: Run, scale: float, x: float, y: float, factor: float, at: tuple[float, float], picture: dict[str, int]
) -> None:
    """Wherever one zooms, the picture fills the box as far as it can, and is in the middle where it cannot."""
    code = """([view, factor, at, box, picture]) => {
        const seen = m.zoomed(m.bounded(view, box, picture), factor, { x: at[0], y: at[1] }, box, picture);
        return { ...seen, ...m.placing(seen, box, picture) };
    }"""
    seen = run(code, [{"scale": scale, "x": x, "y": y}, factor, at, BOX, picture])
    assert 1 <= seen["scale"] <= 16
    for edge, room, length in (("dx", 800, picture["width"]), ("dy", 400, picture["height"])):
        size = seen["k"] * length
        assert seen[edge] == pytest.approx((room - size) / 2, abs=0.01) or (
            seen[edge] <= 0.01 and seen[edge] + size >= room - 0.01
        )


def test_what_is_under_the_pointer_stays(run: Run) -> None:
    """Going nearer well inside the picture, the place under the pointer keeps its pixel."""
    code = """([box, picture]) => {
        const at = { x: 300, y: 150 };
        const pixel = (view) => {
            const { k, dx, dy } = m.placing(view, box, picture);
            return [(at.x - dx) / k, (at.y - dy) / k];
        };
        const before = m.bounded({ scale: 3, x: 0.5, y: 0.5 }, box, picture);
        return [pixel(before), pixel(m.zoomed(before, 1.7, at, box, picture))];
    }"""
    before, after = run(code, [BOX, WIDE])
    assert after == pytest.approx(before, abs=1e-6)


@pytest.mark.parametrize(
    ("before", "now", "came"), [(1.0, 2.1, True), (1.0, 1.9, False), (2.5, 2.6, False), (2.0, 2.1, False)]
)
def test_only_playing_on_ends_a_loop(run: Run, before: float, now: float, came: bool) -> None:
    """A loop ends where playing crosses its end at 2 s; who is beyond it already is left alone."""
    assert run("([before, now]) => m.cameToEnd(before, now, 2)", [before, now]) is came


@pytest.mark.parametrize(
    ("speed", "ahead", "pace"),
    [(1, 0.0, 1), (1, 0.003, 1), (1, 0.05, 0.9), (1, -0.05, 1.1), (2, 0.05, 1.9), (1, 0.25, 0.75), (1, 0.31, None)],
)
def test_pace_that_brings_back_into_step(run: Run, speed: float, ahead: float, pace: float | None) -> None:
    """Ahead is held back, behind is hurried, by no more than a quarter; too far off is sent where it belongs."""
    assert run("([speed, ahead]) => m.paceFor(speed, ahead)", [speed, ahead]) == (
        pace if pace is None else pytest.approx(pace)
    )


def test_rows_of_frames_not_looked_at(run: Run) -> None:
    """A frame shows its own row, else the last one within a quarter of a second, else none."""
    code = "([times, asked, hold]) => asked.map((time) => m.rowAt({ times: new Float64Array(times) }, time, hold))"
    asked = [0.9, 1.0, 1.2, 1.25, 1.26, 1.5, 1.9]
    assert run(code, [[1.0, 1.5], asked, HOLD_S]) == [-1, 0, 0, 0, -1, 1, -1]


def test_what_the_server_packed_is_unpacked(run: Run) -> None:
    """Head, times, places and readings come out as they went in."""
    head = {"onset_s": 1, "offset_s": 2, "hold_s": 0.25}
    layers = [
        {"words": "a", "rows": 2, "points": 1, "reading": True},
        {"words": "b", "rows": 1, "points": 2, "reading": False},
    ]
    text = json.dumps({**head, "layers": layers}).encode()
    text += b" " * (-(len(text) + 4) % 8)
    times, places = np.array([1.0, 1.5, 1.25], "<f8"), np.arange(8, dtype="<f4")
    body = struct.pack("<I", len(text)) + text + times.tobytes() + places.tobytes() + np.array([7, 8], "<f4").tobytes()
    code = """(bytes) => {
        const found = m.unpack(new Uint8Array(bytes).buffer);
        const list = (numbers) => numbers && [...numbers];
        const told = (one) => [one.words, list(one.times), list(one.places), list(one.readings)];
        return [found.hold, found.layers.map(told)];
    }"""
    hold, found = run(code, list(body))
    assert hold == 0.25
    assert found == [["a", [1.0, 1.5], [0, 1, 2, 3], [7, 8]], ["b", [1.25], [4, 5, 6, 7], None]]


def test_what_can_stand_beside(run: Run) -> None:
    """Exemplars of the step and side come first, then earlier attempts; what has no film yet is left out."""
    code = """() => {
        const film = { src: "/film", onset_s: 1 };
        const state = { exemplars: [
            { id: "e1", step: "k", side: "left", person: "I-02", name: "Well", ...film },
            { id: "e2", step: "k", side: "right", person: "I-02", name: "Other side", ...film },
            { id: "e3", step: "k", side: "left", person: "I-02", name: "On its way", onset_s: 1 } ] };
        const attempt = { recording: "r", step: "k", side: "left", attempt: 1, name: "First", ...film };
        const data = { own_attempts: [attempt] };
        return m.choicesOf(state, data, { step: "k", side: "left" }).map((one) => one.words);
    }"""
    assert run(code) == ["Exemplar of I-02: Well", "Attempt 1: First"]
