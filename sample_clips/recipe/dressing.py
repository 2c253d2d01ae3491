"""Shirt and shorts cut from the tights of the base mesh, and the skin tucked in under them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .body import Body
from .look import Look
from .rotations import Array
from .surface import Faces

SHIRT_GAP_M = 0.011
SHORTS_GAP_M = 0.007
TUCK_M = 0.008
_SHORT_SLEEVE, _LONG_SLEEVE = 0.52, 1.86
_SHORT_LEG_M, _LONG_LEG_M = 0.105, 0.035
"""Height of the hem above the knee joint, or above the ankle joint."""

_CHEST_Y = 1.0
_COLLAR_Y = 1.30


class Tailor:
    """Knows where on the rest pose each piece of cloth begins and ends.

    Parameters
    ----------
    body
        The pattern: everything is told in places of its rest pose.
    look
        Whose clothes they are.
    """

    def __init__(self, body: Body, look: Look) -> None:
        self._body = body
        self._look = look
        head = body.rig.head
        self._shoulder, self._elbow, self._wrist = (head[bone] for bone in ("upperarm01.L", "lowerarm01.L", "wrist.L"))
        self.hip_y = float(head["upperleg01.L"][1])
        self.knee_y = float(head["lowerleg01.L"][1])
        self._ankle_y = float(head["foot.L"][1])
        self.tights = body.faces_of("helper-tights")
        self._centres = body.vertices[self.tights].mean(axis=1)

    @property
    def shirt_hem_y(self) -> float:
        """Height below which the shirt is cut off."""
        return self.hip_y - 0.035

    @property
    def shorts_hem_y(self) -> float:
        """Height below which the shorts are cut off."""
        return self._ankle_y + _LONG_LEG_M if self._look.long_legs else self.knee_y + _SHORT_LEG_M

    @property
    def sleeve_end(self) -> float:
        """Where the sleeves end: 0 at the shoulder joint, 1 at the elbow, 2 at the wrist."""
        return _LONG_SLEEVE if self._look.long_sleeves else _SHORT_SLEEVE

    def shirt(self) -> Faces:
        """Return the faces of the shirt, a little beyond its hems."""
        centres = self._centres
        on_arm = (abs(centres[:, 0]) > self._shoulder[0] * 1.02) & (centres[:, 1] > _CHEST_Y)
        return self.tights[
            (centres[:, 1] > self.hip_y - 0.07) & (~on_arm | (self._along_arm(centres) < self.sleeve_end + 0.10))
        ]

    def shorts(self) -> Faces:
        """Return the faces of the shorts, a little beyond their hems."""
        x, y = abs(self._centres[:, 0]), self._centres[:, 1]
        return self.tights[(y < self.hip_y + 0.10) & (y > self.shorts_hem_y - 0.015) & (x < 0.35)]

    def tucked(self) -> NDArray[np.bool_]:
        """Tell for every mesh vertex whether it is skin under cloth; shape ``(vertices,)``."""
        skin = self._body.skin_ids
        points = self._body.vertices[skin]
        x, y = abs(points[:, 0]), points[:, 1]
        on_arm = (x > self._shoulder[0] * 1.02) & (y > _CHEST_Y)
        under_shirt = (
            (y > self.hip_y - 0.05)
            & (~on_arm | (self._along_arm(points) < self.sleeve_end - 0.02))
            & ((y < 1.44) | on_arm)
        )
        near_collar = (neck_distance(points) < 1.3) & (y > 1.28)
        under_shorts = (y < self.hip_y + 0.08) & (y > self.shorts_hem_y + 0.025) & (x < 0.30)
        result = np.zeros(self._body.size, bool)
        result[skin] = (under_shirt & ~near_collar) | under_shorts
        return result

    def sleeve(self, points: Array) -> Array:
        """Return how far down the arm points of the shirt lie (elbow 1, wrist 2); 0 on the trunk."""
        mirrored = _mirrored(points)
        share = self._along_arm(points)
        on_arm = (mirrored[:, 0] > self._shoulder[0] * 0.95) & (mirrored[:, 1] > _CHEST_Y)
        return np.where(on_arm, share, 0.0)

    def _along_arm(self, points: Array) -> Array:
        """0 at the shoulder, 1 at the elbow, 2 at the wrist."""
        mirrored = _mirrored(points)
        upper = _share_along(mirrored, self._shoulder, self._elbow)
        return np.where(upper < 1, upper, 1 + _share_along(mirrored, self._elbow, self._wrist))


def neck_distance(points: Array) -> Array:
    """Return the distance from the axis of the neck, 1 at the collar's edge."""
    return np.hypot(points[:, 0] / 0.080, (points[:, 2] - 0.010) / 0.078)


def outside_neckline(centres: Array) -> NDArray[np.bool_]:
    """Tell which faces of the shirt lie outside of the neckline and so cast a shadow."""
    collar = (neck_distance(centres) < 1.05) & (centres[:, 1] > _COLLAR_Y)
    x = centres[:, 0]
    yoke = (abs(x) < 0.11) & (centres[:, 1] > 1.425 + 4.5 * x**2)
    return ~(collar | yoke)


def _mirrored(points: Array) -> Array:
    result = points.copy()
    result[:, 0] = abs(result[:, 0])
    return result


def _share_along(points: Array, start: Array, end: Array) -> Array:
    line = end - start
    return (points - start) @ line / (line @ line)
