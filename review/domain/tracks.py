"""The landmark dataset: its dimensions, coordinates and units, defined and checked here only.

A recording's tracks are one `xarray.Dataset` on the clock of the recording (one entry for every video frame):

===================  ===========================  =======  ==========================================================
variable             dimensions                   units    meaning
===================  ===========================  =======  ==========================================================
pose_state           time                         1        0 not looked at, 1 looked and not found, 2 found, 3 people
                                                           seen, but not sure which of them is the examined one
pose_xy              time, pose_point, space      px       body points in the upright, unmirrored picture
pose_visibility      time, pose_point             1        the model's own guess that a point can be seen, 0 to 1
pose_world           time, pose_point, space3     m        body points about the hips' middle (the model's guess)
face_state           time                         1        as pose_state
face_xy              time, face_point, space      px       face points kept by `FACE_POINTS`
face_width           time                         px       width of the face outline
blendshape           time, shape                  1        expression weights, 0 to 1
head_angle           time, angle                  deg      yaw (+ turned to own left), pitch (+ up), roll (+ tilted
                                                           to own left)
hand_state           time                         1        as pose_state
hand_xy              time, hand, hand_point,      px       the examined person's hands, by the model's side guess,
                     space                                 ``left`` and ``right``
other_hand_xy        time, hand, hand_point,      px       hands of anybody else, likewise; the nearest two
                     space
picture_state        time                         1        as pose_state (found means measured)
brightness           time                         1        mean luma, 0 (black) to 1 (white)
contrast             time                         1        standard deviation of luma, same scale
sharpness            time                         1        variance of the Laplacian of luma (0 to 255 scale)
background_shift     time, space                  px       shift of the background since the chunk's previous
                                                           looked-at frame
people_state         time                         1        as pose_state (found means counted)
people_count         time                         1        how many people were seen
sound_state          time                         1        as pose_state (found means measured)
sound_level          time                         dB       level while the frame is shown, RMS, re a full-scale sine
sound_clipped        time                         1        share of samples at the end of the scale
sound_hum            time                         1        share of the power at mains frequency and its harmonics
sound_onset          time                         dB       rise of the strongest sudden sound while the frame is
                                                           shown, 0 without one
sound_onset_after    time                         s        when that sound begins, after the frame's own time
sound_onset_fall     time                         dB       how far that sound has fallen 0.14 s after its loudest
sound_voicing        time                         1        how periodic the sound is at the pitch of voices, 0 to 1
sound_speech         time                         dB       level from 200 to 6000 Hz above the film's own background
sound_tilt           time                         dB       level from 80 to 700 Hz less that from 1500 to 7000 Hz, the
                                                           background taken off: high for voice, low for whisper
===================  ===========================  =======  ==========================================================

NaN stands where a point was not found, where it is not sure whose it is, and where a frame was not looked at; the
``*_state`` variables tell these absences apart. Where several people are seen, all is of the examined one. Left and
right are the examined person's own. ``time`` is float64 seconds from the first frame, strictly rising. Attributes:
``width_px``, ``height_px`` (picture as displayed), ``height_mm`` (examined person's height, NaN when unknown),
``slow_motion`` (how many times slower the film plays than life went by), ``lifeless`` (whether what was found in the
film is a picture of a person or a dummy: then it counts as not found), ``schema_version``.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.errors import TracksBroken
from review.domain.model import Reason

SCHEMA_VERSION: Final = 5
NOT_LOOKED: Final = 0
NOT_FOUND: Final = 1
FOUND: Final = 2
UNSURE: Final = 3

SIGHTS: Final = ("pose", "face", "hand", "picture")
"""The streams that come of looking at frames."""

OF_A_BODY: Final = ("pose", "face", "hand")
"""The streams that say something of a person."""

STREAMS: Final = (*SIGHTS, "people", "sound")

POSE_POINTS: Final = (
    *(
        "nose",
        "left_eye_inner",
        "left_eye",
        "left_eye_outer",
        "right_eye_inner",
        "right_eye",
        "right_eye_outer",
    ),
    *("left_ear", "right_ear", "mouth_left", "mouth_right", "left_shoulder", "right_shoulder"),
    *("left_elbow", "right_elbow", "left_wrist", "right_wrist", "left_pinky", "right_pinky"),
    *("left_index", "right_index", "left_thumb", "right_thumb", "left_hip", "right_hip"),
    *("left_knee", "right_knee", "left_ankle", "right_ankle", "left_heel", "right_heel"),
    *("left_foot_index", "right_foot_index"),
)
"""Names of the 33 body points, in the model's order."""

FACE_OUTLINE: Final = (
    *(10, 21, 54, 58, 67, 93, 103, 109, 127, 132, 136, 148, 149, 150, 152, 162, 172, 176),
    *(234, 251, 284, 288, 297, 323, 332, 338, 356, 361, 365, 377, 378, 379, 389, 397, 400, 454),
)
_EYES = (
    *(7, 33, 133, 144, 145, 153, 154, 155, 157, 158, 159, 160, 161, 163, 173, 246),
    *(249, 263, 362, 373, 374, 380, 381, 382, 384, 385, 386, 387, 388, 390, 398, 466),
)
_BROWS = (46, 52, 53, 55, 63, 65, 66, 70, 105, 107, 276, 282, 283, 285, 293, 295, 296, 300, 334, 336)
_IRISES = tuple(range(468, 478))
_LIPS = (
    *(0, 13, 14, 17, 37, 39, 40, 61, 78, 80, 81, 82, 84, 87, 88, 91, 95, 146, 178, 181, 185, 191),
    *(267, 269, 270, 291, 308, 310, 311, 312, 314, 317, 318, 321, 324, 375, 402, 405, 409, 415),
)
_NOSE = (
    1,
    2,
    4,
    5,
    6,
    19,
    45,
    48,
    64,
    94,
    97,
    98,
    115,
    168,
    195,
    197,
    220,
    275,
    278,
    294,
    326,
    327,
    344,
    440,
)

FACE_POINTS: Final = tuple(sorted({*FACE_OUTLINE, *_EYES, *_BROWS, *_IRISES, *_LIPS, *_NOSE}))
"""Indices, in the face model's numbering of 478 points, of the face points that are kept."""

BLENDSHAPES: Final = (
    *("_neutral", "browDownLeft", "browDownRight", "browInnerUp", "browOuterUpLeft", "browOuterUpRight"),
    *("cheekPuff", "cheekSquintLeft", "cheekSquintRight", "eyeBlinkLeft", "eyeBlinkRight", "eyeLookDownLeft"),
    *("eyeLookDownRight", "eyeLookInLeft", "eyeLookInRight", "eyeLookOutLeft", "eyeLookOutRight"),
    *("eyeLookUpLeft", "eyeLookUpRight", "eyeSquintLeft", "eyeSquintRight", "eyeWideLeft", "eyeWideRight"),
    *("jawForward", "jawLeft", "jawOpen", "jawRight", "mouthClose", "mouthDimpleLeft", "mouthDimpleRight"),
    *("mouthFrownLeft", "mouthFrownRight", "mouthFunnel", "mouthLeft", "mouthLowerDownLeft"),
    *("mouthLowerDownRight", "mouthPressLeft", "mouthPressRight", "mouthPucker", "mouthRight"),
    *("mouthRollLower", "mouthRollUpper", "mouthShrugLower", "mouthShrugUpper", "mouthSmileLeft"),
    *("mouthSmileRight", "mouthStretchLeft", "mouthStretchRight", "mouthUpperUpLeft", "mouthUpperUpRight"),
    *("noseSneerLeft", "noseSneerRight"),
)
"""Names of the 52 expression weights, in the model's order."""

HAND_POINTS: Final = 21

_COORDS: Final[dict[str, object]] = {
    "pose_point": list(POSE_POINTS),
    "face_point": list(FACE_POINTS),
    "shape": list(BLENDSHAPES),
    "space": ["x", "y"],
    "space3": ["x", "y", "z"],
    "angle": ["yaw", "pitch", "roll"],
    "hand": ["left", "right"],
    "hand_point": list(range(HAND_POINTS)),
}

VARIABLES: Final[dict[str, tuple[str, tuple[str, ...], str]]] = {
    "pose_state": ("pose", ("time",), "1"),
    "pose_xy": ("pose", ("time", "pose_point", "space"), "px"),
    "pose_visibility": ("pose", ("time", "pose_point"), "1"),
    "pose_world": ("pose", ("time", "pose_point", "space3"), "m"),
    "face_state": ("face", ("time",), "1"),
    "face_xy": ("face", ("time", "face_point", "space"), "px"),
    "face_width": ("face", ("time",), "px"),
    "blendshape": ("face", ("time", "shape"), "1"),
    "head_angle": ("face", ("time", "angle"), "deg"),
    "hand_state": ("hand", ("time",), "1"),
    "hand_xy": ("hand", ("time", "hand", "hand_point", "space"), "px"),
    "other_hand_xy": ("hand", ("time", "hand", "hand_point", "space"), "px"),
    "picture_state": ("picture", ("time",), "1"),
    "brightness": ("picture", ("time",), "1"),
    "contrast": ("picture", ("time",), "1"),
    "sharpness": ("picture", ("time",), "1"),
    "background_shift": ("picture", ("time", "space"), "px"),
    "people_state": ("people", ("time",), "1"),
    "people_count": ("people", ("time",), "1"),
    "sound_state": ("sound", ("time",), "1"),
    "sound_level": ("sound", ("time",), "dB"),
    "sound_clipped": ("sound", ("time",), "1"),
    "sound_hum": ("sound", ("time",), "1"),
    "sound_onset": ("sound", ("time",), "dB"),
    "sound_onset_after": ("sound", ("time",), "s"),
    "sound_onset_fall": ("sound", ("time",), "dB"),
    "sound_voicing": ("sound", ("time",), "1"),
    "sound_speech": ("sound", ("time",), "dB"),
    "sound_tilt": ("sound", ("time",), "dB"),
}
"""Name of each variable -> the stream it belongs to, its dimensions, its unit."""


def is_state(name: str) -> bool:
    """Tell whether a variable is one of the state variables (int8) rather than a float one."""
    return name.endswith("_state")


def empty_tracks(
    time_s: npt.ArrayLike,
    width_px: int,
    height_px: int,
    height_mm: float | None = None,
    slow_motion: float = 1.0,
    streams: Collection[str] = STREAMS,
    read_only: bool = False,
) -> xr.Dataset:
    """Make the tracks of a recording in which nothing was looked at yet.

    Parameters
    ----------
    time_s
        Presentation times of all frames, shape ``(time,)``, seconds, strictly rising.
    width_px, height_px
        Size of the picture as displayed.
    height_mm
        Standing height of the examined person, if known.
    slow_motion
        How many times slower the film plays than life went by.
    streams
        Streams whose variables are made; all of them take about 3 kB of memory a frame.
    read_only
        Whether nothing will be written into them; they then take no memory.
    """
    times = np.asarray(time_s, dtype=np.float64)
    sizes = {"time": len(times)} | {dim: len(list(values)) for dim, values in _listed_coords()}
    data: dict[str, tuple[tuple[str, ...], npt.NDArray[np.generic], dict[str, str]]] = {}
    for name, (stream, dims, units) in VARIABLES.items():
        if stream not in streams:
            continue
        shape = tuple(sizes[dim] for dim in dims)
        blank = np.int8(0) if is_state(name) else np.float32(np.nan)
        values = np.broadcast_to(blank, shape) if read_only else np.full(shape, blank)
        data[name] = (dims, values, {"units": units})
    coords = {"time": ("time", times, {"units": "s"}), **_COORDS}
    attrs = {
        "width_px": int(width_px),
        "height_px": int(height_px),
        "height_mm": float("nan") if height_mm is None else float(height_mm),
        "slow_motion": float(slow_motion),
        "lifeless": False,
        "schema_version": SCHEMA_VERSION,
    }
    return xr.Dataset(data, coords=coords, attrs=attrs)


def _listed_coords() -> list[tuple[str, list[object]]]:
    return [(dim, values) for dim, values in _COORDS.items() if isinstance(values, list)]


def check_tracks(tracks: xr.Dataset) -> xr.Dataset:
    """Return `tracks` unchanged if it keeps the contract of this module.

    Raises
    ------
    TracksBroken
        If it does not; the message lists every fault.
    """
    faults = [*_time_faults(tracks), *_variable_faults(tracks)]
    faults += [
        f"attribute {name} is missing"
        for name in ("width_px", "height_px", "height_mm", "slow_motion")
        if name not in tracks.attrs
    ]
    if faults:
        raise TracksBroken("These tracks do not keep the contract: " + "; ".join(faults) + ". Analyse the film again.")
    return tracks


def _time_faults(tracks: xr.Dataset) -> list[str]:
    if "time" not in tracks.coords:
        return ["coordinate time is missing"]
    times = tracks["time"].values
    faults = [] if times.dtype == np.float64 else [f"time is {times.dtype}, expected float64"]
    if len(times) > 1 and not np.all(np.diff(times) > 0):
        faults.append("time does not rise strictly")
    return faults


def _variable_faults(tracks: xr.Dataset) -> list[str]:
    faults = []
    for name, (_, dims, units) in VARIABLES.items():
        if name not in tracks:
            faults.append(f"{name} is missing")
            continue
        if tracks[name].dims != dims:
            faults.append(f"{name} has dimensions {tracks[name].dims}, expected {dims}")
        if tracks[name].attrs.get("units") != units:
            faults.append(f"{name} is in {tracks[name].attrs.get('units')}, expected {units}")
    for dim, values in _listed_coords():
        if dim in tracks.sizes and list(tracks[dim].values) != values:
            faults.append(f"coordinate {dim} is not the expected list")
    return faults


def looked(tracks: xr.Dataset, stream: str) -> npt.NDArray[np.bool_]:
    """Tell for every frame whether `stream` was looked at; shape ``(time,)``."""
    return np.asarray(tracks[f"{stream}_state"].values != NOT_LOOKED)


def found(tracks: xr.Dataset, stream: str) -> npt.NDArray[np.bool_]:
    """Tell for every frame whether `stream` was looked at and found, and lives; shape ``(time,)``."""
    return np.asarray((tracks[f"{stream}_state"].values == FOUND) & (not _is_lifeless(tracks, stream)))


def _is_lifeless(tracks: xr.Dataset, stream: str) -> bool:
    return stream in OF_A_BODY and bool(tracks.attrs.get("lifeless", False))


def why_absent(tracks: xr.Dataset, stream: str, not_found: Reason) -> npt.NDArray[np.int8]:
    """Give for every frame the reason why `stream` holds nothing there, 0 where it does; shape ``(time,)``.

    Parameters
    ----------
    not_found
        What is said of frames that were looked at in vain.
    """
    codes = np.full(UNSURE + 1, int(Reason.NONE), dtype=np.int8)
    codes[[NOT_LOOKED, NOT_FOUND, UNSURE]] = int(Reason.NOT_LOOKED), int(not_found), int(Reason.PERSON_UNSURE)
    if _is_lifeless(tracks, stream):
        codes[FOUND] = int(Reason.LIFELESS)
    return np.asarray(codes[tracks[f"{stream}_state"].values])


def cut(tracks: xr.Dataset, onset_s: float, offset_s: float) -> xr.Dataset:
    """Return the frames with ``onset_s <= time <= offset_s``."""
    times = tracks["time"].values
    return tracks.isel(time=np.flatnonzero((times >= onset_s) & (times <= offset_s)))
