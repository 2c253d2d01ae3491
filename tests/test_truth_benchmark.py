"""The benchmark of measures on rendered people: what it learns, and what it says of rows and events."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from review.domain.model import Estimate, Event, Interval, Side, Value
from review.domain.tracks import FOUND, UNSURE, empty_tracks
from review.measures.learned import table
from review.signals.uncertainty import Bias
from tests.benchmarks.truth.clips import Clip, clips_in
from tests.benchmarks.truth.learning import Learned, Reading, learned_from
from tests.benchmarks.truth.rows import row_of
from tests.benchmarks.truth.table import summary
from tests.benchmarks.truth.whose import Whose, whose
from tests.benchmarks.truth.writing import as_toml

KEY = "jaw_opening"
CLIP = Clip("jaw", Path("jaw.mp4"), {"person": "p01", "build": "slight", "skin": "dark"}, 1700.0, [])


def readings(draw: np.random.Generator, people: int, each: int = 4) -> list[Reading]:
    """Make readings that are 20 % high, and each person's another 8 % off at random, with noise of 0.5."""
    found = []
    for person in range(people):
        own = 1.2 * (1 + 0.08 * draw.standard_normal())
        for truth in draw.uniform(15, 45, each):
            found.append(Reading(KEY, f"p{person}", own * truth + 0.5 * draw.standard_normal(), 0.5, truth))
    return found


def test_a_scale_is_learned() -> None:
    """From many people whose readings are 20 % high, the scale 1.2 and the spread between people come out."""
    learned = learned_from(readings(np.random.default_rng(1), 60))[KEY]
    assert learned.people == 60
    assert learned.bias.scale == pytest.approx(1.2, abs=0.03)
    assert learned.bias.scale_sd == pytest.approx(0.08, abs=0.02)


def test_new_people_lie_within_the_intervals() -> None:
    """Learned from five people, the intervals of further ones hold the truth about 95 times in 100, never below 88."""
    draw, held = np.random.default_rng(2), []
    for _ in range(40):
        bias = learned_from(readings(draw, 5))[KEY].bias
        for one in readings(draw, 10):
            number = bias.corrected(one.value, noise=one.noise)
            held.append(number.low <= one.truth <= number.high)
    assert 0.88 < np.mean(held) < 0.995


@pytest.mark.parametrize(("people", "each"), [(3, 2), (4, 2)])
def test_few_people_leave_wide_intervals(people: int, each: int) -> None:
    """Learned from three or four people, the intervals of a further one hold the truth nine times in ten."""
    draw, held = np.random.default_rng(4), []
    for _ in range(30):
        bias = learned_from(readings(draw, people, each))[KEY].bias
        for one in readings(draw, 12, 1):
            number = bias.corrected(one.value, noise=one.noise)
            held.append(number.low <= one.truth <= number.high)
    assert np.mean(held) > 0.85


def test_what_the_view_does_is_learned_where_it_is_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    """Readings that shrink as the cosine of the view teach -1; where all were seen straight on, nothing is learned."""
    monkeypatch.setattr("tests.benchmarks.truth.learning.table", lambda: {KEY: {"fit": "scale+view"}})
    draw = np.random.default_rng(5)

    def seen(at_most_deg: float) -> Bias:
        found = []
        for one in readings(draw, 8):
            aside = draw.uniform(0, at_most_deg)
            found.append(replace(one, value=one.value * np.cos(np.radians(aside)), view_deg=aside))
        return learned_from(found)[KEY].bias

    oblique, straight = seen(60.0), seen(0.0)
    assert oblique.view == pytest.approx(-1, abs=0.3)
    assert oblique.scale == pytest.approx(1.2, abs=0.1)
    assert straight.view == pytest.approx(0, abs=0.01)
    assert straight.view_sd > 2 * oblique.view_sd


def test_too_few_people_teach_nothing() -> None:
    """Two people are not enough to tell what people have in common."""
    assert learned_from(readings(np.random.default_rng(3), 2, each=20)) == {}


def test_what_is_learned_is_written_as_it_is_read() -> None:
    """The written table keeps keys and fits, takes over what was learned and leaves the rest as it was."""
    written = tomllib.loads(as_toml({KEY: Learned(Bias(0.0, 0.5, 1.23456, 0.07), 12, 5)}))
    assert written.keys() == table().keys()
    assert written[KEY]["scale"] == 1.235
    assert (written[KEY]["readings"], written[KEY]["people"], written[KEY]["fit"]) == (12, 5, table()[KEY]["fit"])
    others = [key for key in table() if key != KEY]
    assert [written[key] for key in others] == [dict(table()[key]) for key in others]


def film_of_two(folder: Path) -> Clip:
    """Write the truth of a film of three frames: the examined person's nose, the examiner's head; and no film."""
    known = {
        "about": {"person": "p01"},
        "height_mm": 1700.0,
        "checks": [check()],
        "pointing": {"time_s": 0.5, "x": 0.25, "y": 0.5},
        "frames": {
            "joints_px": {"nose": [[100.0, 50.0]] * 3},
            "others_head_px": {"examiner": [[300.0, 50.0], [300.0, 50.0], [130.0, 60.0]]},
        },
    }
    (folder / "pair.truth.json").write_text(json.dumps(known), encoding="utf-8")
    (folder / "pair.mp4").touch()
    (clip,) = clips_in(folder)
    return clip


def test_frames_of_another_are_counted(tmp_path: Path) -> None:
    """A body on the other one's head is wrong, one on the examined person's is right, one not taken is neither."""
    clip = film_of_two(tmp_path)
    assert clip.pointing == {"time_s": 0.5, "x": 0.25, "y": 0.5}
    tracks = empty_tracks([0.0, 0.1, 0.2], 640, 480)
    tracks["pose_state"].values[:] = [FOUND, UNSURE, FOUND]
    tracks["pose_xy"].loc[{"pose_point": "nose"}] = [[102.0, 52.0], [300.0, 50.0], [128.0, 58.0]]
    assert whose(clip, tracks) == Whose("pair", 2, 1)
    found = summary([], 1, [Whose("pair", 2, 1)])
    assert found["pairs"] == {"clips": 1, "frames": 2, "of_another": 1}


def value(number: float | None, side: Side | None = None, events: tuple[Event, ...] = ()) -> Value:
    """Make a value with an interval of 2 to either side."""
    ends = (None, None) if number is None else (number - 2, number + 2)
    return Value("clip", KEY, "mm", Estimate(number, *ends, 1.0, (), (), side), None, None, events)


def check(**other: Any) -> dict[str, Any]:
    """Make a check of the opening of the jaw."""
    return {"measure": KEY, "onset_s": 0.0, "offset_s": 5.0, "side": None, "unit": "mm", "value": 30.0, **other}


def test_rows_tell_inside_and_outside() -> None:
    """A truth within the interval is inside, one beyond it is not; a number where none should be is neither."""
    assert row_of(CLIP, check(), [value(31.0)]).inside is True
    assert row_of(CLIP, check(), [value(33.0)]).inside is False
    refused = row_of(CLIP, check(refuse=True), [value(33.0)])
    assert (refused.truth, refused.inside, refused.error) == (None, None, None)


def test_the_value_of_the_side_is_taken() -> None:
    """A check of the right side looks at the right side's value."""
    assert row_of(CLIP, check(side="right"), [value(10.0, "left"), value(29.0, "right")]).value == 29.0


def test_events_are_paired_once() -> None:
    """Of two known taps and three found ones, two pairs come together by time and kind, and one is invented."""
    known = [{"kind": "tap", "side": None, "at_s": 1.0}, {"kind": "tap", "side": None, "at_s": 2.0}]
    happened = tuple(Event("tap", Interval(at, at)) for at in (1.04, 1.2, 1.99))
    events = row_of(CLIP, check(events=known), [value(3.0, events=happened)]).events
    assert (events.known, events.found, events.invented) == (2, 2, 1)
    assert events.off_s == pytest.approx((0.04, -0.01))


def test_the_summary_counts_what_matters() -> None:
    """Coverage is over numbers, a number where none should be is a wrong answer, small groups are not judged."""
    good = row_of(CLIP, check(), [value(31.0)])
    bad = row_of(CLIP, check(), [value(35.0)])
    wrong, right = (row_of(CLIP, check(refuse=True), [value(number)]) for number in (5.0, None))
    found = summary([*[good] * 9, bad, wrong, right], 1)
    assert found["coverage"] == pytest.approx(0.9)
    assert found["answered_wrongly"] == 1
    assert found["worst_group_coverage"] == pytest.approx(0.9)
    assert summary([good, bad], 1)["worst_group_coverage"] is None
    line = next(one for one in found["measures"] if one["measure"] == KEY)
    assert (line["asked"], line["answered"], line["refused_rightly"], line["answered_wrongly"]) == (10, 10, 1, 1)
    assert line["bias"] == pytest.approx((9 * 1 + 5) / 10)
