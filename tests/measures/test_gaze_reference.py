"""Holds, jumps and smooth ways of the gaze against a general library's events of one and the same trace.

The trace and the library's answers are in `tests/data` (see ``eye_movements.LICENSE.txt`` there). The library looks at
1000 samples a second; here the eyes are seen as often as a film shows them.
"""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from review.domain.model import Event
from review.measures.gaze_sweep import gaze_events, gaze_in_head
from tests.measures.test_gaze_sweep import eyes
from tests.synthetic_face import face_tracks

DATA = Path(__file__).parents[1] / "data"
LONG_S, LARGE_DEG = 0.5, 8.0
"""Shorter fixations and smaller movements are none for what is asked of the six positions."""


@dataclass(frozen=True)
class Known:
    """An event as the library tells it."""

    label: str
    start_s: float
    end_s: float
    amplitude_deg: float

    @property
    def middle_s(self) -> float:
        """Middle of the event."""
        return (self.start_s + self.end_s) / 2


@pytest.fixture(scope="module")
def known() -> list[Known]:
    """Read what the library says."""
    with (DATA / "eye_movements_events.csv").open(encoding="utf-8") as lines:
        return [Known(row[0], *(float(value) for value in row[1:])) for row in list(csv.reader(lines))[1:]]


def seen(rate_hz: float) -> tuple[Event, ...]:
    """Return what is said of the trace, filmed with so many frames a second."""
    milliseconds, right, down = np.loadtxt(DATA / "eye_movements_100hz.csv", delimiter=",", skiprows=1).T
    times = np.arange(0, milliseconds[-1] / 1000, 1 / rate_hz)
    across, up = (np.interp(times, milliseconds / 1000, axis) for axis in (right, -down))
    return gaze_events(gaze_in_head(face_tracks(times, eyes(across, up))))


def holding(events: tuple[Event, ...], moment_s: float) -> list[Event]:
    """Return the events within which a moment lies."""
    return [event for event in events if event.interval.holds(moment_s)]


@pytest.mark.parametrize("rate_hz", [30.0, 60.0])
def test_every_large_saccade_is_a_jump(known: list[Known], rate_hz: float) -> None:
    """A jump falls together with each saccade of 8 deg or more, as long as that to half a deg; there are no others."""
    events = seen(rate_hz)
    jumps = [event for event in events if event.kind == "jumped"]
    saccades = [one for one in known if one.label == "SACC" and one.amplitude_deg >= LARGE_DEG]
    assert len(saccades) == 5
    assert len(jumps) == len(saccades)
    for one in saccades:
        (jump,) = [
            event for event in jumps if event.interval.onset_s < one.end_s and one.start_s < event.interval.offset_s
        ]
        assert jump.peak == pytest.approx(one.amplitude_deg, abs=0.5)


@pytest.mark.parametrize("rate_hz", [30.0, 60.0])
def test_every_long_pursuit_is_smooth(known: list[Known], rate_hz: float) -> None:
    """Smooth ways lie in each pursuit of 8 deg or more, together as long as that, and there are no others.

    A pursuit through the centre is told in two parts, as the eyes are within reach of the centre for a while.
    """
    events = seen(rate_hz)
    ways = [event for event in events if event.kind == "smooth"]
    pursuits = [one for one in known if one.label == "PURS" and one.amplitude_deg >= LARGE_DEG]
    assert len(pursuits) == 2
    found = 0
    for one in pursuits:
        mine = [way for way in ways if one.start_s - 0.1 <= way.interval.onset_s and way.interval.offset_s <= one.end_s]
        assert sum(way.peak for way in mine) == pytest.approx(one.amplitude_deg, abs=3)
        found += len(mine)
    assert found == len(ways)


@pytest.mark.parametrize("rate_hz", [30.0, 60.0])
def test_every_long_fixation_is_held(known: list[Known], rate_hz: float) -> None:
    """Each fixation of half a second or more lies in one position held, from beginning to end to 0.1 s."""
    events = seen(rate_hz)
    held = [event for event in events if event.kind not in ("jumped", "smooth")]
    fixations = [one for one in known if one.label == "FIXA" and one.end_s - one.start_s >= LONG_S]
    assert len(fixations) == 8
    found = []
    for one in fixations:
        (position,) = holding(tuple(held), one.middle_s)
        assert position.interval.onset_s <= one.start_s + 0.1
        assert position.interval.offset_s >= one.end_s - 0.1
        found.append(position.kind)
    assert found == ["centre", "left", "centre", "right", "left", "centre", "right", "left"]
