from pathlib import Path

import numpy as np
import pytest

from review.capture.intake import probe
from review.capture.video import frames
from tests.films import even_times, is_upright, make_film, number_in


@pytest.mark.parametrize(
    ("name", "codec", "b_frames"),
    [
        pytest.param("film.mp4", "libx264", 0, id="mp4"),
        pytest.param("film.mp4", "libx264", 3, id="mp4-reordered"),
        pytest.param("film.mkv", "libx264", 2, id="matroska-reordered"),
        pytest.param("film.ts", "libx264", 2, id="transport-stream"),
        pytest.param("film.webm", "libvpx", 0, id="webm"),
    ],
)
@pytest.mark.parametrize(("first", "stop"), [(0, 5), (1, 3), (23, 31), (47, 48), (80, 90), (5, 5)])
def test_frames_are_found_by_their_own_time(
    tmp_path: Path, name: str, codec: str, b_frames: int, first: int, stop: int
) -> None:
    """Any range of frames is read from any container with the picture that belongs to each time."""
    film = make_film(tmp_path / name, even_times(90), codec=codec, b_frames=b_frames, gop=12)
    _, times = probe(film)
    read = list(frames(film, times, first, stop, 128))
    assert [number_in(frame.picture) for frame in read] == list(range(first, stop))
    assert [frame.index for frame in read] == list(range(first, stop))
    assert [frame.time_s for frame in read] == [times[number] for number in range(first, stop)]


@pytest.mark.parametrize("width", [637, 638, 1080, 1918])
@pytest.mark.parametrize("turn_deg", [0, 90])
def test_pictures_are_contiguous_at_any_width(tmp_path: Path, width: int, turn_deg: int) -> None:
    """Widths whose rows are padded in memory come out C-contiguous and whole."""
    height = 361 if width % 2 else 360
    film = make_film(tmp_path / "film.mkv", even_times(2), size=(width, height), pixels="yuv444p", turn_deg=turn_deg)
    _, times = probe(film)
    for long_side in (width, 501):
        for frame in frames(film, times, 0, 2, long_side):
            assert frame.picture.flags.c_contiguous
            assert frame.picture.shape[1] == long_side
            assert is_upright(frame.picture)
            assert number_in(frame.picture) == frame.index


def test_scaling_keeps_the_shape(tmp_path: Path) -> None:
    """The longer side is as asked, the shorter one in proportion, and small films are not enlarged."""
    film = make_film(tmp_path / "film.mp4", even_times(1), size=(320, 180))
    _, times = probe(film)
    shapes = [next(frames(film, times, 0, 1, side)).picture.shape for side in (160, 320, 1000)]
    assert shapes == [(90, 160, 3), (180, 320, 3), (180, 320, 3)]


def test_a_mirrored_film_is_flipped(tmp_path: Path) -> None:
    """The picture of a mirrored film is the picture of the unmirrored one, left for right."""
    film = make_film(tmp_path / "film.mp4", even_times(1))
    _, times = probe(film)
    plain = next(frames(film, times, 0, 1, 128)).picture
    flipped = next(frames(film, times, 0, 1, 128, mirrored=True)).picture
    np.testing.assert_array_equal(flipped, plain[:, ::-1])
    assert flipped.flags.c_contiguous
