"""The clip of two people is what its truth says of it, and the recipe's arithmetic behind it holds."""

import itertools
from pathlib import Path
from typing import Any

import av
import numpy as np
import numpy.typing as npt
import pytest

import sample_clips
from sample_clips.recipe import gait, overlap

LIMIT_FILM = 900_000
LIMIT_TRUTH = 700_000
PEOPLE = ("partner", "examiner")


@pytest.fixture(scope="module")
def truth() -> dict[str, Any]:
    """Truth of the clip."""
    return sample_clips.truth(sample_clips.PAIR)


def _person(truth: dict[str, Any], name: str) -> dict[str, Any]:
    columns: dict[str, Any] = truth["frames"]["people"][name]
    return columns


def _numbers(truth: dict[str, Any], name: str, column: str) -> npt.NDArray[np.float64]:
    """Return a column as numbers; NaN where the person is out of the picture."""
    return np.array([np.nan if value is None else value for value in _person(truth, name)[column]], float)


def _inside(truth: dict[str, Any], segment: str) -> npt.NDArray[np.bool_]:
    (found,) = [entry for entry in truth["segments"] if entry["name"] == segment]
    times = np.array(truth["frames"]["time_s"])
    return (times >= found["onset_s"]) & (times <= found["offset_s"])


def _chest(truth: dict[str, Any], name: str, number: int) -> npt.NDArray[np.int64]:
    """Return the point of the picture between shoulders and hips."""
    joints = _person(truth, name)["joints_px"]
    corners = [joints[f"{side}_{point}"][number] for side in ("left", "right") for point in ("shoulder", "hip")]
    return np.mean(corners, axis=0).round().astype(int)


def _redness(number: int, point: npt.NDArray[np.int64]) -> float:
    """Tell how much redder than blue the picture is around a point, in steps of 0 to 255."""
    with av.open(str(sample_clips.clip_path(sample_clips.PAIR))) as film:
        picture = next(itertools.islice(film.decode(video=0), number, None)).to_ndarray(format="rgb24")
    x, y = point
    patch = picture[y - 3 : y + 4, x - 3 : x + 4].reshape(-1, 3).mean(axis=0)
    return float(patch[0] - patch[2])


def test_film_and_truth_share_one_clock(truth: dict[str, Any]) -> None:
    """Every frame of the film decodes and has its entry in the truth at its own presentation time."""
    with av.open(str(sample_clips.clip_path(sample_clips.PAIR))) as film:
        times = [float(frame.pts * frame.time_base) for frame in film.decode(video=0)]
    assert truth["frames"]["time_s"] == pytest.approx(np.array(times) - times[0], abs=6e-5)
    assert 16 <= len(times) / truth["fps"] <= 20


def test_film_is_of_the_stated_kind(truth: dict[str, Any]) -> None:
    """The film is small H.264 in the size and at the rate its truth states, its index in front."""
    path = sample_clips.clip_path(sample_clips.PAIR)
    with av.open(str(path)) as film:
        stream = film.streams.video[0]
        assert (stream.codec_context.name, stream.codec_context.pix_fmt, stream.start_time) == ("h264", "yuv420p", 0)
        assert [stream.width, stream.height] == truth["size_px"] == [960, 540]
        assert stream.average_rate == truth["fps"] == 30
    content = path.read_bytes()
    assert 0 < content.find(b"moov") < content.find(b"mdat")
    assert len(content) < LIMIT_FILM
    assert path.with_suffix(".truth.json").stat().st_size < LIMIT_TRUTH


def test_truth_states_its_form_and_licence(truth: dict[str, Any]) -> None:
    """The truth names its form and its licence, and the README's table of licences names the film."""
    assert (truth["schema"], truth["schema_version"], truth["clip"]) == ("pair", 1, sample_clips.PAIR)
    assert "CC0 1.0" in truth["licence"]
    readme = (Path(sample_clips.__file__).parent / "README.md").read_text("utf-8")
    table = readme[readme.index("## Licences") :]
    assert f"`{sample_clips.PAIR}.mp4`" in readme
    assert "the films and their truth" in table


@pytest.mark.parametrize("name", PEOPLE)
def test_columns_are_complete(truth: dict[str, Any], name: str) -> None:
    """Every column of each person has one entry a frame; heads and joints have a finite place in all of them."""
    columns = dict(_person(truth, name))
    count = len(truth["frames"]["time_s"])
    points = {"head": columns["head_px"], **columns.pop("joints_px")}
    assert {column: len(values) for column, values in columns.items()} == dict.fromkeys(columns, count)
    assert {point: np.shape(values) for point, values in points.items()} == dict.fromkeys(points, (count, 2))
    assert all(np.isfinite(values).all() for values in points.values())


@pytest.mark.parametrize("name", PEOPLE)
def test_boxes_lie_in_the_picture(truth: dict[str, Any], name: str) -> None:
    """A box has an area, lies in the picture and holds the head whenever the head is in the picture."""
    width, height = truth["size_px"]
    for box, (x, y) in zip(_person(truth, name)["box_px"], _person(truth, name)["head_px"], strict=True):
        if box is not None:
            left, top, right, bottom = box
            assert 0 <= left < right <= width
            assert 0 <= top < bottom <= height
        if 0 < x < width and 0 < y < height:
            assert box is not None
            assert left < x < right
            assert top < y < bottom


@pytest.mark.parametrize("name", PEOPLE)
def test_absence_is_said_in_every_column(truth: dict[str, Any], name: str) -> None:
    """Pixels are 0 exactly where box and hidden share are missing; elsewhere the share lies between 0 and 1."""
    gone = _numbers(truth, name, "pixels") == 0
    hidden = _numbers(truth, name, "hidden")
    assert np.array_equal(gone, np.isnan(hidden))
    assert [box is None for box in _person(truth, name)["box_px"]] == gone.tolist()
    assert ((hidden[~gone] >= 0) & (hidden[~gone] <= 1)).all()


def test_partner_is_seen_whole_all_the_time(truth: dict[str, Any]) -> None:
    """The partner's box keeps away from all edges, with head and both feet inside."""
    boxes = np.array(_person(truth, "partner")["box_px"])
    width, height = truth["size_px"]
    assert boxes[:, :2].min() > 10
    assert boxes[:, 2].max() < width - 10
    assert boxes[:, 3].max() < height - 10
    for side in ("left", "right"):
        feet = np.array(_person(truth, "partner")["joints_px"][f"{side}_foot_index"])
        assert (boxes[:, 3] - feet[:, 1] < 30).all()


def test_examiner_hides_the_partner_in_front_and_is_hidden_behind(truth: dict[str, Any]) -> None:
    """Each crossing hides more than 80 % of whoever is farther, the one in front for half a second, never both."""
    partner, examiner = (_numbers(truth, name, "hidden") for name in PEOPLE)
    front, behind = _inside(truth, "in_front"), _inside(truth, "behind")
    assert partner[front].max() > 0.9
    assert (partner[front] > 0.8).sum() / truth["fps"] >= 0.5
    assert examiner[behind].max() > 0.8
    assert not np.nan_to_num(examiner[~behind]).any()
    assert not partner[~front].any()


def test_people_change_sides(truth: dict[str, Any]) -> None:
    """The examiner stands left of the partner in the picture, then right, then left again and once more."""
    away = np.subtract(*(np.array(_person(truth, name)["head_px"])[:, 0] for name in ("examiner", "partner")))
    for segment, sign in (("beside", -1), ("apart", 1), ("apart_again", -1), ("beside_again", -1)):
        assert (sign * away[_inside(truth, segment)] > 150).all(), segment


def test_examiner_leaves_the_picture_once_and_comes_back(truth: dict[str, Any]) -> None:
    """One absence of about a second, while the partner stays."""
    gone = [event for event in truth["events"] if event["kind"] == "out_of_picture"]
    assert [event["person"] for event in gone] == ["examiner"]
    assert 0.5 < gone[0]["offset_s"] - gone[0]["onset_s"] < 2.5
    assert _numbers(truth, "examiner", "pixels")[-1] > 0


def test_events_of_covering_follow_from_the_shares(truth: dict[str, Any]) -> None:
    """A person counts as covered exactly while more than half hidden: the partner first, then the examiner."""
    times = np.array(truth["frames"]["time_s"])
    covered = [event for event in truth["events"] if event["kind"] == "covered"]
    assert [event["person"] for event in covered] == ["partner", "examiner"]
    for event in covered:
        told = (times >= event["onset_s"] - 1e-6) & (times < event["offset_s"] - 1e-6)
        assert np.array_equal(told, _numbers(truth, event["person"], "hidden") > 0.5)


def test_back_is_turned_while_hiding_the_partner(truth: dict[str, Any]) -> None:
    """Own left is right in the picture for the partner always, and left for the examiner who hides the partner."""
    number = int(np.argmax(_numbers(truth, "partner", "hidden")))
    sides = {}
    for name in PEOPLE:
        joints = _person(truth, name)["joints_px"]
        sides[name] = np.array(joints["left_shoulder"])[:, 0] - np.array(joints["right_shoulder"])[:, 0]
    assert (sides["partner"] > 40).all()
    assert sides["examiner"][number] < -40
    assert abs(_person(truth, "examiner")["facing_deg"][number]) > 150


def test_clothes_tell_who_is_where(truth: dict[str, Any]) -> None:
    """The chest of the partner is blue and that of the examiner red; where one hides the other, the nearer is seen."""
    for segment in ("beside", "apart", "apart_again", "beside_again"):
        number = int(np.flatnonzero(_inside(truth, segment)).mean())
        assert _redness(number, _chest(truth, "examiner", number)) > 40, segment
        assert _redness(number, _chest(truth, "partner", number)) < -40, segment
    front, behind = (int(np.nanargmax(_numbers(truth, name, "hidden"))) for name in PEOPLE)
    assert _redness(front, _chest(truth, "partner", front)) > 40
    assert _redness(behind, _chest(truth, "examiner", behind)) < -40


def test_heights_differ(truth: dict[str, Any]) -> None:
    """The examiner is about a tenth of a metre shorter."""
    heights = [truth["people"][name]["height_m"] for name in PEOPLE]
    assert 0.05 < heights[0] - heights[1] < 0.2


def test_nearer_person_hides_the_overlap() -> None:
    """Two rectangles of 8 and 6 pixels share 4: the farther one is half hidden, the nearer one not at all."""
    far, near, gone = (np.ones((5, 6)) for _ in range(3))
    far[1:3, 0:4] = 0.9
    near[1:4, 2:4] = 0.5
    seen = overlap.overlap({"far": far, "near": near, "gone": gone})
    assert seen["far"] == overlap.Seen(pixels=8, box_px=(0, 1, 4, 3), hidden=0.5)
    assert seen["near"] == overlap.Seen(pixels=6, box_px=(2, 1, 4, 4), hidden=0.0)
    assert seen["gone"] == overlap.Seen(pixels=0, box_px=None, hidden=None)
    assert overlap.overlap({"far": far})["far"].hidden == 0


def test_one_foot_always_stands_still() -> None:
    """On a straight way at 0.8 m/s at least one foot is at rest on the floor, and both keep up with the person."""
    walk = gait.Walk([(0, 0, 0, 0), (5, 0, 4, 0)], ankle_height_m=0.07)
    times = np.arange(1, 4, 0.02)
    ankles = {side: np.array([walk.feet(time)[side].ankle for time in times]) for side in "LR"}
    moving = [np.linalg.norm(np.diff(ankles[side], axis=0), axis=1) > 1e-6 for side in "LR"]
    assert not (moving[0] & moving[1]).any()
    assert moving[0].any()
    assert moving[1].any()
    for side in "LR":
        ahead = ankles[side][:, 2] - [walk.at(time)[0][2] for time in times]
        assert abs(ahead).max() < 0.35
        assert ankles[side][:, 1].min() == pytest.approx(0.07)
        assert 0.09 < ankles[side][:, 1].max() < 0.13


def test_feet_of_somebody_who_stays_are_planted() -> None:
    """Between two waypoints at one place neither foot moves or is lifted."""
    walk = gait.Walk([(0, 1, 2, 90), (10, 1, 2, 90)], ankle_height_m=0.07)
    for time in np.arange(0, 10, 0.13):
        feet = walk.feet(time)
        assert feet["L"].ankle == pytest.approx([1, 0.07, 1.915])
        assert feet["R"].ankle == pytest.approx([1, 0.07, 2.085])
        assert feet["L"].toe_up_deg == feet["R"].toe_up_deg == 0
