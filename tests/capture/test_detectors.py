from pathlib import Path

import numpy as np
import pytest

from review.capture import detectors
from review.capture.detectors import Detectors, head_angles
from review.capture.models import Models
from review.domain.errors import ModelRefused


def _matrix(yaw: float, pitch: float, roll: float) -> np.ndarray:
    """Head pose with the axes of `head_angles`, from angles in degrees."""
    y, p, r = np.radians([yaw, pitch, roll])
    about_y = np.array([[np.cos(y), 0, np.sin(y)], [0, 1, 0], [-np.sin(y), 0, np.cos(y)]])
    about_x = np.array([[1, 0, 0], [0, np.cos(p), np.sin(p)], [0, -np.sin(p), np.cos(p)]])
    about_z = np.array([[np.cos(r), np.sin(r), 0], [-np.sin(r), np.cos(r), 0], [0, 0, 1]])
    whole = np.eye(4)
    whole[:3, :3] = about_y @ about_x @ about_z
    return whole


@pytest.mark.parametrize(
    "angles",
    [(0, 0, 0), (30, 0, 0), (-30, 0, 0), (0, 25, 0), (0, -25, 0), (0, 0, 36), (0, 0, -39), (20, -10, 15)],
)
def test_head_angles_are_read_back(angles: tuple[float, float, float]) -> None:
    """Yaw, pitch and roll that a head pose was built from come back."""
    np.testing.assert_allclose(head_angles(_matrix(*angles)), angles, atol=1e-9)


@pytest.mark.parametrize(
    ("angles", "axis", "place", "positive"),
    [
        pytest.param((30, 0, 0), 2, 0, True, id="yaw-to-own-left-turns-the-nose-to-the-pictures-right"),
        pytest.param((0, 30, 0), 2, 1, True, id="pitch-up-lifts-the-nose"),
        pytest.param((0, 0, 30), 0, 1, False, id="roll-to-own-left-drops-the-left-ear"),
    ],
)
def test_signs_of_head_angles(angles: tuple[float, float, float], axis: int, place: int, positive: bool) -> None:
    """The signs are those of the contract, seen on the head's own axes in the camera's."""
    assert bool(_matrix(*angles)[place, axis] > 0) is positive


def test_a_file_that_is_no_model_is_refused(tmp_path: Path) -> None:
    """A model that cannot start is refused with the reason and what to do."""
    (tmp_path / "model.task").write_bytes(b"no model")
    with (
        Detectors(Models(*[tmp_path / "model.task"] * 3)) as models,
        pytest.raises(ModelRefused, match="cannot start"),
    ):
        models.open("pose")


def test_missing_libraries_are_named_with_the_install_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the system lacks a shared library the refusal names it and the line that installs it."""
    (tmp_path / "model.task").write_bytes(b"no model")
    monkeypatch.setattr(detectors, "missing_libraries", lambda: ["libEGL.so.1"])
    with (
        Detectors(Models(*[tmp_path / "model.task"] * 3)) as models,
        pytest.raises(ModelRefused, match=r"libEGL\.so\.1.*apt-get install libegl1 libgles2 libgl1"),
    ):
        models.open("face")
