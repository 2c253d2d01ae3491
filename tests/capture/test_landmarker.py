from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
import pytest
import xarray as xr

from review.capture.intake import probe
from review.capture.landmarker import Look, look, planned
from review.capture.video import frames
from review.domain.tracks import FOUND, NOT_FOUND, NOT_LOOKED, SIGHTS, check_tracks
from tests.films import even_times, make_film, numbered, spoil_packet

Picture = npt.NDArray[np.uint8]


def _looked(film: Path, first: int, stop: int, *streams: str, mirrored: bool = False) -> xr.Dataset:
    facts, times = probe(film)
    wanted = tuple((stream, tuple(range(first, stop))) for stream in streams)
    return check_tracks(look(Look(film, first, stop, wanted, mirrored), times, facts.width_px, facts.height_px))


def _states(tracks: xr.Dataset) -> dict[str, set[int]]:
    return {stream: set(tracks[f"{stream}_state"].values.tolist()) for stream in SIGHTS}


def _from_clip(clip: Path, first: int, count: int, change: Callable[[Picture], Picture]) -> Callable[[int], Picture]:
    _, times = probe(clip)
    shown = [change(frame.picture) for frame in frames(clip, times, first, first + count, 1280)]
    return lambda number: shown[number]


def test_a_close_face_is_found_with_its_shoulders_and_nothing_else_is_claimed(clip: dict[str, Path]) -> None:
    """On a face close-up face and pose are found, and streams that were not asked for are not looked at."""
    tracks = _looked(clip["face"], 0, 6, "pose", "face")
    assert _states(tracks) == {"pose": {FOUND}, "face": {FOUND}, "hand": {NOT_LOOKED}, "picture": {NOT_LOOKED}}
    assert np.isfinite(tracks["face_xy"].values).all()
    assert np.isnan(tracks["hand_xy"].values).all()
    left = tracks["pose_xy"].sel(pose_point="left_shoulder", space="x").values
    right = tracks["pose_xy"].sel(pose_point="right_shoulder", space="x").values
    assert np.all(left > right)


def test_a_small_face_is_found_on_a_whole_body_film(clip: dict[str, Path]) -> None:
    """The head is cut out by the pose, so the face is found in every frame, within the head's own place."""
    tracks = _looked(clip["romberg"], 300, 312, "pose", "face")
    assert _states(tracks)["face"] == {FOUND}
    nose = tracks["pose_xy"].sel(pose_point="nose").values
    tip = tracks["face_xy"].sel(face_point=1).values
    width = tracks["face_width"].values
    assert np.all(np.hypot(*(tip - nose).T) < 0.5 * width)
    assert 35 < np.median(width) < 90


@pytest.mark.parametrize(
    ("at_s", "angle", "sign"),
    [
        pytest.param(15.35, "yaw", 1, id="turned-to-own-left"),
        pytest.param(16.1, "yaw", -1, id="turned-to-own-right"),
        pytest.param(17.1, "roll", 1, id="tilted-to-own-left"),
        pytest.param(17.75, "roll", -1, id="tilted-to-own-right"),
    ],
)
def test_head_angles_carry_the_persons_own_sides(clip: dict[str, Path], at_s: float, angle: str, sign: int) -> None:
    """A head that turns or tilts to its own left reads positive, to its own right negative."""
    first = round(at_s * 30)
    tracks = _looked(clip["face"], first, first + 2, "face")
    assert sign * float(tracks["head_angle"].sel(angle=angle).mean()) > 5


@pytest.mark.parametrize("mirrored", [False, True], ids=["as-filmed", "mirrored-film"])
def test_a_wink_stays_on_its_own_side(tmp_path: Path, clip: dict[str, Path], mirrored: bool) -> None:
    """The left wink is the left eye's, also in a mirrored film that is said to be mirrored."""
    draw = _from_clip(clip["face"], 338, 6, lambda picture: picture[:, ::-1] if mirrored else picture)
    film = make_film(tmp_path / "film.mp4", even_times(6), size=(1280, 720), picture=draw)
    tracks = _looked(film, 0, 6, "face", "pose", mirrored=mirrored)
    shapes = tracks["blendshape"].isel(time=-1)
    assert float(shapes.sel(shape="eyeBlinkLeft")) > 0.5 > float(shapes.sel(shape="eyeBlinkRight")) + 0.1
    shoulders = tracks["pose_xy"].sel(space="x").isel(time=-1)
    assert float(shoulders.sel(pose_point="left_shoulder")) > float(shoulders.sel(pose_point="right_shoulder"))


def test_a_hand_lies_at_the_wrist_of_its_own_side(clip: dict[str, Path]) -> None:
    """Hands are named by the person's own side in a film that is not mirrored."""
    tracks = _looked(clip["romberg"], 6, 26, "pose", "hand")
    roots = tracks["hand_xy"].sel(hand_point=0).values
    wrists = tracks["pose_xy"].sel(pose_point=["left_wrist", "right_wrist"]).values
    own = np.hypot(*np.moveaxis(roots - wrists, 2, 0))
    assert np.isfinite(own).any()
    assert np.nanmax(own) < 30


@pytest.mark.parametrize(
    ("width", "height"), [(638, 358), (637, 359), (1080, 1920)], ids=["638-wide", "637-wide", "1080-portrait"]
)
def test_faces_are_found_whatever_the_width(tmp_path: Path, clip: dict[str, Path], width: int, height: int) -> None:
    """Rows that are padded in memory do not reach the models as garbage."""

    def change(picture: Picture) -> Picture:
        part = picture[:, 280:1000] if height > width else picture
        canvas = np.full((height, width, 3), 127, np.uint8)
        scaled = cv2.resize(part, (width, min(height, round(width * part.shape[0] / part.shape[1]))))
        canvas[: scaled.shape[0]] = scaled
        return canvas

    film = make_film(
        tmp_path / "film.mkv",
        even_times(3),
        size=(width, height),
        pixels="yuv444p",
        picture=_from_clip(clip["face"], 0, 3, change),
    )
    assert _states(_looked(film, 0, 3, "face"))["face"] == {FOUND}


def test_a_turned_film_reads_as_the_upright_one(tmp_path: Path, clip: dict[str, Path]) -> None:
    """A film stored on its side gives the landmarks of its upright twin, small head and all."""
    draw = _from_clip(clip["romberg"], 0, 3, lambda picture: picture)
    films = [
        make_film(tmp_path / f"{turn}.mp4", even_times(3), size=(1280, 720), turn_deg=turn, picture=draw)
        for turn in (0, 90)
    ]
    upright, turned = (_looked(film, 0, 3, "pose", "face") for film in films)
    for name, limit_px in (("pose_xy", 4.0), ("face_xy", 2.0)):
        assert np.median(np.abs(upright[name].values - turned[name].values)) < limit_px


def _empty_room(number: int) -> Picture:
    return np.asarray(cv2.GaussianBlur(numbered(37, 640, 360), (0, 0), 9), dtype=np.uint8)


def test_an_empty_room_holds_nobody(tmp_path: Path) -> None:
    """A film without a person is looked at and nobody is found."""
    film = make_film(tmp_path / "film.mp4", even_times(5), size=(640, 360), picture=_empty_room)
    tracks = _looked(film, 0, 5, *SIGHTS)
    assert _states(tracks) == {"pose": {NOT_FOUND}, "face": {NOT_FOUND}, "hand": {NOT_FOUND}, "picture": {FOUND}}


def test_a_lone_hand_is_a_hand_and_no_person(tmp_path: Path, clip: dict[str, Path]) -> None:
    """Where only a hand is in view the pose model answers too; it is not believed."""
    wrist = _looked(clip["romberg"], 0, 1, "pose")["pose_xy"].sel(pose_point="left_wrist").values[0]
    left, top = (wrist - 60).astype(int)

    def hand_only(picture: Picture) -> Picture:
        part = picture[top : top + 120, left : left + 120]
        return np.asarray(cv2.resize(part, (480, 480), interpolation=cv2.INTER_CUBIC), dtype=np.uint8)

    draw = _from_clip(clip["romberg"], 0, 8, hand_only)
    film = make_film(tmp_path / "film.mp4", even_times(8), size=(480, 480), picture=draw)
    states = _states(_looked(film, 0, 8, "pose", "face", "hand"))
    assert (states["pose"], states["face"]) == ({NOT_FOUND}, {NOT_FOUND})
    assert FOUND in states["hand"]


@pytest.mark.parametrize("name", ["face", "romberg"])
def test_a_border_between_chunks_does_not_show(clip: dict[str, Path], name: str) -> None:
    """Frames after a border read as they do in the middle of a longer chunk, within the models' own jitter."""
    whole = _looked(clip[name], 60, 100, "pose", "face", "picture").isel(time=slice(20, None))
    second = _looked(clip[name], 80, 100, "pose", "face", "picture")
    seen = whole["pose_visibility"].values > 0.5
    apart = np.hypot(*np.moveaxis(whole["pose_xy"].values - second["pose_xy"].values, 2, 0))
    shoulders = whole["pose_xy"].sel(pose_point=["left_shoulder", "right_shoulder"], space="x").values
    assert np.median(apart[seen]) < 0.01 * np.abs(np.diff(shoulders)).mean()
    assert np.abs(whole["face_xy"].values - second["face_xy"].values).max() < 2.0
    np.testing.assert_allclose(whole["brightness"].values, second["brightness"].values)
    np.testing.assert_array_equal(whole["pose_state"].values, second["pose_state"].values)


def test_a_wanted_frame_that_cannot_be_read_counts_as_looked_at(tmp_path: Path) -> None:
    """Work on a damaged frame ends: it is looked at and not found, so nobody asks for it again and again."""
    film = make_film(tmp_path / "film.mp4", even_times(20), size=(320, 180), gop=5)
    facts, times = probe(film)
    spoil_packet(film, 10)
    wanted = (("picture", tuple(range(20))),)
    tracks = look(Look(film, 0, 20, wanted), times, facts.width_px, facts.height_px)
    states = tracks["picture_state"].values
    assert NOT_LOOKED not in states
    assert (states[[8, 10, 16]] == [FOUND, NOT_FOUND, FOUND]).all()


def test_a_still_camera_reads_zero_and_the_first_frame_cannot_tell(clip: dict[str, Path]) -> None:
    """A camera on a stand has no background shift; at the start of the film there is nothing to compare with."""
    shift = _looked(clip["romberg"], 0, 12, "pose", "picture")["background_shift"].values
    assert np.isnan(shift[0]).all()
    assert np.abs(shift[1:]).max() < 0.3


def test_progress_rises_to_the_length_of_the_chunk(tmp_path: Path) -> None:
    """The beat counts the chunk's frames, ends at all of them, and does not count the warm-up."""
    film = make_film(tmp_path / "film.mp4", even_times(30))
    facts, times = probe(film)
    done: list[int] = []
    look(Look(film, 10, 20, (("picture", (12, 14, 18)),)), times, facts.width_px, facts.height_px, done.append)
    assert done == sorted(done)
    assert done[-1] == 10
    assert done[0] == 0


def test_looking_keeps_the_terminal_quiet(clip: dict[str, Path], capfd: pytest.CaptureFixture[str]) -> None:
    """What the native libraries log while they start does not reach the terminal."""
    _looked(clip["romberg"], 0, 2, "pose", "face", "hand")
    assert capfd.readouterr().err == ""


@pytest.mark.parametrize(
    ("first", "wanted", "expected"),
    [
        pytest.param(60, (60, 61, 62), range(45, 60), id="every-frame-half-a-second"),
        pytest.param(60, (60, 66, 72), (48, 54), id="the-pace-is-kept"),
        pytest.param(60, (60, 90), (30,), id="at-least-one-within-two-seconds"),
        pytest.param(60, (60,), range(45, 60), id="one-frame"),
        pytest.param(0, (0, 1), (), id="nothing-before-the-start"),
        pytest.param(60, (), (), id="nothing-wanted"),
    ],
)
def test_the_warm_up_is_half_a_second(first: int, wanted: tuple[int, ...], expected: tuple[int, ...]) -> None:
    """Frames of the half second before the chunk are looked at first, at the pace that the chunk asks for."""
    times = np.arange(200) / 30
    plan = planned(Look(Path("film.mp4"), first, 120, (("pose", wanted),)), times)
    assert sorted(set(plan) - set(wanted)) == list(expected)


def test_an_unknown_stream_is_named() -> None:
    """A stream that does not exist is refused with the known ones."""
    with pytest.raises(ValueError, match="unknown stream 'feet', expected one of pose, face, hand, picture"):
        planned(Look(Path("film.mp4"), 0, 5, (("feet", (0,)),)), np.arange(5.0))
