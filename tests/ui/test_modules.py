"""The board's modules, called in a real browser without the pages around them."""

from __future__ import annotations

import math
import uuid
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.screens import STAMPS_MS, Site, modules_run

pytestmark = pytest.mark.browser

Run = Callable[..., Any]

MODULES = ("clock", "curves", "dom", "format", "keys", "plots", "queue", "state")


@pytest.fixture(scope="module")
def run(chromium: Any, site: Site) -> Iterator[Run]:
    """Return a function that evaluates code in a page of ours, with the modules' exports in `m`."""
    with modules_run(chromium, site, *MODULES) as evaluated:
        yield evaluated


TIMES = [stamp / 1000 for stamp in STAMPS_MS]


def test_frame_on_screen(run: Run) -> None:
    """Between two presentation times the earlier frame is on the screen, however uneven they are."""
    code = (
        "([times, asked]) => { const c = new m.Clock(new Float64Array(times)); return asked.map((t) => c.frameAt(t)); }"
    )
    asked = [-1.0, 0.0, 0.039, 0.04, 0.159, 0.16, 0.2899, 0.29, 99.0]
    assert run(code, [TIMES, asked]) == [0, 0, 0, 1, 2, 3, 4, 5, len(TIMES) - 1]


def test_seek_lands_inside_every_frame(run: Run) -> None:
    """The middle of a frame lies after its own time and before the next, for every frame of the film."""
    code = """([times, start]) => {
        const clock = new m.Clock(new Float64Array(times), start);
        return times.map((_, frame) => clock.middle(frame));
    }"""
    start = 0.5
    middles = run(code, [TIMES, start])
    following = [*TIMES[1:], math.inf]
    assert all(begin < middle - start < end for begin, middle, end in zip(TIMES, middles, following, strict=True))


def test_nearest_frame_forgives_rounding(run: Run) -> None:
    """A reported time a hair below a frame's own still means that frame."""
    code = (
        "([times, asked]) => { const c = new m.Clock(new Float64Array(times)); return asked.map((t) => c.nearest(t)); }"
    )
    assert run(code, [TIMES, [0.0799999, 0.0800001, 0.15999]]) == [2, 2, 3]


@pytest.mark.parametrize(
    ("press", "deed"),
    [
        ({"key": " ", "code": "Space"}, ["play"]),
        ({"key": "ArrowLeft", "code": "ArrowLeft"}, ["step", -1]),
        ({"key": "ArrowRight", "code": "ArrowRight", "shiftKey": True}, ["skip", 1]),
        ({"key": "[", "code": "BracketLeft"}, ["edge", "start"]),
        ({"key": "[", "code": "Digit8", "ctrlKey": True, "altKey": True}, ["edge", "start"]),
        ({"key": "2", "code": "Digit2"}, ["grade", 2]),
        ({"key": "&", "code": "Digit1"}, ["grade", 1]),
        ({"key": "!", "code": "Digit1", "shiftKey": True}, ["confidence", 1]),
        ({"key": "3", "code": "Numpad3"}, ["grade", 3]),
        ({"key": "r", "code": "KeyR", "ctrlKey": True}, None),
        ({"key": "r", "code": "KeyR"}, ["reveal"]),
        ({"key": "g", "code": "KeyG"}, ["criterion"]),
        ({"key": "p", "code": "KeyP"}, ["outcome"]),
        ({"key": "i", "code": "KeyI"}, None),
        ({"key": "toString", "code": ""}, None),
    ],
    ids=lambda value: str(value.get("key")) if isinstance(value, dict) else None,
)
def test_keys(run: Run, press: dict[str, Any], deed: list[Any] | None) -> None:
    """Each key stands for its deed, on other keyboards too; keys with Ctrl stay the browser's."""
    assert run("(press) => m.deedOf(press)", press) == deed


def test_start_makes_an_open_mark(run: Run) -> None:
    """A start without an end is a mark without length; the end then closes the same mark."""
    code = """() => {
        const row = { step: "walk", side: null };
        const begun = m.edgeOperation("start", 2, null, row, () => "new").op;
        const mark = { id: begun.mark_id, onset_s: begun.onset_s, offset_s: begun.offset_s };
        return [begun, m.edgeOperation("end", 5, mark, row, () => "other").op];
    }"""
    mark = {"op": "mark", "mark_id": "new", "step": "walk", "side": None, "onset_s": 2}
    assert run(code) == [{**mark, "offset_s": 2}, {**mark, "offset_s": 5}]


@pytest.mark.parametrize(
    ("edge", "time", "mark"),
    [("end", 1, {"id": "a", "onset_s": 2, "offset_s": 2}), ("end", 2, None)],
    ids=["before", "none"],
)
def test_end_that_cannot_be(run: Run, edge: str, time: float, mark: dict[str, Any] | None) -> None:
    """An end before the start, or without one, changes nothing and is answered in words."""
    code = "([edge, time, mark]) => m.edgeOperation(edge, time, mark, { step: 'walk', side: null }, () => 'new')"
    answer = run(code, [edge, time, mark])
    assert "op" not in answer
    assert "start" in answer["refusal"]


def test_later_start_keeps_the_end(run: Run) -> None:
    """Moving the start of a closed mark keeps its end; moving it behind the end opens the mark again."""
    code = """(time) => {
        const mark = { id: "a", onset_s: 1, offset_s: 4 };
        return m.edgeOperation("start", time, mark, { step: "w", side: null }).op;
    }"""
    assert [run(code, time)["offset_s"] for time in (2, 5)] == [4, 5]


def test_operations_on_their_way_show_at_once(run: Run) -> None:
    """Pending operations lie over what the store said: moved mark, new grade, removed comment, answered comment."""
    code = """() => {
        const mine = { person: "L-07", role: "learner", mine: true };
        const board = { me: { code: "L-07", role: "learner" },
            marks: [{ id: "a", step: "w", side: null, onset_s: 1, offset_s: 2, ...mine }],
            grades: [{ step: "w", side: null, criterion: null, level: "no", confidence: 1, ...mine }],
            comments: [{ id: "c", step: "w", side: null, onset_s: 1, offset_s: 1, text: "x", ...mine },
                       { id: "d", step: "w", side: null, onset_s: 3, offset_s: 3, text: "y", mine: false }] };
        const state = m.overlay(board, [
            { op: "mark", mark_id: "a", step: "w", side: null, onset_s: 1, offset_s: 5 },
            { op: "grade", step: "w", side: null, level: "yes", confidence: null },
            { op: "remove_comment", comment_id: "c" },
            { op: "comment", comment_id: "e", reply_to: "d", text: "z" } ]);
        const own = m.ofRow(state, { step: "w", side: null });
        const comments = own.comments.map((one) => [one.id, one.onset_s]);
        return [own.mark.offset_s, own.grade.level, comments, board.marks[0].offset_s];
    }"""
    assert run(code) == [5, "yes", [["d", 3], ["e", 3]], 2]


def test_entries_on_their_way_show_at_once(run: Run) -> None:
    """A pending entry replaces one's own on its side, a withdrawn one is gone; those of others stay."""
    code = """() => {
        const board = { me: { code: "L-07", role: "learner" }, marks: [], grades: [], comments: [],
            entries: [{ step: "k", side: "left", text: "1", words: "one", mine: true },
                      { step: "k", side: "right", text: "2", words: "two", mine: true },
                      { step: "k", side: "left", text: "3", words: "three", mine: false }] };
        const state = m.overlay(board, [
            { op: "enter", step: "k", side: "left", text: "4" }, { op: "withdraw_entry", step: "k", side: "right" } ]);
        const [left, right] = ["left", "right"].map((side) => m.ofRow(state, { step: "k", side }));
        return [left.entry.text, left.entry.words, left.otherEntries.map((one) => one.text), right.entry];
    }"""
    assert run(code) == ["4", "", ["3"], None]


QUEUES = """
    const kept = new Map();
    const storage = { getItem: (key) => kept.get(key) ?? null, setItem: (key, value) => kept.set(key, value) };
    const [sent, looks, said] = [[], [], []];
    const still = () => new Promise((done) => setTimeout(done, 300));
    const [ask, told] = [(client) => looks.push(client), (answer) => said.push(answer.faults)];
    const queue = (post) => new m.Queue("film", storage, { post, ask, told });
    const all = ({ client, ops }) => {
        sent.push(ops.map((op) => [op.seq, op.op]));
        return { client, ack: ops.at(-1).seq, faults: [] };
    };
"""


def test_queue_outlives_a_reload(run: Run) -> None:
    """What was not acknowledged is sent again after a reload, held back until the name is known to be ours alone."""
    code = f"""async () => {{ {QUEUES}
        const first = queue(() => Promise.reject(new Error("away")));
        first.open(true);
        first.push({{ op: "one" }});
        first.push({{ op: "two" }});
        first.acknowledge(first.client, 1);
        first.acknowledge("somebody else", 2);
        const second = queue(async (message) => all(message));
        second.push({{ op: "three" }});
        await still();
        const held = [sent.length, looks.length];
        second.open(true);
        second.push({{ op: "four" }});
        await still();
        return [first.client === second.client, held, sent, looks, second.unsent.length, second.ops.length];
    }}"""
    same, held, sent, looks, unsent, listed = run(code)
    assert (same, held) == (True, [0, 0])
    assert sent == [[[2, "two"], [3, "three"]], [[4, "four"]]]
    assert (len(looks), unsent, listed) == (1, 0, 3)


def test_what_is_stored_stays_until_the_board_has_it(run: Run) -> None:
    """It is sent no more, and leaves the list with the board that has it; a look asks for that board."""
    code = f"""async () => {{ {QUEUES}
        const one = queue(async (message) => all(message));
        one.open(true);
        one.push({{ op: "one" }});
        await still();
        const before = [one.ops.length, one.unsent.length];
        one.flush();
        one.acknowledge(one.client, 1);
        return [before, [one.ops.length, one.unsent.length], sent.length, looks.length];
    }}"""
    assert run(code) == [[1, 0], [0, 0], 1, 2]


def test_what_could_not_be_stored_waits_and_is_said(run: Run) -> None:
    """A refusal is told once a try and keeps the list; what has a fault of its own counts as handled."""
    code = f"""async () => {{ {QUEUES}
        let [tries, refused] = [0, true];
        const one = queue(async (message) => {{
            tries += 1;
            if (refused) return {{ client: null, ack: 0, faults: [{{ seq: 0, message: "Not kept yet: no room" }}] }};
            return {{ ...all(message), faults: [{{ seq: 1, message: "There is no such step." }}] }};
        }});
        one.open(true);
        one.push({{ op: "one" }});
        await still();
        const before = [tries, one.unsent.length];
        refused = false;
        one.flush();
        await still();
        return [before, [tries, one.unsent.length], said.map((faults) => faults[0].seq)];
    }}"""
    assert run(code) == [[1, 1], [2, 0], [0, 1]]


def test_copied_window_takes_another_name(run: Run) -> None:
    """A copy of a window drops what it inherited, since the first window sends that, and renumbers its own."""
    code = f"""() => {{ {QUEUES}
        const first = queue(async (message) => all(message));
        first.push({{ op: "one" }});
        const copy = queue(async (message) => all(message));
        copy.push({{ op: "own" }});
        copy.open(false);
        return [copy.client !== first.client, copy.ops.map((op) => [op.seq, op.op])];
    }}"""
    assert run(code) == [True, [[1, "own"]]]


def test_names_are_uuids(run: Run) -> None:
    """A name made in the browser is a random UUID."""
    made = [uuid.UUID(run("() => m.newName()")) for _ in range(5)]
    assert {name.version for name in made} == {4}
    assert len(set(made)) == 5


def test_thinning_keeps_every_extreme(run: Run) -> None:
    """However few pixels there are, the lowest and highest sample stay, and a gap breaks the line."""
    code = """() => {
        const times = Float64Array.from({ length: 1000 }, (_, n) => n / 100);
        const shape = (n) => (n === 333 ? 9 : n === 666 ? -9 : n > 700 && n < 800 ? NaN : 0);
        const values = Float32Array.from(times, (_, n) => shape(n));
        const part = m.thin(times, values, 0, 10, 50);
        const breaks = Array.from(part.broken.keys()).filter((column) => part.broken[column]);
        return [part.min, part.max, Math.min(...Array.from(part.low).filter(Number.isFinite)), breaks];
    }"""
    assert run(code) == [-9, 9, -9, [0, 40]]


def test_unusable_stretches_have_their_reason(run: Run) -> None:
    """A run of equal reasons is one stretch, up to the next sample; neighbours with other reasons are apart."""
    code = """() => m.lostStretches(new Float64Array([0, 1, 2, 3, 4, 5]), new Int8Array([0, 6, 6, 9, 0, 3]))"""
    assert run(code) == [
        {"from": 1, "to": 3, "reason": 6},
        {"from": 3, "to": 4, "reason": 9},
        {"from": 5, "to": 5, "reason": 3},
    ]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0:00.00"), (59.999, "1:00.00"), (61.5, "1:01.50"), (3600, "60:00.00"), (7.125, "0:07.13")],
)
def test_times_in_words(run: Run, seconds: float, words: str) -> None:
    """Times are minutes and seconds; rounding carries into the minutes."""
    assert run("(seconds) => m.clockText(seconds)", seconds) == words


@pytest.mark.parametrize(
    ("colour", "dark"), [("#15181b", True), ("rgb(251, 250, 247)", False), ("rgb(0,0,0)", True), ("", False)]
)
def test_dark_and_light(run: Run, colour: str, dark: bool) -> None:
    """A page's colour tells whether it is dark, in either notation."""
    assert run("(colour) => m.isDark(colour)", colour) is dark


@pytest.mark.parametrize(
    ("curve", "target", "band"),
    [
        ({"measure": "stance_width", "band": True}, {"measure": "stance_width"}, True),
        ({"measure": "eye_closure", "band": False}, {"measure": "eye_closure"}, False),
        ({"measure": "stance_width", "band": True}, {"measure": "stance_width_mm"}, False),
    ],
    ids=["same quantity", "curve of closure and target on its length", "another measure"],
)
def test_band_only_of_the_same_quantity(run: Run, curve: dict[str, Any], target: dict[str, Any], band: bool) -> None:
    """A target is drawn as a band only on a curve that shows the quantity it is about."""
    given = [curve, target]
    assert run("([curve, target]) => m.isBand(curve, target)", given) is band
