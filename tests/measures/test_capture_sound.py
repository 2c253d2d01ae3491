"""What the sound of a film is said to be, and what is said to be wrong with it."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Reason
from review.domain.tracks import FOUND, NOT_FOUND, empty_tracks
from review.measures import measure
from review.measures.capture_faults import sound_faults

CLOCK = np.arange(600) / 30


def sounding(level: float | np.ndarray = -20.0, clipped: float | np.ndarray = 0.0, hum: float = 0.05) -> xr.Dataset:
    """Make tracks of twenty seconds with this sound."""
    tracks = empty_tracks(CLOCK, 640, 480)
    tracks["sound_state"].values[:] = FOUND
    for name, values in (("level", level), ("clipped", clipped), ("hum", hum)):
        tracks[f"sound_{name}"].values[:] = values
    return tracks


def silent() -> xr.Dataset:
    """Make tracks of a film in which no sound was found."""
    tracks = empty_tracks(CLOCK, 640, 480)
    tracks["sound_state"].values[:] = NOT_FOUND
    return tracks


SPEECH = np.where(CLOCK % 4 < 1, -15.0, -60.0)
BURST = np.where((CLOCK > 5) & (CLOCK < 6), 0.1, 0.0)


@pytest.mark.parametrize(
    ("tracks", "kinds"),
    [
        (sounding(), []),
        (sounding(SPEECH), []),
        (sounding(-55.0), ["quiet"]),
        (sounding(clipped=BURST), ["clipped"]),
        (sounding(hum=0.8), ["hum"]),
        (sounding(-120.0), ["no_sound"]),
        (silent(), ["no_sound"]),
        (empty_tracks(CLOCK, 640, 480), []),
    ],
    ids=["good", "speech with pauses", "quiet", "clipped", "hum", "digital silence", "no stream", "not heard yet"],
)
def test_each_fault_of_the_sound_is_named_and_a_good_one_names_none(tracks: xr.Dataset, kinds: list[str]) -> None:
    """Every fault has its words and advice; a film that was not heard yet has none."""
    found = sound_faults(tracks)
    assert [fault.kind for fault in found] == kinds
    assert all(fault.what and fault.advice for fault in found)


def test_level_is_that_of_the_loudest_twentieth() -> None:
    """Speech a quarter of the time is what the level says, not the pauses."""
    level = measure("capture_sound_level")
    (said,) = level.summarise(level.trace(sounding(SPEECH)))
    assert said.value == pytest.approx(-15.0)
    assert said.low <= said.value <= said.high


def test_clipping_is_an_event_where_it_happens() -> None:
    """A second of clipping is found at its seconds."""
    clipping = measure("capture_sound_clipping")
    (event,) = clipping.events(clipping.trace(sounding(clipped=BURST)))
    assert (event.interval.onset_s, event.interval.offset_s) == pytest.approx((5.0, 6.0), abs=0.07)


@pytest.mark.parametrize("name", ["capture_sound_level", "capture_sound_clipping", "capture_sound_hum"])
def test_without_sound_there_is_a_reason_instead_of_a_number(name: str) -> None:
    """No number and the reason that the film has no sound."""
    of = measure(name)
    (said,) = of.summarise(of.trace(silent()))
    assert (said.value, said.reasons) == (None, (Reason.NO_SOUND,))
