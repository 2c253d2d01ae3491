import numpy as np
import numpy.typing as npt
import pytest

from review.capture.head import (
    Body,
    Box,
    head_box,
    is_small,
    seen_from_behind,
    stands_alone,
    stands_with_face,
)

LEFT_SIDE, RIGHT_SIDE = [11, 23, 25, 27], [12, 24, 26, 28]


def standing(facing: float = 1.0, seen: npt.NDArray[np.float64] | None = None) -> Body:
    """Return a person 100 px broad, shoulders at y 200, hips at 350; `facing` -1 shows the back, 0 the side."""
    xy = np.full((33, 2), (500.0, 400.0))
    xy[:11] = (500, 120)
    xy[7] += (20 * facing, 0)
    xy[8] -= (20 * facing, 0)
    for points, side in ((LEFT_SIDE, 1), (RIGHT_SIDE, -1)):
        for point, height in zip(points, (200, 350, 500, 640), strict=True):
            xy[point] = (500 + side * 50 * facing, height)
    return Body(xy, np.ones(33) if seen is None else seen, np.zeros((33, 3)))


def _unseen(*points: int) -> npt.NDArray[np.float64]:
    seen = np.ones(33)
    seen[list(points)] = 0.2
    return seen


def test_head_box_is_one_and_a_half_shoulders_wide() -> None:
    """From the front the cut is 1.5 shoulder widths wide and centred on the head points."""
    box = head_box(standing())
    assert (box.width, box.height) == (150, 150)
    np.testing.assert_allclose(box.centre, standing().xy[:11].mean(axis=0))


def test_head_box_from_the_side_rests_on_the_trunk() -> None:
    """From the side, where the shoulders coincide, the trunk of 150 px stands for 97.5 px of shoulders."""
    assert head_box(standing(facing=0)).width == pytest.approx(1.5 * 0.65 * 150)


@pytest.mark.parametrize(
    ("side", "size", "small"),
    [(287, (1280, 720), True), (289, (1280, 720), False), (300, (720, 1280), False)],
)
def test_a_head_is_small_against_the_shorter_side(side: float, size: tuple[int, int], small: bool) -> None:
    """A head cut of less than two fifths of the picture's shorter side counts as small."""
    assert is_small(Box(0, 0, side, side), size) is small


@pytest.mark.parametrize(
    ("seen", "believed"),
    [
        pytest.param(np.ones(33), True, id="whole-body"),
        pytest.param(_unseen(26, 28), True, id="one-leg-hidden"),
        pytest.param(_unseen(25, 26, 27, 28), False, id="no-legs"),
        pytest.param(_unseen(26, 27), False, id="no-leg-whole"),
        pytest.param(_unseen(11), False, id="one-shoulder"),
        pytest.param(_unseen(23, 24), False, id="no-hips"),
        pytest.param(np.where(np.isin(np.arange(33), [25, 26, 27, 28]), 0.55, 0.99), False, id="lettering"),
    ],
)
def test_a_pose_stands_alone_only_with_a_whole_leg(seen: npt.NDArray[np.float64], believed: bool) -> None:
    """Shoulders, hips and one clearly seen leg make a person; what the model sees in lettering does not."""
    assert stands_alone(standing(seen=seen)) is believed


@pytest.mark.parametrize(
    ("centre", "believed"),
    [
        pytest.param(np.array([500.0, 130.0]), True, id="face-in-the-head"),
        pytest.param(np.array([900.0, 130.0]), False, id="face-of-somebody-else"),
        pytest.param(None, False, id="no-face"),
    ],
)
def test_a_face_bears_witness_only_where_the_head_is(centre: npt.NDArray[np.float64] | None, believed: bool) -> None:
    """A body without legs in view is believed when a face is found in its head, not by any face."""
    assert stands_with_face(standing(seen=_unseen(23, 24, 25, 26, 27, 28)), centre) is believed


@pytest.mark.parametrize("quarter_turns", [0, 1, 2, 3], ids=["upright", "lying-left", "upside-down", "lying-right"])
@pytest.mark.parametrize(
    ("facing", "behind"),
    [pytest.param(1, False, id="front"), pytest.param(0, False, id="side"), pytest.param(-1, True, id="back")],
)
def test_the_back_is_told_from_the_front(facing: float, behind: bool, quarter_turns: int) -> None:
    """The back is known by the sides lying the other way round, also when the person lies down."""
    body = standing(facing)
    turn = np.linalg.matrix_power(np.array([[0.0, -1.0], [1.0, 0.0]]), quarter_turns)
    assert seen_from_behind(Body(body.xy @ turn.T, body.visibility, body.world)) is behind
