"""A close look that follows somebody else than the first look saw: everybody is looked at there instead."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from review.actions.recordings import add
from review.domain.tracks import FOUND, empty_tracks
from review.pipeline.desk import Desk
from review.pipeline.orders import Seen
from review.store.media import load_times
from tests.crowds import Walker, sightings
from tests.films import even_times, make_film
from tests.homes import learners_home

SEEN_AT, UNIT = (60.0, 40.0), 12.0


@pytest.mark.parametrize(("aside_px", "everybody"), [(2.0, False), (40.0, True)], ids=["the same", "somebody else"])
def test_a_body_elsewhere_is_not_believed(tmp_path: Path, aside_px: float, everybody: bool) -> None:
    """One person was seen; the body looked at closely lies there, or three widths aside: then all are looked at."""
    home, learner = learners_home(tmp_path / "home")
    recording = add(home, learner, make_film(tmp_path / "one.mp4", even_times(90)))
    desk, clock = Desk(home, recording), load_times(home, recording.sha256)
    while (chunk := desk.waiting()[0]).stage == 0:
        times = clock[chunk.first : chunk.stop]
        tracks = empty_tracks(times, 128, 96)
        seen, _ = sightings(times[::30], {"one": Walker(lambda moment: SEEN_AT, {3: 1.0}, UNIT)})
        desk.keep(chunk, Seen(tracks, ()) if chunk.key == "sound" else Seen(tracks, ("people",), seen))
    assert not chunk.everybody
    close = empty_tracks(clock[chunk.first : chunk.stop], 128, 96)
    close["pose_state"].values[:] = FOUND
    close["pose_xy"].values[:] = np.add(SEEN_AT, (aside_px, -0.75 * UNIT))
    desk.keep(chunk, Seen(close, ("pose",)))
    left = {other.key: other.everybody for other in desk.waiting()}
    assert left.get(f"{chunk.key}+all", False) is everybody
