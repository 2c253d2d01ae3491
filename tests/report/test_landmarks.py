"""Landmarks and constructions as they are packed for drawing over the film."""

from __future__ import annotations

import json
import struct
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from review.actions import checklists, marks, people
from review.actions.uncovering import uncover
from review.domain.errors import EntryRefused, NotAllowed, NotFound
from review.domain.model import Interval, Person, Recording, Role
from review.domain.tracks import NOT_LOOKED, POSE_POINTS
from review.measures.stance_width import stance_width
from review.report.landmarks import LONGEST_S, construction_bytes, landmark_bytes
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.trackstore import TrackStore
from tests.store.made import recording
from tests.synthetic import clock, standing, with_picture

EVERY = 3
STRETCH = Interval(2.0, 4.0)


@pytest.fixture
def filmed(tmp_path: Path) -> tuple[Home, Recording, Person]:
    """Make a home with one recording that nobody has looked at yet."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        film = recording(checklist_id="balance_only", checklist_version=1, added_by=learner.id, duration_s=10.0)
        repo.add_recording(film)
        marks.place(repo, learner, film, "position_guard", None, 1.0, 8.0)
    return home, film, learner


def look(home: Home, film: Recording) -> Any:
    """Keep tracks of a standing person of whom every third frame was looked at, and return them."""
    tracks = with_picture(standing(clock(10.0), stance=0.4))
    tracks["pose_state"].values[np.arange(tracks.sizes["time"]) % EVERY > 0] = NOT_LOOKED
    store = TrackStore(home, film.id)
    store.create(tracks)
    store.write(0, tracks, ["pose", "picture"])
    store.mark_done("all")
    return store.open()


def unpacked(body: bytes) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Read the head and the layers, each with its times, places and readings."""
    (length,) = struct.unpack_from("<I", body)
    head = json.loads(body[4 : 4 + length])
    at, layers = 4 + length, head["layers"]
    assert at % 8 == 0
    for layer in layers:
        layer["times"] = np.frombuffer(body, "<f8", layer["rows"], at)
        at += 8 * layer["rows"]
    for layer in layers:
        count = 2 * layer["rows"] * layer["points"]
        layer["places"] = np.frombuffer(body, "<f4", count, at).reshape(layer["rows"], layer["points"], 2)
        at += 4 * count
    for layer in layers:
        if layer["reading"]:
            layer["readings"] = np.frombuffer(body, "<f4", layer["rows"], at)
            at += 4 * layer["rows"]
    assert at == len(body)
    return head, layers


def test_landmarks_of_the_frames_that_were_looked_at(filmed: tuple[Home, Recording, Person]) -> None:
    """A stretch holds the body's points of the frames that were looked at, and nothing of what was not found."""
    home, film, learner = filmed
    tracks = look(home, film)
    head, (layer,) = unpacked(landmark_bytes(home, learner, film, STRETCH))
    times = tracks["time"].values
    inside = (times >= STRETCH.onset_s) & (times <= STRETCH.offset_s) & (np.arange(len(times)) % EVERY == 0)
    assert (head["onset_s"], head["offset_s"], layer["name"]) == (2.0, 4.0, "body")
    np.testing.assert_array_equal(layer["times"], times[inside])
    np.testing.assert_array_equal(layer["places"], tracks["pose_xy"].values[inside])
    pairs = {tuple(POSE_POINTS[point] for point in link) for link in layer["links"]}
    assert ("left_knee", "left_ankle") in pairs


def test_constructions_are_those_of_the_step(filmed: tuple[Home, Recording, Person]) -> None:
    """Once uncovered, a step's measures draw what they rest on, each with its own number in that frame."""
    home, film, learner = filmed
    tracks = look(home, film)
    with repository(home) as repo:
        uncover(repo, learner, film)
    _, layers = unpacked(construction_bytes(home, learner, film, STRETCH, "position_guard", None))
    ankles = next(layer for layer in layers if layer["words"] == "ankle to ankle")
    part = tracks.sel(time=ankles["times"])
    assert (ankles["measure"], ankles["kind"], ankles["unit"]) == ("stance_width", "line", "shoulder widths")
    np.testing.assert_array_equal(
        ankles["places"], part["pose_xy"].sel(pose_point=["left_ankle", "right_ankle"]).values
    )
    np.testing.assert_allclose(ankles["readings"], stance_width(part.load()).values, rtol=1e-4)


def test_constructions_are_covered_with_the_step(filmed: tuple[Home, Recording, Person]) -> None:
    """Blind first: before the step is uncovered only the plain landmarks are given."""
    home, film, learner = filmed
    look(home, film)
    with pytest.raises(NotAllowed, match="covered"):
        construction_bytes(home, learner, film, STRETCH, "position_guard", None)
    assert landmark_bytes(home, learner, film, STRETCH)


def test_what_cannot_be_had_is_said(filmed: tuple[Home, Recording, Person]) -> None:
    """Before an analysis there are no landmarks, too long a stretch is refused, an unknown step is not found."""
    home, film, learner = filmed
    with pytest.raises(NotFound, match="not analysed"):
        landmark_bytes(home, learner, film, STRETCH)
    look(home, film)
    with pytest.raises(EntryRefused, match="at most"):
        landmark_bytes(home, learner, film, Interval(0.0, LONGEST_S + 1))
    with pytest.raises(NotFound, match="position_guard"):
        construction_bytes(home, learner, film, STRETCH, "position_gaurd", None)
