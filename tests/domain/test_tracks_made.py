"""Tracks in which nothing was looked at yet: what of them is made."""

import numpy as np
import pytest

from review.domain.tracks import STREAMS, VARIABLES, empty_tracks


@pytest.mark.parametrize("stream", STREAMS)
def test_of_one_stream_only_its_variables_are_made(stream: str) -> None:
    """A unit of work that hears the sound of half an hour does not carry the landmarks of half an hour along."""
    made = empty_tracks(np.arange(5) / 30, 640, 360, streams=(stream,))
    assert set(made.data_vars) == {name for name, (of, _, _) in VARIABLES.items() if of == stream}


def test_what_only_tells_the_layout_takes_no_memory() -> None:
    """Read-only tracks say shapes and types as the others do, and hold one number a variable."""
    times = np.arange(54_000) / 30
    made, plain = empty_tracks(times, 640, 360, read_only=True), empty_tracks(times[:3], 640, 360)
    assert all(variable.values.base is not None and not any(variable.values.strides) for variable in made.values())
    assert {name: (one.dims, one.dtype) for name, one in made.items()} == {
        name: (one.dims, one.dtype) for name, one in plain.items()
    }
