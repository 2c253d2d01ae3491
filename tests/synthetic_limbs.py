"""A seated person seen from the side as tracks: arms and legs drawn from the angles of their joints.

The left limbs are drawn at the left of the picture and the right ones beside them, so that neither hides the other.
"""

from collections.abc import Mapping

import numpy as np
import xarray as xr

from review.domain.tracks import FOUND, POSE_POINTS, empty_tracks

SIZE = (1280, 720)
UPPER_PX, LOWER_PX, HAND_PX, FOOT_PX = 150.0, 140.0, 52.0, 64.0
METRES = 0.0025

Angles = Mapping[str, float | np.ndarray]


def pulse(times: np.ndarray, at_s: float, size_deg: float, rise_s: float = 0.14, swing: bool = True) -> np.ndarray:
    """Return a kick: up along half a cosine, down along another, then a small swing beyond rest."""
    since = times - at_s
    up = np.where((since >= 0) & (since < rise_s), (1 - np.cos(np.pi * since / rise_s)) / 2, 0.0)
    down = (since >= rise_s) & (since < 4 * rise_s)
    fall = np.where(down, (1 + np.cos(np.pi * (since - rise_s) / (3 * rise_s))) / 2, 0.0)
    after = since - 4 * rise_s
    back = np.where((after >= 0) & (after < 0.6), -0.2 * np.sin(np.pi * after / 0.6) ** 2, 0.0) if swing else 0.0
    return size_deg * (up + fall + back)


def seated(
    times: np.ndarray,
    left: Angles | None = None,
    right: Angles | None = None,
    *,
    view_deg: float = 0.0,
    noise_px: float = 0.0,
    size: float = 1.0,
    at: tuple[float, float] = (250.0, 180.0),
    mirrored: bool = False,
    seed: int = 0,
) -> xr.Dataset:
    """Draw the limbs in their own plane.

    Parameters
    ----------
    left, right
        Inner angles in deg of ``elbow``, ``wrist``, ``knee`` and ``ankle``; 90 where not named.
    view_deg
        Turn of the limbs out of the picture plane about the vertical.
    size, at
        Size of the person and place of the left shoulder in the picture, px.
    mirrored
        Draw the person looking the other way with left and right changed over.
    """
    tracks = empty_tracks(times, *SIZE)
    tracks["pose_xy"].values[:] = 30.0
    tracks["pose_world"].values[:] = 0.0
    sides = {"left": right, "right": left} if mirrored else {"left": left, "right": right}
    for side, angles in sides.items():
        shift = 0.0 if (side == "left") != mirrored else 480.0
        for name, (along, down) in _limbs(len(times), dict(angles or {})).items():
            x = along * size * np.cos(np.radians(view_deg))
            place = tracks["pose_xy"].sel(pose_point=f"{side}_{name}").values
            place[:, 0] = at[0] + shift + x
            place[:, 1] = at[1] + down * size
            if mirrored:
                place[:, 0] = SIZE[0] - place[:, 0]
            tracks["pose_xy"].loc[{"pose_point": f"{side}_{name}"}] = place
            world = np.stack([METRES * x, METRES * down, METRES * along * np.sin(np.radians(view_deg))], axis=1)
            tracks["pose_world"].loc[{"pose_point": f"{side}_{name}"}] = world
    tracks["pose_xy"].values[:] += np.random.default_rng(seed).normal(0, noise_px, tracks["pose_xy"].shape)
    _put_hands(tracks)
    tracks["pose_visibility"].values[:] = 0.95
    tracks["pose_state"].values[:] = FOUND
    return tracks


def _put_hands(tracks: xr.Dataset) -> None:
    """Put a hand at either wrist, all of whose points but the first lie at the knuckles."""
    for number, side in enumerate(("left", "right")):
        wrist, knuckles = (tracks["pose_xy"].sel(pose_point=f"{side}_{part}").values for part in ("wrist", "index"))
        tracks["hand_xy"].values[:, number] = knuckles[:, None]
        tracks["hand_xy"].values[:, number, 0] = wrist
    tracks["hand_state"].values[:] = FOUND


def _limbs(count: int, angles: dict[str, float | np.ndarray]) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Place of each point of one side from its shoulder, in px along the body's facing and down."""
    bend = {name: np.broadcast_to(angles.get(name, 90.0), count) for name in ("elbow", "wrist", "knee", "ankle")}
    zero = np.zeros(count)
    arm = _chain((zero, zero), np.full(count, 90.0), UPPER_PX, [(180 - bend["elbow"], LOWER_PX)])
    hand = _chain(arm[-1], 90.0 - (180 - bend["elbow"]), 0.0, [(-(180 - bend["wrist"]), HAND_PX)])
    leg = _chain((zero, zero + 270), np.zeros(count), 180.0, [(-(180 - bend["knee"]), 180.0)])
    foot = _chain(leg[-1], 180 - bend["knee"], 0.0, [(180 - bend["ankle"], 1.2 * FOOT_PX)])
    places = {
        "shoulder": (zero, zero),
        "elbow": arm[1],
        "wrist": arm[2],
        "hip": leg[0],
        "knee": leg[1],
        "ankle": leg[2],
    }
    places |= {"index": hand[-1], "pinky": hand[-1], "foot_index": foot[-1]}
    assert {f"left_{name}" for name in places} <= set(POSE_POINTS)
    return places


def _chain(
    start: tuple[np.ndarray, np.ndarray], heading: np.ndarray, length: float, then: list[tuple[np.ndarray, float]]
) -> list[tuple[np.ndarray, np.ndarray]]:
    """Follow straight parts: headings in deg from facing, + downwards; each turn is taken off the heading."""
    points = [start]
    for turn, part in [(0.0, length), *then]:
        heading = heading - turn
        x, y = points[-1]
        points.append((x + part * np.cos(np.radians(heading)), y + part * np.sin(np.radians(heading))))
    return points
