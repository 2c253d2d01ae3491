"""A made-up face with closed-form answers: lids, irises, gaze weights and head angles set one by one."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.tracks import FOUND, empty_tracks

Value = float | Sequence[float] | npt.NDArray[np.float64]

EYE_PX = 30.0
_EYES = {
    "right": ((33, 160, 158, 133, 153, 144), 468, 100.0),
    "left": ((362, 385, 387, 263, 373, 380), 473, 170.0),
}


@dataclass(frozen=True)
class Face:
    """What the face does; each value is one number or one for each frame.

    Parameters
    ----------
    blink
        Blink weight of the (left, right) eye of the person's own.
    ratio
        Eye aspect ratio of the (left, right) eye.
    look
        Look weights: (own left minus own right, up minus down).
    iris
        Offset of the irises from the middle of the eye corners in eye widths: (towards own left, up).
    angles
        Head's yaw (+ own left), pitch (+ up) and roll (+ own left), deg.
    width_px
        Width of the face.
    """

    blink: tuple[Value, Value] = (0.1, 0.1)
    ratio: tuple[Value, Value] = (0.3, 0.3)
    look: tuple[Value, Value] = (0.0, 0.0)
    iris: tuple[Value, Value] = (0.0, 0.0)
    angles: tuple[Value, Value, Value] = (0.0, 0.0, 0.0)
    width_px: Value = 300.0


def face_tracks(times: npt.ArrayLike, face: Face) -> xr.Dataset:
    """Make the tracks of a film in which the face was found in every frame."""
    tracks = empty_tracks(times, 640, 480)
    tracks["face_state"][:] = FOUND
    tracks["face_width"][:] = face.width_px
    tracks["blendshape"][:] = 0.0
    for place, angle in enumerate(("yaw", "pitch", "roll")):
        tracks["head_angle"].loc[{"angle": angle}] = face.angles[place]
    _set_weights(tracks, face)
    for side, ratio in zip(("left", "right"), face.ratio, strict=True):
        _draw_eye(tracks, side, ratio, face.iris)
    return tracks


def _set_weights(tracks: xr.Dataset, face: Face) -> None:
    across, up = (np.broadcast_to(np.asarray(value, float), tracks.sizes["time"]) for value in face.look)
    weights = {
        "eyeBlinkLeft": face.blink[0],
        "eyeBlinkRight": face.blink[1],
        "eyeLookOutLeft": np.maximum(across, 0),
        "eyeLookInRight": np.maximum(across, 0),
        "eyeLookInLeft": np.maximum(-across, 0),
        "eyeLookOutRight": np.maximum(-across, 0),
    }
    for side in ("Left", "Right"):
        weights[f"eyeLookUp{side}"] = np.maximum(up, 0)
        weights[f"eyeLookDown{side}"] = np.maximum(-up, 0)
    for shape, value in weights.items():
        tracks["blendshape"].loc[{"shape": shape}] = value


def _draw_eye(tracks: xr.Dataset, side: str, ratio: Value, iris: tuple[Value, Value]) -> None:
    lids, centre, left_edge = _EYES[side]
    half = np.asarray(ratio, float) * EYE_PX / 2
    along = (0.0, 1 / 3, 2 / 3, 1.0, 2 / 3, 1 / 3)
    up = (0.0, 1.0, 1.0, 0.0, -1.0, -1.0)
    for point, share, way in zip(lids, along, up, strict=True):
        _put(tracks, point, left_edge + share * EYE_PX, 100.0 - way * half)
    across, above = (np.asarray(value, float) * EYE_PX for value in iris)
    _put(tracks, centre, left_edge + EYE_PX / 2 + across, 100.0 - above)


def _put(tracks: xr.Dataset, point: int, x: Value, y: Value) -> None:
    tracks["face_xy"].loc[{"face_point": point, "space": "x"}] = x
    tracks["face_xy"].loc[{"face_point": point, "space": "y"}] = y


def steps(
    times: npt.NDArray[np.float64], low: float, *stretches: tuple[float, float, float]
) -> npt.NDArray[np.float64]:
    """Return `low` everywhere but the given value in each ``(onset, offset, value)``, ends included."""
    curve = np.full(len(times), low)
    for onset, offset, value in stretches:
        curve[(times >= onset - 1e-9) & (times <= offset + 1e-9)] = value
    return curve


RENDERED = Path(__file__).parent / "data" / "rendered_face.csv"
"""What the face model read, 15 times a second, in a rendered clip of an invented person, beside the truth."""


def rendered_readings() -> dict[str, npt.NDArray[np.float64]]:
    """Return the columns of `RENDERED`; those named ``true_...`` are what the clip was rendered from."""
    with RENDERED.open(encoding="utf-8") as lines:
        names = lines.readline().strip().split(",")
        table = np.loadtxt(lines, delimiter=",")
    return dict(zip(names, table.T, strict=True))


def rendered_face(onset_s: float = 0.0, offset_s: float = 60.0) -> xr.Dataset:
    """Make tracks that give the readings of `RENDERED` from `onset_s` to `offset_s`."""
    columns = rendered_readings()
    inside = (columns["time_s"] >= onset_s) & (columns["time_s"] <= offset_s)
    read = {name: column[inside] for name, column in columns.items()}
    face = Face(
        blink=(read["blink_left"], read["blink_right"]),
        ratio=(read["ratio_left"], read["ratio_right"]),
        look=(read["look_across"], read["look_up"]),
        iris=(read["iris_across"], read["iris_up"]),
        angles=(read["yaw"], read["pitch"], read["roll"]),
        width_px=231.0,
    )
    return face_tracks(read["time_s"], face)
