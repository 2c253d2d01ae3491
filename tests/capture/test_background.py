import cv2
import numpy as np
import numpy.typing as npt
import pytest

from review.capture.background import background_shift

NOBODY = np.zeros((270, 480), dtype=bool)


def texture(seed: int = 1) -> npt.NDArray[np.uint8]:
    """Return a picture that is full of corners."""
    noise = np.random.default_rng(seed).integers(0, 255, (60, 100), dtype=np.uint8)
    return np.asarray(cv2.resize(noise, (800, 480), interpolation=cv2.INTER_CUBIC), dtype=np.uint8)


def window(picture: npt.NDArray[np.uint8], right: float, down: float) -> npt.NDArray[np.uint8]:
    """Return what a camera sees of a picture when it has moved the other way by so many px."""
    shift = np.array([[1.0, 0.0, right - 100], [0.0, 1.0, down - 100]])
    return np.asarray(cv2.warpAffine(picture, shift, (480, 270)), dtype=np.uint8)


@pytest.mark.parametrize(("right", "down"), [(0, 0), (3, 0), (-1.5, 2.25), (0.2, -0.1), (9, 6)])
def test_the_background_shift_is_found(right: float, down: float) -> None:
    """A scene that moves by a known amount is read to a tenth of a pixel; a still one reads 0."""
    before, now = window(texture(), 0, 0), window(texture(), right, down)
    np.testing.assert_allclose(background_shift(before, now, NOBODY), [right, down], atol=0.1)


def test_a_moving_person_is_not_a_moving_camera() -> None:
    """A person who covers a third of the picture and moves leaves the background's shift at 0."""
    before, now = window(texture(), 0, 0), window(texture(), 0, 0)
    person = NOBODY.copy()
    person[40:, 160:330] = True
    before[person], now[person] = window(texture(2), 0, 0)[person], window(texture(2), 7, 3)[person]
    np.testing.assert_allclose(background_shift(before, now, person), [0, 0], atol=0.05)


def _room(right: float = 0.0, down: float = 0.0, shadow: float = 0.0, floor: int = 120) -> npt.NDArray[np.uint8]:
    """Draw a blank wall and a floor that meet in a straight line, a person, and the person's shadow on one side."""
    picture = np.full((270, 480), 180, np.uint8)
    picture[200:] = floor
    picture = np.asarray(cv2.warpAffine(picture, np.array([[1.0, 0, right], [0, 1, down]]), (480, 270), borderMode=1))
    outline = np.array([[220, 250], [150, 215], [90, 205], [60, 230], [100, 245], [210, 262]], np.float64)
    outline = outline + np.array([right + shadow, down])
    cv2.fillPoly(picture, [np.round(outline * 16).astype(np.int32)], 60, cv2.LINE_AA, 4)
    cv2.ellipse(picture, (240, 150), (30, 110), 0, 0, 360, 40, -1)
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 1.0), dtype=np.uint8)


IN_THE_MIDDLE = NOBODY.copy()
IN_THE_MIDDLE[20:, 190:290] = True


@pytest.mark.parametrize("shadow", [-3.0, 1.0, 2.5])
def test_a_moving_shadow_is_not_a_moving_camera(shadow: float) -> None:
    """Before a blank wall a shadow goes along with its person; the edge of the floor stays, and so does the camera."""
    np.testing.assert_allclose(background_shift(_room(), _room(shadow=shadow), IN_THE_MIDDLE), [0, 0], atol=0.05)


@pytest.mark.parametrize("down", [-2.0, 0.8, 3.0])
def test_a_hand_is_seen_by_the_edge_of_the_floor(down: float) -> None:
    """One straight edge tells a camera that goes up and down, on either side of the person."""
    shift = background_shift(_room(), _room(right=1.0, down=down), IN_THE_MIDDLE)
    assert shift[1] == pytest.approx(down, abs=0.2)


def test_a_shadow_alone_tells_nothing_of_the_camera() -> None:
    """What lies on one side of the person only may belong to the person: neither moved nor still."""
    before, now = _room(floor=180), _room(floor=180, shadow=3.0)
    assert np.isnan(background_shift(before, now, IN_THE_MIDDLE)).all()


def test_a_blank_wall_cannot_be_told() -> None:
    """Where the background has nothing to follow the shift is NaN, not 0."""
    noise = [np.random.default_rng(seed).integers(118, 122, (270, 480), dtype=np.uint8) for seed in (1, 2)]
    assert np.isnan(background_shift(*noise, NOBODY)).all()
