"""What is drawn of each measure: where it lies, and that it is what the number rests on."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from review.domain.construction import Part
from review.domain.tracks import FOUND, STREAMS, empty_tracks
from review.measures import measure, registry
from review.measures.drawn import body, facing
from review.measures.gaze_sweep import gaze_in_head
from review.measures.stance_width import stance_width
from review.measures.touch_sequence import SITES, touches_drawn
from review.signals.geometry import angle_deg
from tests.synthetic import clock, standing
from tests.synthetic_face import rendered_face
from tests.synthetic_limbs import seated

WITHOUT = {
    "capture_people": "counts people",
    "capture_light": "rests on the whole picture",
    "capture_contrast": "rests on the whole picture",
    "capture_sharpness": "rests on the whole picture",
    "capture_camera_still": "rests on the background",
    "capture_frame_rate": "rests on the times of the frames",
    "capture_sound_level": "rests on the sound",
    "capture_sound_clipping": "rests on the sound",
    "capture_sound_hum": "rests on the sound",
    "tap_moment": "rests on the sound; on a turning hand only in films without",
    "voice_level": "rests on the sound",
    "whispered_share": "rests on the sound",
    "whisper_level": "rests on the sound",
    "answer_delay": "rests on the sound",
}
"""Measures of which nothing is drawn, and why."""

CORNERS = {"arrow": {2}, "arc": {3}, "trail": {1}}


def test_what_is_not_drawn_rests_on_no_landmarks() -> None:
    """Every measure that rests on landmarks of body, face or hands draws them; the others are named with the reason."""
    assert {name for name, one in registry().items() if one.construction is None} == set(WITHOUT)


@pytest.mark.parametrize("frames", [1, 2, 40])
@pytest.mark.parametrize("state", [pytest.param(0, id="not looked at"), pytest.param(1, id="nothing found")])
@pytest.mark.parametrize("name", [name for name in registry() if name not in WITHOUT])
def test_nothing_seen_is_nothing_drawn(name: str, state: int, frames: int) -> None:
    """Tracks without anything in them give parts of the right shape without a single corner or number."""
    tracks = empty_tracks(np.arange(frames) / 30, 1280, 720, height_mm=1700)
    for stream in STREAMS:
        tracks[f"{stream}_state"].values[:] = state
    for part in parts_of(name, tracks):
        assert part.stream in STREAMS
        assert part.words
        assert part.places.shape[::2] == (frames, 2)
        assert part.places.shape[1] in CORNERS.get(part.kind, range(1, 100))
        assert np.isnan(part.places).all()
        assert part.reading is None or (part.reading.shape == (frames,) and part.unit)


def parts_of(name: str, tracks: xr.Dataset) -> tuple[Part, ...]:
    """Return what is drawn of a measure."""
    construction = measure(name).construction
    assert construction is not None
    return construction(tracks)


def test_stance_is_drawn_from_ankle_to_ankle() -> None:
    """The line ends at both ankles; its number is the measure's own in that frame; the unit is drawn beside it."""
    tracks = standing(clock(2.0), stance=0.8)
    ankles, shoulders = parts_of("stance_width", tracks)
    np.testing.assert_array_equal(ankles.places, body(tracks, "left_ankle", "right_ankle"))
    np.testing.assert_array_equal(ankles.reading, stance_width(tracks).values)
    np.testing.assert_array_equal(shoulders.places, body(tracks, "left_shoulder", "right_shoulder"))


def test_sway_is_drawn_from_over_the_feet_to_the_shoulders() -> None:
    """The shoulders' middle of a leaning person lies as far beside the upright over the feet as the person sways."""
    tracks = standing(clock(4.0), sway_px=lambda times: np.full_like(times, 12.0))
    upright, beside, middle = parts_of("postural_sway", tracks)
    np.testing.assert_allclose(beside.places[:, 1, 0] - beside.places[:, 0, 0], 12.0, atol=1e-3)
    np.testing.assert_allclose(upright.places[:, 0, 0], upright.places[:, 1, 0])
    np.testing.assert_array_equal(middle.places[:, 0], beside.places[:, 1])


@pytest.mark.parametrize("joint", ["knee", "ankle"])
def test_the_arc_is_the_angle_that_is_read(joint: str) -> None:
    """The angle between the arms of the arc is its number."""
    tracks = seated(clock(2.0))
    for part in parts_of(f"{joint}_jerk", tracks):
        near, vertex, far = (points_of(part, corner) for corner in range(3))
        drawn = angle_deg(near, vertex, far).values
        known = np.isfinite(drawn) & np.isfinite(part.reading)
        assert known.any() or part.side == "right"
        np.testing.assert_allclose(drawn[known], part.reading[known], atol=1e-3)


def points_of(part: Part, corner: int) -> xr.DataArray:
    """Return one corner as labelled points."""
    return xr.DataArray(part.places[:, corner], dims=("time", "space"))


@pytest.mark.parametrize(("yaw", "pitch"), [(0.0, 0.0), (30.0, 0.0), (-40.0, 0.0), (0.0, 20.0)])
def test_the_arrow_of_the_face_is_a_rod_seen_from_the_front(yaw: float, pitch: float) -> None:
    """A rod of 1.2 eye distances reaches sin(yaw) of it to own left and sin(pitch) of it up; ahead it is a point."""
    tracks = empty_tracks([0.0], 640, 480)
    tracks["face_state"][:] = FOUND
    distance = 100.0
    for point, x, y in ((1, 320, 240), (33, 320 - distance / 2, 200), (263, 320 + distance / 2, 200)):
        seen = 320 + (x - 320) * np.cos(np.radians(yaw))
        tracks["face_xy"].loc[{"face_point": point}] = np.array([[seen, y]])
    tracks["head_angle"][:] = np.array([[yaw, pitch, 0.0]])
    (nose, tip), *_ = facing(tracks).places
    expected = 1.2 * distance * np.array([np.sin(np.radians(yaw)), -np.sin(np.radians(pitch))])
    np.testing.assert_allclose(tip - nose, expected, atol=0.01)


def test_the_arrow_of_the_gaze_points_where_the_eyes_look() -> None:
    """Its length is 0.02 eye distances for each deg from the centre, its number the angle, its way that of the gaze."""
    tracks = rendered_face()
    gaze = gaze_in_head(tracks).values
    eyes = tracks["face_xy"].sel(face_point=[33, 263]).values.astype(float)
    unit = np.linalg.norm(eyes[:, 1] - eyes[:, 0], axis=1)
    arrow = next(part for part in parts_of("gaze_sweep", tracks) if part.kind == "arrow" and part.side is None)
    way = (arrow.places[:, 1] - arrow.places[:, 0]) / unit[:, None] / 0.02
    known = np.isfinite(way).all(axis=1)
    assert known.sum() > 100
    np.testing.assert_allclose(way[known], gaze[known] * [1, -1], atol=0.05)


def test_touched_places_turn_with_the_face() -> None:
    """The six places are mirror images about the middle of a face that looks ahead, and tilt along with it."""
    tracks = empty_tracks([0.0, 0.1], 640, 480)
    tracks["face_state"][:] = FOUND
    tracks["head_angle"][:] = 0.0
    for point, x in ((33, 275.0), (133, 305.0), (362, 335.0), (263, 365.0)):
        tracks["face_xy"].loc[{"face_point": point}] = np.array([[x, 240.0], [320.0, 240.0 + x - 320.0]])
    level, tilted = touches_drawn(tracks)[0].places
    expected = np.array([[320 + 90 * across, 240 - 90 * up] for across, up in SITES.values()])
    np.testing.assert_allclose(level, expected, atol=1e-3)
    turned = (expected - [320, 240]) @ np.array([[0, 1], [-1, 0]]) + [320, 240]
    np.testing.assert_allclose(tilted, turned, atol=1e-3)
