"""How a clip of the studio is filmed: light, side from which it is seen, phone in a hand, noise."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from .camera import Camera
from .lights import LIGHTS, Lights
from .motion import Sines, sines
from .rotations import Array, Y, move, placed, rotation

VIEWS: Final = {"front": (0.0, 15.0), "oblique": (15.0, 65.0), "side": (65.0, 115.0), "back": (115.0, 180.1)}
"""Word for a view, and from which to below which angle off the front it is used."""

_SHAKE_ACROSS: Final[Sines] = ((0.55, 3.2, 0.3), (1.3, 1.4, 2.0), (3.1, 0.55, 4.1), (7.2, 0.28, 1.1))
_SHAKE_UPWARD: Final[Sines] = ((0.65, 2.6, 1.7), (1.7, 1.1, 0.4), (3.7, 0.50, 5.2), (7.9, 0.26, 2.9))
"""Hertz, pixels of a picture whose longer side has 960, radians: how a hand holds a phone (sizes made up)."""

_PLACE_ACROSS_M: Final[Sines] = ((0.31, 0.004, 0.9), (0.8, 0.0015, 2.2))
_PLACE_UPWARD_M: Final[Sines] = ((0.37, 0.003, 2.4), (0.9, 0.0012, 0.7))

_DRIFT: Final[Sines] = ((0.11, 0.020, 0.8), (0.27, 0.012, 2.7))
"""How the phone's automatic exposure wanders, as shares."""


@dataclass(frozen=True)
class Shoot:
    """How an act is filmed.

    Parameters
    ----------
    light
        ``even``, ``window``, ``dim`` or ``warm``.
    azimuth_deg
        By how much the camera stands round the person from where the act puts it: 0 as the act says (its front),
        positive towards the person's own left, 90 the left side, 180 the back. Room and lights go with the camera.
    phone
        ``tripod`` stands still; ``hand`` shakes: the camera itself moves, so all pixels of the truth stay exact.
    noise
        ``none`` or ``phone``: noise that grows with darkness, a wandering exposure, coarse compression. The lens is
        slightly soft in both.
    size_px
        Width and height, the act's picture scaled to fill the height; by default the act's own.
    crf
        How coarsely the film is compressed; by default what goes with `noise`.
    blur_frames
        From how many moments, an odd number, of the exposure (half the time of a frame) a picture is averaged; 1 draws
        no motion blur, each further one costs as much time as a frame.
    seed
        Of the noise and of where the shake begins.
    """

    light: str = "even"
    azimuth_deg: float = 0.0
    phone: str = "tripod"
    noise: str = "none"
    size_px: tuple[int, int] | None = None
    crf: int | None = None
    blur_frames: int = 1
    seed: int = 0

    def __post_init__(self) -> None:
        allowed = {"light": tuple(LIGHTS), "phone": ("tripod", "hand"), "noise": ("none", "phone")}
        wrong = [
            f"{name} is {getattr(self, name)!r}, expected one of {', '.join(words)}"
            for name, words in allowed.items()
            if getattr(self, name) not in words
        ]
        if self.blur_frames < 1 or self.blur_frames % 2 == 0:
            wrong.append(f"blur_frames is {self.blur_frames}, expected an odd number from 1")
        if wrong:
            raise ValueError("; ".join(wrong))

    @property
    def view(self) -> str:
        """Word for the side from which the person is seen."""
        off = abs((self.azimuth_deg + 180) % 360 - 180)
        return next(word for word, (low, high) in VIEWS.items() if low <= off < high)

    @property
    def coarseness(self) -> int:
        """How coarsely the film is compressed (x264's crf)."""
        return self.crf if self.crf is not None else {"none": 23, "phone": 28}[self.noise]

    @property
    def gain(self) -> float:
        """How much stronger the sensor's noise is than in good light; 0 without any."""
        return {"dim": 2.0, "warm": 1.3}.get(self.light, 1.0) if self.noise == "phone" else 0.0

    def blur_shifts_s(self, frames_per_second: int) -> list[float]:
        """Return the further moments that go into a picture, in seconds from the frame's own and even around it."""
        step_s = 0.5 / frames_per_second / self.blur_frames
        half = self.blur_frames // 2
        return [i * step_s for i in range(-half, half + 1) if i]

    def about(self) -> dict[str, Any]:
        """Return what a clip's truth says of the filming: light, view, phone, noise."""
        return {"light": self.light, "view": self.view, "phone": self.phone, "noise": self.noise}

    def camera(self, base: Camera) -> Camera:
        """Return the act's camera moved round the vertical through its target, for pictures of this size."""
        size = self.size_px or base.size_px
        scale = size[1] / base.size_px[1]
        return replace(
            base, place=_point(move(self.turn(base), base.place)), focal_px=base.focal_px * scale, size_px=size
        )

    def turn(self, base: Camera) -> Array:
        """Return the 4 x 4 rotation that takes the act's camera, its room and its lights round the person."""
        turn = rotation(Y, self.azimuth_deg)
        centre = np.array([base.target[0], 0.0, base.target[2]])
        return placed(turn, centre - turn @ centre)

    def held(self, camera: Camera, time_s: float) -> Camera:
        """Return `camera` as it is held at a moment: itself on a tripod, shaken in a hand."""
        if self.phone == "tripod":
            return camera
        time_s += 17.3 * self.seed
        right, up, _ = camera.axes
        pixel = camera.metres_per_px * max(camera.size_px) / 960
        moved = right * sines(time_s, _PLACE_ACROSS_M) + up * sines(time_s, _PLACE_UPWARD_M)
        looked = right * sines(time_s, _SHAKE_ACROSS) + up * sines(time_s, _SHAKE_UPWARD)
        return replace(
            camera, place=_point(camera.place + moved), target=_point(camera.target + moved + pixel * looked)
        )

    def lights(self, time_s: float) -> Lights:
        """Return the lights at a moment, turned with the camera; a phone's exposure wanders a little."""
        lights = LIGHTS[self.light]
        turn = rotation(Y, self.azimuth_deg)
        drift = sines(time_s + 7.9 * self.seed, _DRIFT) if self.noise == "phone" else 0.0
        return replace(
            lights,
            key_direction=_point(turn @ lights.key_direction),
            fill_direction=_point(turn @ lights.fill_direction),
            exposure=lights.exposure * (1 + drift),
        )


AS_IT_IS: Final = Shoot()
"""Even light, from where the act says, from a tripod, without noise."""


def _point(array: Array) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in array)
    return x, y, z
