"""The registry of measures: complete, read-only, without duplicates, helpful with wrong names."""

import pkgutil
from importlib import import_module

import numpy as np
import pytest

import review.measures
from review.domain.errors import BrokenPromise, NotFound
from review.domain.tracks import STREAMS, empty_tracks
from review.measures import collected, measure, registry, units


def test_every_module_that_declares_measures_is_in() -> None:
    """Each module's declarations are found without a central list."""
    declared = set()
    for info in pkgutil.iter_modules(review.measures.__path__):
        module = import_module(f"review.measures.{info.name}")
        declared |= {one.name for one in getattr(module, "MEASURES", ())}
    assert set(registry()) == declared
    assert {"stance_width", "postural_sway", "hold_time", "capture_light"} <= declared


def test_registry_cannot_be_written() -> None:
    """Nobody can add to or take from the registry at run time."""
    with pytest.raises(TypeError):
        registry()["new"] = measure("stance_width")  # type: ignore[index]


def test_wrong_name_is_answered_with_close_ones() -> None:
    """A mistyped name gets the right one offered."""
    with pytest.raises(NotFound, match="stance_width"):
        measure("stance_widht")


def test_duplicate_names_are_refused_all_at_once() -> None:
    """Two declarations of one name break the promise that a name means one thing."""
    one, other = measure("stance_width"), measure("hold_time")
    with pytest.raises(BrokenPromise, match="hold_time, stance_width"):
        collected([one, other, one, other])


def test_units_are_those_of_the_measures() -> None:
    """A checklist's target can be checked against the unit."""
    assert units()["stance_width"] == "1"
    assert units()["hold_time"] == "s"
    assert units()["postural_sway_mm"] == "mm"


@pytest.mark.parametrize("name", list(registry()))
def test_declaration_is_complete(name: str) -> None:
    """Every measure has a title, a unit, a reference and a definition in its trace's docstring."""
    one = measure(name)
    assert one.name == name
    assert one.title
    assert one.unit
    assert one.reference
    assert "References" in (one.trace.__doc__ or "")


@pytest.mark.parametrize("frames", [pytest.param(count, id=f"{count} frames") for count in (1, 2, 3, 40)])
@pytest.mark.parametrize("state", [pytest.param(0, id="not looked at"), pytest.param(1, id="nothing found")])
@pytest.mark.parametrize("name", list(registry()))
def test_nothing_to_measure_is_said_and_never_raised(name: str, state: int, frames: int) -> None:
    """Tracks without anything in them give a missing number with a reason, or zero found, and no event."""
    tracks = empty_tracks(np.arange(frames) / 30, 1280, 720)
    for stream in STREAMS:
        tracks[f"{stream}_state"].values[:] = state
    one = measure(name)
    trace = one.trace(tracks)
    assert len(trace) == frames
    for estimate in one.summarise(trace):
        assert estimate.value is None or name == "capture_frame_rate"
        assert estimate.reasons or estimate.value is not None
    assert (one.events(trace) if one.events else ()) == ()
