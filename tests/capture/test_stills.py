from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from review.capture.intake import still, stills
from review.domain.errors import FilmRefused
from tests.films import even_times, is_upright, make_film, number_in, numbered


def _picture(data: bytes) -> npt.NDArray[np.uint8]:
    return np.asarray(cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)[:, :, ::-1], dtype=np.uint8)


@pytest.mark.parametrize(
    ("name", "codec", "b_frames"),
    [
        pytest.param("film.mp4", "libx264", 2, id="mp4-reordered"),
        pytest.param("film.webm", "libvpx", 0, id="webm"),
        pytest.param("film.ts", "libx264", 0, id="transport-stream"),
    ],
)
def test_stills_show_the_frame_that_is_on_at_a_time(tmp_path: Path, name: str, codec: str, b_frames: int) -> None:
    """A still at a time shows the last frame that began by then, in the order asked for, near or far."""
    film = make_film(tmp_path / name, even_times(200, 20), codec=codec, b_frames=b_frames, gop=15)
    asked = [9.0, 0.0, 0.06, 4.024, 4.1, -1.0, 50.0]
    shown = [number_in(_picture(data)) for data in stills(film, asked, 96)]
    assert shown == [180, 0, 1, 80, 82, 0, 199]


def test_a_still_is_upright_and_of_the_height_asked(tmp_path: Path) -> None:
    """A turned film gives upright stills; small films are not enlarged."""
    film = make_film(tmp_path / "film.mp4", even_times(3), size=(160, 96), turn_deg=90)
    small, large = (_picture(still(film, 0.05, height)) for height in (48, 500))
    assert small.shape == (48, 80, 3)
    assert large.shape == (96, 160, 3)
    assert is_upright(small)
    assert number_in(large) == 1


def test_a_still_of_no_film_is_refused(tmp_path: Path) -> None:
    """Without a film there is no still, and the refusal names the file."""
    with pytest.raises(FilmRefused, match=r"gone\.mp4"):
        still(tmp_path / "gone.mp4", 0.0, 100)


def test_a_still_of_a_mirrored_film_is_flipped_back(tmp_path: Path) -> None:
    """A film whose frames are stored as in a mirror gives stills with red, as in the room, above left."""
    mirror = make_film(tmp_path / "mirror.mp4", even_times(6), picture=lambda number: numbered(number)[:, ::-1])
    assert not is_upright(_picture(still(mirror, 0.1, 96)))
    assert is_upright(_picture(still(mirror, 0.1, 96, mirrored=True)))
