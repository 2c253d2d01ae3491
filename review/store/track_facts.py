"""The facts of a recording that its tracks carry along, put right in the tracks that are there."""

from __future__ import annotations

import zarr

from review.domain.model import Recording
from review.store.files import locked
from review.store.home import Home
from review.store.trackstore import TrackStore, tracks_lock


def set_track_facts(home: Home, recording: Recording) -> None:
    """Write a recording's height and slow motion into its tracks; no fault if there are none.

    The numbers of the tracks do not depend on them; measures do.
    """
    if not TrackStore(home, recording.id).exists():
        return
    with locked(tracks_lock(home, recording.id)):
        group = zarr.open_group(home.tracks / recording.id / "tracks.zarr", mode="r+", zarr_format=3)
        group.attrs.update({"height_mm": recording.partner_height_mm, "slow_motion": recording.slow_motion})
