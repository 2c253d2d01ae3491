import cv2
import numpy as np
import pytest

from review.capture.head import Body
from review.capture.picture import LONG_SIDE_PX, grey_of, light_of, person_mask
from tests.capture.test_background import texture, window
from tests.capture.test_head import standing


@pytest.mark.parametrize("level", [0, 51, 255])
def test_an_even_picture_has_its_own_brightness_and_nothing_else(level: int) -> None:
    """An even grey of level L has brightness L / 255, no contrast and no sharpness."""
    light = light_of(grey_of(np.full((360, 640, 3), level, np.uint8)))
    assert light.brightness == pytest.approx(level / 255, abs=0.005)
    assert light.contrast == pytest.approx(0, abs=1e-9)
    assert light.sharpness == pytest.approx(0, abs=1e-9)


def test_half_black_half_white_has_contrast_one_half() -> None:
    """The standard deviation of a picture that is half black and half white is half the scale."""
    picture = np.zeros((270, 480, 3), np.uint8)
    picture[:, 240:] = 255
    assert light_of(grey_of(picture)).contrast == pytest.approx(0.5, abs=0.01)


def test_blur_lowers_sharpness() -> None:
    """The same scene out of focus has a fraction of the sharpness."""
    sharp = window(texture(), 0, 0)
    assert light_of(cv2.GaussianBlur(sharp, (0, 0), 6)).sharpness < 0.1 * light_of(sharp).sharpness


def test_light_is_measured_on_one_size() -> None:
    """Films of different sizes are brought to one size first, so that their sharpness compares."""
    assert grey_of(np.zeros((1080, 1920, 3), np.uint8)).shape == (270, LONG_SIDE_PX)
    assert grey_of(np.zeros((320, 180, 3), np.uint8)).shape == (LONG_SIDE_PX, 270)


def test_the_person_is_masked_with_head_and_a_margin() -> None:
    """The mask covers body and head and leaves the far background free."""
    body = standing()
    mask = person_mask(body, (360, 480), 2.0)
    for x, y in ((500, 120), (500, 60), (550, 640), (450, 350)):
        assert mask[y // 2, x // 2]
    assert not mask[:, :180].any()
    assert not mask[:, 320:].any()


def test_without_a_body_only_the_border_is_looked_at() -> None:
    """Nobody known: the lower middle, where a person would be, is left out."""
    mask = person_mask(None, (100, 200), 1.0)
    assert mask[50, 100]
    assert not mask[10].any()
    assert not mask[:, :40].any()


def test_a_wild_pose_does_not_break_the_mask() -> None:
    """Points far outside the picture are held to its surroundings."""
    wild = Body(standing().xy * 1e6, np.zeros(33), np.zeros((33, 3)))
    assert person_mask(wild, (100, 200), 1.0).shape == (100, 200)
