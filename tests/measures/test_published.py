"""Constants of the measures against the published values they are taken from, and values that follow from those."""

import numpy as np
import pytest

from review.measures.face_frame import IRIS_MM, IRIS_SD
from review.measures.gaze_steadiness import MM_PER_DEG
from review.measures.gaze_sweep import MAX_YAW_DEG
from review.measures.stance_width import EYE_TO_ANKLE
from tests.synthetic import HEIGHTS

DEMPSTER = {
    "hand": (0.006, 2),
    "forearm": (0.016, 2),
    "upper arm": (0.028, 2),
    "foot": (0.0145, 2),
    "leg": (0.0465, 2),
    "thigh": (0.100, 2),
    "trunk": (0.497, 1),
    "head and neck": (0.081, 1),
}
"""Share of the body's mass, and how many there are: Dempster by way of Winter 2009 (read in a teaching notebook)."""

JOINTS = {"ankle": 0.039, "knee": 0.285, "hip": 0.530, "shoulder": 0.818, "ear": 0.925, "elbow": 0.630, "wrist": 0.485}
"""Heights of joints in standing heights (Drillis and Contini 1966, from memory; the ear: about as high as the eye)."""

CENTRES = {
    "foot": ("ankle", "ankle", 0.5),
    "leg": ("knee", "ankle", 0.433),
    "thigh": ("hip", "knee", 0.433),
    "trunk": ("shoulder", "hip", 0.500),
    "head and neck": ("shoulder", "ear", 1.000),
    "upper arm": ("shoulder", "elbow", 0.436),
    "forearm": ("elbow", "wrist", 0.430),
    "hand": ("wrist", "wrist", 0.506),
}
"""Near and far end of each segment of somebody who stands, and where from the near one its centre of mass lies."""


def test_eye_to_ankle_is_the_difference_of_two_published_heights() -> None:
    """Eye height 0.936 less ankle height 0.039 of the standing height (Drillis and Contini 1966, from memory)."""
    assert pytest.approx(0.936 - 0.039) == EYE_TO_ANKLE
    assert HEIGHTS["eye"] - HEIGHTS["ankle"] == pytest.approx(EYE_TO_ANKLE)


def test_trunk_is_the_published_share_of_height() -> None:
    """Shoulder 0.818 less hip 0.530: 0.288 of the height, as the drawn people of the tests have it."""
    assert HEIGHTS["shoulder"] - HEIGHTS["hip"] == pytest.approx(0.288)


def test_masses_of_the_segments_make_one_body() -> None:
    """The shares of the whole body's mass sum to exactly 1, so that no weighting of segments loses any."""
    assert sum(share * count for share, count in DEMPSTER.values()) == pytest.approx(1.0, abs=1e-12)


def test_shoulders_sway_more_than_the_centre_of_mass() -> None:
    """On a stiff body that turns about the ankles sway grows with height, and the shoulders lie above the centre.

    The sway of the shoulders, which is measured, is 1.4 to 1.5 times that of the centre of mass: see docs/measures.md.
    """
    heights = {
        name: JOINTS[near] + share * (JOINTS[far] - JOINTS[near]) for name, (near, far, share) in CENTRES.items()
    }
    centre = sum(share * count * heights[name] for name, (share, count) in DEMPSTER.items())
    assert 0.55 < centre < 0.59
    ankle = HEIGHTS["ankle"]
    assert 1.4 < (HEIGHTS["shoulder"] - ankle) / (centre - ankle) < 1.5


@pytest.mark.parametrize("deg_per_mm", [4.6, 4.8])
def test_way_of_the_limbus_is_that_of_the_millimetric_cover_test(deg_per_mm: float) -> None:
    """1 mm of the limbus is 4.6 deg inwards and 4.8 outwards (Paliaga and Ghisolfi): 0.213 mm a deg, radius 12.2 mm."""
    assert pytest.approx(1 / deg_per_mm, rel=0.03) == MM_PER_DEG
    assert np.degrees(1) * MM_PER_DEG == pytest.approx(12.2, abs=0.05)


def test_irises_differ_by_a_twentieth_at_most() -> None:
    """11.7 +- 0.5 mm (Vakunov and Lagun 2020): 4.3 % of the width, which is in every length told by the irises."""
    assert IRIS_MM == 11.7
    assert pytest.approx(0.043, abs=0.0005) == IRIS_SD


def test_what_is_asked_of_the_head_is_within_what_eyes_do_alone() -> None:
    """Eyes reach 44 deg to either side (Kim and Lim 2017): a head turned by 15 deg leaves room for 20 to 30 deg."""
    assert 44.4 - MAX_YAW_DEG > 20
