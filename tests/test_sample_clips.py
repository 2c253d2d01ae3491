"""The sample clips are what their truth says of them."""

import itertools
from typing import Any

import av
import numpy as np
import numpy.typing as npt
import pytest

import sample_clips
from sample_clips.recipe import motion, rotations, surface

LIMIT_ALL_CLIPS = 9_000_000
LIMIT_TRUTH = 1_200_000


def _truth(name: str) -> dict[str, Any]:
    return sample_clips.truth(name)


def _column(name: str, column: str) -> npt.NDArray[np.float64]:
    return np.array(_truth(name)["frames"][column], float)


def _events(name: str, kind: str) -> list[dict[str, Any]]:
    return [event for event in _truth(name)["events"] if event["kind"] == kind]


def _segment(name: str, segment: str) -> tuple[float, float]:
    (found,) = [entry for entry in _truth(name)["segments"] if entry["name"] == segment]
    return found["onset_s"], found["offset_s"]


def _inside(name: str, onset_s: float, offset_s: float) -> npt.NDArray[np.bool_]:
    times = _column(name, "time_s")
    return (times >= onset_s) & (times <= offset_s)


def _luma(name: str, number: int) -> npt.NDArray[np.uint8]:
    with av.open(str(sample_clips.clip_path(name))) as film:
        frame = next(itertools.islice(film.decode(video=0), number, None))
        return frame.to_ndarray(format="gray")


@pytest.mark.parametrize("name", sample_clips.NAMES)
def test_film_and_truth_share_one_clock(name: str) -> None:
    """Every frame of the film has its entry in the truth at its own presentation time."""
    with av.open(str(sample_clips.clip_path(name))) as film:
        times = [float(frame.pts * frame.time_base) for frame in film.decode(video=0)]
    assert _column(name, "time_s") == pytest.approx(np.array(times) - times[0], abs=6e-5)


@pytest.mark.parametrize("name", sample_clips.NAMES)
def test_film_is_of_the_stated_kind(name: str) -> None:
    """The film is H.264 in the size and at the rate its truth states, its first frame at zero, its index in front."""
    truth = _truth(name)
    with av.open(str(sample_clips.clip_path(name))) as film:
        stream = film.streams.video[0]
        facts = (stream.codec_context.name, stream.codec_context.pix_fmt, stream.start_time)
        assert facts == ("h264", "yuv420p", 0)
        assert [stream.width, stream.height] == truth["size_px"] == [1280, 720]
        assert stream.average_rate == truth["fps"] == 30
    head = sample_clips.clip_path(name).read_bytes()[:200_000]
    assert 0 < head.find(b"moov") < head.find(b"mdat")


def test_clips_stay_small() -> None:
    """The films together and each truth stay below what a checkout should carry."""
    assert sum(sample_clips.clip_path(name).stat().st_size for name in sample_clips.NAMES) < LIMIT_ALL_CLIPS
    truths = [sample_clips.clip_path(name).with_suffix(".truth.json") for name in sample_clips.NAMES]
    assert max(path.stat().st_size for path in truths) < LIMIT_TRUTH


@pytest.mark.parametrize("name", sample_clips.NAMES)
def test_columns_are_complete(name: str) -> None:
    """Every column and every joint has one finite entry a frame."""
    frames = dict(_truth(name)["frames"])
    count = len(frames["time_s"])
    joints = frames.pop("joints_px")
    assert {column: np.shape(values) for column, values in frames.items()} == dict.fromkeys(frames, (count,))
    assert {joint: np.shape(values) for joint, values in joints.items()} == dict.fromkeys(joints, (count, 2))
    assert all(np.isfinite(values).all() for values in (*frames.values(), *joints.values()))


@pytest.mark.parametrize("name", sample_clips.NAMES)
@pytest.mark.parametrize("side", ["left", "right"])
def test_closures_agree_with_the_lids(name: str, side: str) -> None:
    """A frame lies in a closure of an eye exactly when that eye's lid is more than half shut."""
    times = _column(name, "time_s")
    closures = [event for event in _events(name, "eye_closure") if event["side"] == side]
    told = np.zeros(len(times), bool)
    for event in closures:
        told |= (times >= event["onset_s"] - 1e-6) & (times < event["offset_s"] - 1e-6)
    assert closures
    assert np.array_equal(told, _column(name, f"closed_{side}") > 0.5)


@pytest.mark.parametrize("name", sample_clips.NAMES)
def test_spans_lie_in_the_film(name: str) -> None:
    """Every segment and event begins and ends in order and within the film."""
    truth = _truth(name)
    end = truth["frames"]["time_s"][-1] + 1 / truth["fps"]
    for span in (*truth["segments"], *truth["events"]):
        assert 0 <= span["onset_s"] <= span["offset_s"] <= end + 1e-6, span


def test_romberg_stands_as_told() -> None:
    """Feet are 34 cm apart, then 11.6 cm, and at the end more than 5 cm wider again."""
    stance = _column("romberg", "stance_m")
    assert stance[_inside("romberg", *_segment("romberg", "feet_apart"))] == pytest.approx(0.34, abs=0.001)
    assert stance[_inside("romberg", *_segment("romberg", "feet_together"))] == pytest.approx(0.116, abs=0.001)
    assert stance[_inside("romberg", *_segment("romberg", "stepped_aside"))].min() > 0.166


def test_romberg_steps_are_where_the_feet_move() -> None:
    """The stance changes during the three steps and stands still between them, to a millimetre."""
    moving = np.zeros(len(_column("romberg", "time_s")) - 1, bool)
    steps = _events("romberg", "foot_step")
    for step in steps:
        moving |= _inside("romberg", step["onset_s"] - 0.05, step["offset_s"] + 0.05)[1:]
    change = abs(np.diff(_column("romberg", "stance_m")))
    assert [step["side"] for step in steps] == ["left", "right", "right"]
    assert change[~moving].max() < 0.001
    assert change[moving].sum() == pytest.approx(0.224 + 0.142, abs=0.01)


def test_romberg_holds_each_half_for_twenty_seconds() -> None:
    """Eyes stay open, but for two blinks, and then shut for more than 20 s each, with feet together throughout."""
    together = _segment("romberg", "feet_together")
    for segment, share in (("eyes_open", 0.0), ("eyes_shut", 1.0)):
        onset, offset = _segment("romberg", segment)
        inside = _inside("romberg", onset, offset)
        assert offset - onset > 20
        assert together[0] <= onset < offset <= together[1]
        for side in ("left", "right"):
            assert (_column("romberg", f"closed_{side}")[inside] > 0.5).mean() == pytest.approx(share, abs=0.02)


def test_romberg_sways_by_the_planned_amount() -> None:
    """The sideways sway of the hips has the planned RMS, grows when the eyes shut, and is larger at the shoulders."""
    sizes = _truth("romberg")["plan"]["sway_size_m"]
    hip, shoulder = (_column("romberg", f"sway_{point}_x_m") for point in ("hip", "shoulder"))
    rms = {}
    for segment in ("eyes_open", "eyes_shut"):
        onset, offset = _segment("romberg", segment)
        inside = _inside("romberg", onset + 1, offset)
        rms[segment] = np.sqrt(np.mean(hip[inside] ** 2))
        assert rms[segment] == pytest.approx(sizes[segment], rel=0.1)
        assert np.corrcoef(hip[inside], shoulder[inside])[0, 1] > 0.999
        assert np.ptp(shoulder[inside]) > 1.4 * np.ptp(hip[inside])
    assert rms["eyes_shut"] > 1.8 * rms["eyes_open"]


def test_face_closes_its_eyes_in_order() -> None:
    """Each eye blinks twice, is held shut for over a second and winks once, the left one first."""
    closures = _events("face", "eye_closure")
    for side in ("left", "right"):
        own = [event for event in closures if event["side"] == side]
        assert [event["closure"] for event in own] == ["blink", "blink", "held", "wink"]
        assert own[2]["offset_s"] - own[2]["onset_s"] > 1
    assert [event["side"] for event in closures if event["closure"] == "wink"] == ["left", "right"]


def test_face_holds_six_gazes() -> None:
    """In every hold the gaze stays for about a second where its name says: + yaw to the own left, + pitch up."""
    holds = _events("face", "gaze_hold")
    yaw, pitch = _column("face", "gaze_yaw_deg"), _column("face", "gaze_pitch_deg")
    assert [h["position"] for h in holds] == ["right", "right_up", "right_down", "left", "left_up", "left_down"]
    for hold in holds:
        side, *height = hold["position"].split("_")
        inside = _inside("face", hold["onset_s"], hold["offset_s"])
        assert hold["offset_s"] - hold["onset_s"] == pytest.approx(1.0, abs=0.05)
        assert np.sign(hold["yaw_deg"]) == {"left": 1, "right": -1}[side]
        assert np.sign(hold["pitch_deg"]) == {"up": 1, "down": -1, "": 0}["".join(height)]
        assert yaw[inside] == pytest.approx(hold["yaw_deg"], abs=0.01)
        assert pitch[inside] == pytest.approx(hold["pitch_deg"], abs=0.01)


@pytest.mark.parametrize(
    ("segment", "column", "angle_deg"),
    [
        ("head_left", "head_yaw_deg", 30),
        ("head_right", "head_yaw_deg", -30),
        ("bend_left", "head_roll_deg", 15),
        ("bend_right", "head_roll_deg", -15),
    ],
)
def test_face_turns_and_bends(segment: str, column: str, angle_deg: float) -> None:
    """The head is held at the stated angle, + to the own left, while the eyes stay in the middle of the head."""
    inside = _inside("face", *_segment("face", segment))
    assert inside.sum() > 5
    assert _column("face", column)[inside] == pytest.approx(angle_deg, abs=0.1)
    assert not _column("face", "gaze_yaw_deg")[inside].any()


def test_face_moves_when_told() -> None:
    """Smile, lifted brows and tightly shut eyes are each made once, when the weights say so."""
    times = _column("face", "time_s")
    made = _events("face", "facial_movement")
    assert [event["movement"] for event in made] == ["shut_tight", "smile", "brows_up"]
    for event in made:
        told = (times >= event["onset_s"] - 1e-6) & (times < event["offset_s"] - 1e-6)
        assert np.array_equal(told, _column("face", event["movement"]) > 0.5)


def test_left_is_on_the_right_of_the_picture() -> None:
    """The camera sees the person from the front, so the own left stands further right in the picture."""
    for name, point in (("face", "iris"), ("romberg", "ankle")):
        joints = _truth(name)["frames"]["joints_px"]
        assert np.array(joints[f"left_{point}"])[0, 0] > np.array(joints[f"right_{point}"])[0, 0] + 20


@pytest.mark.parametrize(
    ("closure", "dark_left", "dark_right"),
    [("open", True, True), ("held", False, False), ("left", False, True), ("right", True, False)],
)
def test_lids_are_seen_where_the_truth_says(closure: str, dark_left: bool, dark_right: bool) -> None:
    """At the place of an iris the picture is dark with the eye open and light with the lid down, side by side."""
    moment = 0.1
    for event in _events("face", "eye_closure"):
        if closure in (event["closure"], event["side"] if event["closure"] == "wink" else None):
            moment = (event["onset_s"] + event["offset_s"]) / 2
    number = int(np.searchsorted(_column("face", "time_s"), moment))
    luma = _luma("face", number)
    joints = _truth("face")["frames"]["joints_px"]
    for side, dark in (("left", dark_left), ("right", dark_right)):
        x, y = np.round(joints[f"{side}_iris"][number]).astype(int)
        assert (np.median(luma[y - 2 : y + 3, x - 2 : x + 3]) < 80) == dark


def test_knee_kicks_after_each_tap() -> None:
    """The left leg is at rest until 60 ms after the first tap, and each kick reaches the stated extension."""
    times, extension = _column("knee", "time_s"), _column("knee", "extension_left_deg")
    taps = _events("knee", "tap")
    assert [tap["extension_deg"] for tap in taps] == [25, 12, 35]
    assert not extension[times < taps[0]["extension_onset_s"]].any()
    for tap in taps:
        kick = _inside("knee", tap["extension_onset_s"], tap["extension_peak_s"] + 0.1)
        assert extension[kick].max() == pytest.approx(tap["extension_deg"], abs=1.0)
        assert times[kick][extension[kick].argmax()] == pytest.approx(tap["extension_peak_s"], abs=0.04)


def test_knee_angle_follows_the_extension() -> None:
    """The left knee opens by as much as the leg is extended, the right one not at all."""
    left, right = _column("knee", "knee_angle_left_deg"), _column("knee", "knee_angle_right_deg")
    assert left - left[0] == pytest.approx(_column("knee", "extension_left_deg"), abs=0.5)
    assert np.ptp(right) == 0


def test_hammer_turns_round_at_the_tap() -> None:
    """The hammer's head swings down onto the tendon and is lowest in the frame of each tap."""
    height = np.array(_truth("knee")["frames"]["joints_px"]["hammer_head"])[:, 1]
    for tap in _events("knee", "tap"):
        near = np.flatnonzero(_inside("knee", tap["onset_s"] - 0.5, tap["onset_s"] + 0.5))
        assert _column("knee", "time_s")[near[height[near].argmax()]] == pytest.approx(tap["onset_s"], abs=0.02)


@pytest.mark.parametrize("ask", [sample_clips.clip_path, sample_clips.truth], ids=["clip_path", "truth"])
def test_unknown_clip_is_named(ask: Any) -> None:
    """A name that no clip has is answered with those that exist."""
    with pytest.raises(KeyError, match=r"'waltz'.*romberg, face, knee"):
        ask("waltz")


def test_minimum_jerk_course() -> None:
    """The course starts at 0, passes 1/2 half way and 0.103515625 at a quarter, ends at 1."""
    assert [motion.ease(x) for x in (-1, 0, 0.25, 0.5, 1, 2)] == pytest.approx([0, 0, 0.103515625, 0.5, 1, 1])


def test_sines_have_the_asked_rms() -> None:
    """Over whole periods of all parts the sum of scaled sines has the RMS that was asked for."""
    parts = motion.with_rms([(0.2, 3.0, 0.1), (0.3, 4.0, 2.0)], 0.5)
    values = [motion.sines(time, parts) for time in np.arange(0, 10, 0.01)]
    assert np.sqrt(np.mean(np.square(values))) == pytest.approx(0.5, rel=1e-9)


def test_swing_takes_one_direction_onto_another() -> None:
    """The smallest turn from x to y is a quarter turn about z."""
    assert rotations.swing([2, 0, 0], [0, 5, 0]) == pytest.approx(np.array([[0, -1, 0], [1, 0, 0], [0, 0, 1]]))


def test_cube_is_subdivided_by_hand() -> None:
    """One step on the cube of side 2 takes its corners to 5/9 and gives 26 vertices and 24 faces."""
    corners = np.array(list(itertools.product((-1.0, 1.0), repeat=3)))
    faces = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
    matrix, fine = surface.subdivided(faces, 8, 1)
    points = matrix @ corners
    assert (len(points), len(fine.faces)) == (26, 24)
    assert points[:8] == pytest.approx(corners * 5 / 9)
    assert np.sort(np.linalg.norm(points[8:], axis=1))[[0, -1]] == pytest.approx([1, 0.75 * np.sqrt(2)])
