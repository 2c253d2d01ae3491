"""The timeline's modules, called in a real browser without the pages around them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

import pytest

from tests.screens import STAMPS_MS, Site, modules_run

pytestmark = pytest.mark.browser

Run = Callable[..., Any]

MODULES = ("clock", "curves", "dragging", "history", "keys", "lanes", "proposals", "state", "view")

TIMES = [stamp / 1000 for stamp in STAMPS_MS]


@pytest.fixture(scope="module")
def run(chromium: Any, site: Site) -> Iterator[Run]:
    """Return a function that evaluates code in a page of ours, with the modules' exports in `m`."""
    with modules_run(chromium, site, *MODULES) as evaluated:
        yield evaluated


VIEW = "const view = new m.View(); view.setEnd(100);"


def test_zoom_keeps_the_time_under_the_pointer(run: Run) -> None:
    """Looking closer and further leaves the time it is done at where it was, and never leaves the film."""
    code = f"""() => {{ {VIEW}
        view.show(20, 60);
        const share = () => (30 - view.from) / view.span;
        const before = share();
        view.zoom(30, 4);
        const closer = [share() - before, view.span];
        view.zoom(30, 1 / 4);
        const back = [view.from, view.to];
        view.zoom(30, 1 / 100);
        return [closer, back, [view.from, view.to], view.whole];
    }}"""
    closer, back, furthest, whole = run(code)
    assert closer == pytest.approx([0, 10])
    assert back == pytest.approx([20, 60])
    assert furthest == [0, 100]
    assert whole


def test_view_turns_its_page_with_the_playhead(run: Run) -> None:
    """Playing out of the stretch turns the page; somebody who looks elsewhere is left alone until the film comes by."""
    code = f"""() => {{ {VIEW}
        view.show(10, 20);
        const inside = view.follow(15, false);
        const turned = view.follow(20.1, false);
        const page = [view.from, view.to];
        view.pan(50);
        view.looked(20.1);
        const alone = [view.follow(21, false), view.from];
        const met = view.follow(view.from + 1, false);
        const sent = view.follow(5, true);
        return [inside, turned, page, alone, met, sent, view.holds(5)];
    }}"""
    inside, turned, page, alone, met, sent, holds = run(code)
    assert (inside, turned, met, sent, holds) == (False, True, False, True, True)
    assert page[0] < 20.1 < page[1]
    assert alone == [False, pytest.approx(page[0] + 50)]


def test_marks_that_overlap_lie_on_rows(run: Run) -> None:
    """No two marks on a row overlap, and there are only as many rows as marks at once."""
    spans = [(0, 10), (2, 4), (3, 6), (4, 8), (10, 12), (11, 11), (11, 11)]
    given = [{"onset_s": onset, "offset_s": offset} for onset, offset in spans]
    stacked = run("(spans) => m.stack(spans).map((one) => [one.row, one.span.onset_s, one.span.offset_s])", given)
    assert len(stacked) == len(spans)
    assert max(row for row, *_ in stacked) == 2
    for row, onset, offset in stacked:
        others = [one for one in stacked if one[0] == row and one != [row, onset, offset]]
        assert all(offset <= other[1] or other[2] <= onset for other in others)


def test_bands_of_raters(run: Run) -> None:
    """One's own band comes first even when it is empty, then the others by role, proposals last."""
    code = """() => {
        const mark = (person, role, mine = false) => ({ person, role, mine, onset_s: 1, offset_s: 2 });
        const marks = [mark("I-02", "instructor"), mark("L-12", "peer"), mark("L-07", "learner")];
        return m.bandsOf(marks, [{ onset_s: 1, offset_s: 2 }]).map((band) => [band.who, band.stacked.length]);
    }"""
    assert run(code) == [["you", 0], ["L-07", 1], ["L-12", 1], ["I-02", 1], ["proposed", 1]]


DRAGS = [
    ("new", 0.05, None, 0.3, [0.04, 0.29]),
    ("new", 0.3, None, 0.05, [0.04, 0.29]),
    ("start", 0.2, [0.2, 0.44], 0.315, [0.33, 0.44]),
    ("start", 0.2, [0.2, 0.44], 9.0, [0.4, 0.44]),
    ("end", 0.44, [0.2, 0.44], 0.41, [0.2, 0.4]),
    ("end", 0.44, [0.2, 0.44], -1.0, [0.2, 0.29]),
    ("end", 0.2, [0.2, 0.2], 0.47, [0.2, 0.48]),
    ("start", 0.2, [0.2, 0.2], 0.3, [0.29, 0.29]),
    ("move", 0.3, [0.2, 0.44], 0.39, [0.29, 0.52]),
    ("move", 0.3, [0.2, 0.44], -5.0, [0.0, 0.2]),
    ("move", 0.3, [0.2, 0.44], 99.0, [TIMES[-1] - 0.24, TIMES[-1]]),
]


@pytest.mark.parametrize(("part", "at", "mark", "time", "expected"), DRAGS)
def test_drags_land_on_frames(
    run: Run, part: str, at: float, mark: list[float] | None, time: float, expected: list[float]
) -> None:
    """Whatever is dragged wherever, both edges are presentation times of frames, in order and in the film."""
    given = mark and {"onset_s": mark[0], "offset_s": mark[1]}
    code = """([times, part, at, mark, time]) =>
        m.dragged({ part, at, mark }, time, new m.Clock(new Float64Array(times)))"""
    found = run(code, [TIMES, part, at, given, time])
    assert {found["onset_s"], found["offset_s"], found["edge_s"]} <= set(TIMES)
    assert found["onset_s"] <= found["offset_s"]
    assert [found["onset_s"], found["offset_s"]] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("at", "left", "right", "part"),
    [(101, 100, 200, "start"), (95, 100, 200, "start"), (150, 100, 200, "move"), (204, 100, 200, "end"),
     (80, 100, 200, None), (103, 100, 106, "move"), (99, 100, 104, "start"), (105, 100, 104, "end")],
)  # fmt: skip
def test_parts_of_a_mark(run: Run, at: float, left: float, right: float, part: str | None) -> None:
    """Near its ends a mark is trimmed, between them moved; a narrow one keeps a middle and ends that reach outwards."""
    assert run("([at, left, right]) => m.partAt(at, left, right, 6)", [at, left, right]) == part


@pytest.mark.parametrize(
    ("by", "time", "expected"),
    [({"frames": 1}, 0.2, [0.29, 0.44]), ({"frames": -1}, 0.2, [0.16, 0.44]), ({"frames": 1}, 0.4, [0.2, 0.48]),
     ({"frames": -9}, 0.4, [0.2, 0.29]), ({"frames": 9}, 0.2, [0.4, 0.44]), ({"seconds": 1}, 0.4, [0.2, 1.44])],
)  # fmt: skip
def test_nudge_moves_the_nearer_edge(run: Run, by: dict[str, int], time: float, expected: list[float]) -> None:
    """The edge nearer to the playhead moves by whole frames, and never past the other."""
    code = """([times, by, time]) => {
        const mark = { id: "a", step: "w", side: null, onset_s: 0.2, offset_s: 0.44 };
        return m.nudgeOperation(by, time, mark, new m.Clock(new Float64Array(times)));
    }"""
    found = run(code, [TIMES, by, time])["op"]
    assert [found["onset_s"], found["offset_s"]] == pytest.approx(expected)


@pytest.mark.parametrize("seed", range(3))
def test_summary_changes_nothing(run: Run, seed: int) -> None:
    """Thinned with the summary or without, every column has the same ends and breaks, gaps and uneven times or not."""
    code = """(seed) => {
        let state = seed + 1;
        const random = () => (state = (state * 48271) % 2147483647) / 2147483647;
        const times = new Float64Array(20000);
        for (let at = 1; at < times.length; at++) {
            times[at] = times[at - 1] + (random() < 0.001 ? 5 : 0.01 + 0.03 * random());
        }
        let gap = 0;
        const values = Float32Array.from(times, () => {
            if (gap > 0) gap--;
            else if (random() < 0.004) gap = Math.floor(600 * random());
            return gap ? NaN : random() - 0.5;
        });
        const end = times[times.length - 1];
        const levels = m.summary(values);
        return [[0, end], [end * 0.3, end * 0.31], [-1, end * 0.5]].every(([from, to]) => {
            const plain = m.thin(times, values, from, to, 300);
            const quick = m.thin(times, values, from, to, 300, levels);
            const same = (name) => plain[name].every((value, at) => Object.is(value, quick[name][at]));
            return same("low") && same("high") && same("broken") && plain.min === quick.min && plain.max === quick.max;
        });
    }"""
    assert run(code, seed)


def test_stretches_near_each_other_are_gone_through_as_one(run: Run) -> None:
    """Stretches of one reason with a short pause are one; another reason, or a long pause, begins a new one."""
    lost = [{"from": a, "to": b, "reason": r} for a, b, r in [(0, 1, 3), (1.2, 2, 3), (2, 3, 6), (4, 5, 6)]]
    found = run("(lost) => m.gathered(lost)", lost)
    assert [(one["from"], one["to"], one["reason"]) for one in found] == [(0, 2, 3), (2, 3, 6), (4, 5, 6)]


HISTORY = """
    const kept = new Map();
    const storage = { getItem: (key) => kept.get(key) ?? null, setItem: (key, value) => kept.set(key, value) };
    let now = 0;
    let history = new m.History("film.me", storage, () => now);
    const board = { me: { code: "L-07", role: "learner" }, marks: [], grades: [], comments: [], entries: [] };
    const ops = [];
    const state = () => m.overlay(board, ops);
    const push = (op, held) => {
        const before = state();
        ops.push({ ...op, seq: ops.length + 1 });
        history.note(ops.at(-1), before, state(), held);
    };
    const turn = (way) => {
        const found = history[way](state());
        if (!found?.operation) return found;
        ops.push({ ...found.operation, seq: ops.length + 1 });
        found.sent(ops.length);
        return found;
    };
    const place = { step: "w", side: null };
    const mark = (onset_s, offset_s) => ({ op: "mark", mark_id: "a", ...place, onset_s, offset_s });
    const shown = () => [
        state().marks.map((one) => [one.onset_s, one.offset_s]), state().grades.map((one) => one.level),
        state().entries.map((one) => one.text), state().comments.map((one) => one.text)];
"""

DEEDS = """
    push(mark(1, 1)); push(mark(1, 2)); push({ op: "grade", ...place, level: "yes", confidence: null });
    push({ op: "enter", ...place, text: "2+" });
    push({ op: "comment", comment_id: "c", ...place, onset_s: 1, offset_s: 1, text: "x" });
    push({ op: "remove_comment", comment_id: "c" });
"""


def test_all_is_undone_and_done_again(run: Run) -> None:
    """Undoing everything leads back to nothing step by step, doing it again to where it was, through a reload too."""
    code = f"""() => {{ {HISTORY} {DEEDS}
        const states = [JSON.stringify(shown())];
        while (turn("undo")) states.push(JSON.stringify(shown()));
        history = new m.History("film.me", storage, () => now);
        const empty = shown();
        const forth = [JSON.stringify(shown())];
        while (turn("redo")) forth.push(JSON.stringify(shown()));
        return [states, forth.reverse(), empty];
    }}"""
    back, forth, empty = run(code)
    assert len(back) == 7
    assert back == forth
    assert empty == [[], [], [], []]


def test_change_from_elsewhere_is_not_undone_over(run: Run) -> None:
    """What another window changed since is left as it is, once; what lies before it can still be undone."""
    code = f"""() => {{ {HISTORY} {DEEDS}
        turn("undo");
        ops.push({{ op: "comment", comment_id: "c", text: "changed", seq: 99 }});
        board.comments = [{{ id: "c", text: "changed", mine: true, onset_s: 1, offset_s: 1 }}];
        ops.splice(0, ops.length, ...ops.filter((op) => !op.op.includes("comment")));
        const first = turn("undo");
        const second = turn("undo");
        return [first.refused, first.word, second.refused, second.operation.op, shown()[3]];
    }}"""
    assert run(code) == [True, "comment", False, "withdraw_entry", ["changed"]]


def test_held_key_is_undone_in_one_go(run: Run) -> None:
    """Repetitions of a held key are one change; after a pause another begins. A refused change is forgotten."""
    code = f"""() => {{ {HISTORY}
        push(mark(1, 2)); push(mark(1, 3), "nudge"); now += 100; push(mark(1, 4), "nudge");
        now += 5000; push(mark(1, 5), "nudge");
        const steps = [];
        for (let at = 0; at < 2; at++) {{ turn("undo"); steps.push(shown()[0][0]); }}
        turn("redo"); turn("redo");
        history.forget([4]);
        return [steps, history.done.length, history.undone.length];
    }}"""
    steps, done, undone = run(code)
    assert steps == [[1, 4], [1, 2]]
    assert (done, undone) == (2, 0)


@pytest.mark.parametrize(
    ("press", "deed"),
    [
        ({"key": "z", "code": "KeyZ", "ctrlKey": True}, ["undo"]),
        ({"key": "Z", "code": "KeyZ", "ctrlKey": True, "shiftKey": True}, ["redo"]),
        ({"key": "z", "code": "KeyZ", "metaKey": True}, ["undo"]),
        ({"key": "u", "code": "KeyU"}, ["undo"]),
        ({"key": "U", "code": "KeyU", "shiftKey": True}, ["redo"]),
        ({"key": ",", "code": "Comma"}, ["nudge", {"frames": -1}]),
        ({"key": ";", "code": "Comma", "shiftKey": True}, ["nudge", {"seconds": -1}]),
        ({"key": ">", "code": "Period", "shiftKey": True}, ["nudge", {"seconds": 1}]),
        ({"key": "t", "code": "KeyT"}, ["timeline"]),
        ({"key": "c", "code": "KeyC", "ctrlKey": True}, None),
    ],
    ids=lambda value: str(value.get("key")) if isinstance(value, dict) else None,
)
def test_keys(run: Run, press: dict[str, Any], deed: list[Any] | None) -> None:
    """Undo, nudge and the way into the timeline, on other keyboards too; copying stays the browser's."""
    assert run("(press) => m.deedOf(press)", press) == deed


def test_no_pin_of_a_comment_covers_another(run: Run) -> None:
    """Five comments within a pixel take both rows and then the places beside them; a later one stays where it is."""
    places = run("() => m.pinPlaces([50, 50, 50.5, 51, 51, 400])")
    assert [(one["at"], one["row"]) for one in places[:2]] == [(50, 0), (50, 1)]
    assert places[-1] == {"at": 400, "row": 0}
    for row in (0, 1):
        middles = [one["at"] for one in places if one["row"] == row]
        assert all(later - earlier >= 14 for earlier, later in pairwise(middles))


PROPOSED = [
    {"id": "a", "step": "w", "side": None, "onset_s": 1.0, "offset_s": 3.0, "sure": True},
    {"id": "b", "step": "v", "side": "left", "onset_s": 5.0, "offset_s": 6.0, "sure": False},
    {"id": "c", "step": "w", "side": None, "onset_s": 8.0, "offset_s": 9.0, "sure": True},
]


def test_a_refusal_is_undone_like_any_change(run: Run) -> None:
    """Refused, the proposal is away at once; undone, the refusal is; done again, it is there again."""
    code = f"""(proposed) => {{ {HISTORY}
        const open = () => m.openOnes(proposed, state()).map((one) => one.id).join("");
        const seen = [open()];
        push({{ op: "refuse", refusal_id: "r", step: "v", side: "left", onset_s: 5, offset_s: 6 }});
        seen.push(open());
        for (const way of ["undo", "redo"]) {{ seen.push(turn(way).operation.op, open()); }}
        push({{ ...mark(1, 3) }});
        seen.push(open());
        return seen;
    }}"""
    assert run(code, PROPOSED) == ["abc", "ac", "take_back_refusal", "abc", "refuse", "ac", ""]


def test_the_proposal_in_hand_the_next_and_the_sure_ones(run: Run) -> None:
    """Of several of a step the nearest counts; next goes on in time and round; of a step one is taken as sure."""
    code = """(proposed) => {
        const at = (time) => m.proposalAt(proposed, { step: "w", side: null }, time)?.id;
        const next = (here, time) => m.nextProposal(proposed, proposed[here] ?? null, time).id;
        return [[at(0), at(5), at(7)], m.proposalAt(proposed, { step: "v", side: "right" }, 5),
            [next(0, 1), next(2, 8), next(-1, 4), next(-1, 10)], m.sureOnes(proposed).map((one) => one.id),
            m.nextProposal([], null, 0) ?? null];
    }"""
    assert run(code, PROPOSED) == [["a", "a", "c"], None, ["b", "a", "b", "a"], ["a"], None]


def test_keys_of_proposals(run: Run) -> None:
    """One key each, in either case of the letter."""
    code = """() => [..."jkmbJKMB"].map((key) => m.deedOf({ key, code: `Key${key.toUpperCase()}`, shiftKey: false }))"""
    assert run(code) == [["propose", deed] for deed in ("next", "take", "move", "refuse")] * 2
