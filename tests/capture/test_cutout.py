from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from review.capture.cutout import CUT_PX, back_to_picture, cut_out
from review.capture.head import Box
from review.capture.intake import probe
from review.capture.upright import upright
from review.capture.video import raw_frames
from tests.films import even_times, make_film


def _blobs(number: int) -> npt.NDArray[np.uint8]:
    noise = np.random.default_rng(number).integers(0, 255, (12, 20, 3), dtype=np.uint8)
    return np.asarray(cv2.resize(noise, (320, 192), interpolation=cv2.INTER_CUBIC), dtype=np.uint8)


@pytest.mark.parametrize("turn_deg", [0, 90, 180, 270])
@pytest.mark.parametrize("flipped", [False, True], ids=["", "flipped"])
@pytest.mark.parametrize(
    ("mirrored", "pixels"),
    [
        pytest.param(False, "yuv420p", id=""),
        pytest.param(True, "yuv420p", id="mirrored"),
        pytest.param(False, "yuv420p10le", id="ten-bit"),
        pytest.param(False, "yuvj420p", id="full-range"),
    ],
)
@pytest.mark.parametrize(
    "box",
    [
        pytest.param(Box(101.3, 37.2, 80, 80), id="inside"),
        pytest.param(Box(-30, -20, 90, 90), id="over-the-corner"),
        pytest.param(Box(270, 140, 100, 100), id="over-the-other-corner"),
    ],
)
def test_a_cut_is_that_part_of_the_shown_picture(
    tmp_path: Path, turn_deg: int, flipped: bool, mirrored: bool, pixels: str, box: Box
) -> None:
    """What is cut out of the stored picture is what a crop of the whole upright picture would give."""
    film = make_film(
        tmp_path / "film.mp4",
        even_times(1),
        size=(320, 192),
        pixels=pixels,
        turn_deg=turn_deg,
        flipped=flipped,
        picture=_blobs,
    )
    _, times = probe(film)
    raw = next(raw_frames(film, times, 0, 1))
    whole = cv2.copyMakeBorder(
        upright(raw.frame, raw.shape, 320, 192, mirrored), 120, 120, 120, 120, cv2.BORDER_CONSTANT
    )
    cut, taken = cut_out(raw.frame, raw.shape, box, mirrored)
    left, top = round(taken.left) + 120, round(taken.top) + 120
    part = whole[top : top + round(taken.height), left : left + round(taken.width)]
    expected = cv2.resize(part, (CUT_PX, CUT_PX), interpolation=cv2.INTER_CUBIC)
    assert cut.flags.c_contiguous
    assert np.abs(cut.astype(int) - expected).mean() < (2.5 if pixels == "yuv420p10le" else 1.0)
    assert taken.holds(np.array([box.left + 1, box.top + 1]))
    assert abs(taken.width - box.width) <= 4


def test_points_of_a_cut_come_back_to_the_picture() -> None:
    """The corners and the middle of a cut are the corners and the middle of its box."""
    shares = np.array([[0.0, 0.0], [1.0, 1.0], [0.5, 0.5]])
    np.testing.assert_allclose(back_to_picture(shares, Box(10, 20, 40, 60)), [[10, 20], [50, 80], [30, 50]])


def test_a_box_outside_the_picture_is_black(tmp_path: Path) -> None:
    """A head that the model puts outside the picture gives a black cut, not an error."""
    film = make_film(tmp_path / "film.mp4", even_times(1), aspect=Fraction(4, 3))
    _, times = probe(film)
    raw = next(raw_frames(film, times, 0, 1))
    for box in (Box(900, 900, 50, 50), Box(-1e7, -1e7, 3e7, 3e7)):
        cut, _ = cut_out(raw.frame, raw.shape, box)
        assert cut.max() == 0
