"""Two rendered people who cross: every frame is of the right one, or of nobody; and pointing changes who is right."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
import xarray as xr

from review.actions import marks
from review.actions.pointings import point, unpoint
from review.actions.recordings import add
from review.domain.model import Recording
from review.domain.tracks import FOUND, NOT_LOOKED, UNSURE
from review.pipeline.analyse import analyse
from review.report.people import most_people, people_seen
from review.store.home import Home
from review.store.repository import reading, repository
from sample_clips import clip_path
from tests.homes import learners_home

PEOPLE = ("partner", "examiner")


@pytest.fixture(scope="module")
def truth() -> dict[str, Any]:
    """Read where both people are in every frame."""
    text = clip_path("crossing").with_suffix("").with_suffix(".truth.json").read_text("utf-8")
    frames: dict[str, Any] = json.loads(text)["frames"]["people"]
    return frames


@pytest.fixture(scope="module")
def analysed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, Recording, xr.Dataset]:
    """Add the film, mark one step so that the rest is looked at five times a second, and analyse it."""
    home, learner = learners_home(tmp_path_factory.mktemp("crossing"))
    recording = add(home, learner, clip_path("crossing"))
    with repository(home) as repo:
        sheet = repo.checklist(recording.checklist_id or "", recording.checklist_version)
        step = next(step for step in sheet.steps() if "stance_width" in step.measures)
        marks.place(repo, learner, recording, step.id, step.places[0], 6.5, 7.0)
    return home, recording, analyse(home, recording).load()


def _nearest(tracks: xr.Dataset, truth: dict[str, Any]) -> tuple[npt.NDArray[np.str_], npt.NDArray[np.intp]]:
    """Return who, of those not mostly hidden, is nearest to the body that was found, and in which frames one was."""
    rows = np.flatnonzero(tracks["pose_state"].values == FOUND)
    nose = tracks["pose_xy"].values[rows, 0]
    away = []
    for name in PEOPLE:
        heads = [[np.inf, np.inf] if place is None else place for place in truth[name]["head_px"]]
        shown = np.array([1.0 if share is None else share for share in truth[name]["hidden"]]) < 0.5
        distance = np.linalg.norm(nose - np.array(heads, dtype=float)[rows], axis=1)
        away.append(np.where(shown[rows], distance, np.inf))
    return np.array(PEOPLE)[np.argmin(away, axis=0)], rows


def test_every_frame_is_of_the_one_who_stands_or_of_nobody(
    analysed: tuple[Home, Recording, xr.Dataset], truth: dict[str, Any]
) -> None:
    """The one who stands is guessed rightly; of what was looked at, never the other is taken, and most is kept."""
    _, _, tracks = analysed
    names, rows = _nearest(tracks, truth)
    assert set(names.tolist()) == {"partner"}
    state = tracks["pose_state"].values
    looked = int((state != NOT_LOOKED).sum())
    assert len(rows) > 0.65 * looked
    assert (state == UNSURE).sum() > 0
    hidden = np.array(truth["partner"]["hidden"])
    assert not (hidden[rows] > 0.5).any()
    assert (tracks["people_count"].max(), tracks["sound_state"].min()) == (2, 1)


def test_the_face_is_the_found_bodys_own(analysed: tuple[Home, Recording, xr.Dataset], truth: dict[str, Any]) -> None:
    """Wherever a face was found it lies on the head of the one who stands."""
    tracks = analysed[2]
    rows = np.flatnonzero(tracks["face_state"].values == FOUND)
    middle = np.nanmean(tracks["face_xy"].values[rows], axis=1)
    away = np.linalg.norm(middle - np.array(truth["partner"]["head_px"], dtype=float)[rows], axis=1)
    assert len(rows) > 0.6 * (tracks["face_state"].values != NOT_LOOKED).sum()
    assert away.max() < 25


def test_pointing_at_the_other_makes_all_of_it_the_others(
    analysed: tuple[Home, Recording, xr.Dataset], truth: dict[str, Any]
) -> None:
    """After a click on the one who walks no frame is of the one who stands; taking it back restores what was."""
    home, recording, before = analysed
    assert most_people(home, recording.id) == 2
    with repository(home) as repo:
        learner = repo.person("L-07")
        x, y = truth["examiner"]["head_px"][15]
        point(repo, learner, recording, 0.5, x / recording.width_px, y / recording.height_px)
    names, rows = _nearest(analyse(home, recording).load(), truth)
    assert set(names.tolist()) == {"examiner"}
    assert len(rows) > 20
    seen = people_seen(home, learner, recording)
    assert json.loads(json.dumps(seen)) == seen
    assert seen["pointings"] == 1
    assert sum(one["examined"] for look in seen["looks"] for one in look["people"]) > 5
    with repository(home) as repo:
        assert unpoint(repo, learner, recording) == 1
    xr.testing.assert_equal(analyse(home, recording).load(), before)
    with reading(home) as repo:
        assert [job.state for job in repo.jobs()] == ["done"]


def test_the_clip_is_small_enough_to_ship() -> None:
    """The film stays below a megabyte."""
    assert Path(clip_path("crossing")).stat().st_size < 1_000_000
