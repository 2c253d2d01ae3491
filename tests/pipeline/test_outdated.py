"""Tracks that another version laid out are not shown, and an analysis computes them anew."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import zarr

from review.actions.recordings import add
from review.domain.tracks import SCHEMA_VERSION, looked
from review.pipeline.analyse import analyse
from review.report.tracks import version
from review.store.trackstore import TrackStore
from tests.films import even_times, make_film
from tests.homes import learners_home


def test_outdated_tracks_count_as_none_until_they_are_computed_anew(tmp_path: Path) -> None:
    """After a change of form the page has no tracks, and analysing again brings all of them back."""
    home, learner = learners_home(tmp_path / "home")
    recording = add(home, learner, make_film(tmp_path / "short.mp4", even_times(9)))
    with ThreadPoolExecutor(1) as pool:
        analyse(home, recording, executor=pool)
        zarr.open_group(home.tracks / recording.id / "tracks.zarr", mode="r+").attrs["schema_version"] = 1
        assert version(home, recording.id) == ""
        tracks = analyse(home, recording, executor=pool)
    assert tracks.attrs["schema_version"] == SCHEMA_VERSION
    assert looked(tracks, "picture").any()
    assert TrackStore(home, recording.id).version() == version(home, recording.id) != ""
