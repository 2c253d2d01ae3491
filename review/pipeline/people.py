"""The bodies that were seen, as arrays: where each is, how large, facing where, in what colours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.capture.head import VISIBLE, body_unit

Weights = npt.NDArray[np.float64]

_SHOULDERS, _HIPS, _NOSE = [11, 12], [23, 24], 0


@dataclass(frozen=True, slots=True)
class Bodies:
    """Bodies over frames and places in the list of people.

    Attributes
    ----------
    time_s
        Shape ``(time,)``, seconds.
    there
        Whether a body is in this place; shape ``(time, person)``.
    state
        1 for a body, 2 for what may be one, else 0; shape ``(time, person)``.
    centre
        Middle of shoulders and hips, of the shoulders alone where the hips are not seen; ``(time, person, 2)``, px.
    unit
        Shoulder width, or the same share of the trunk if that is more; ``(time, person)``, px.
    facing
        Whether the shoulders lie as on a person who faces the camera; ``(time, person)``.
    colour
        Shares of the clothes' colours; ``(time, person, bin)``.
    head
        Middle of the head, ``(time, person, 2)``, px.
    """

    time_s: npt.NDArray[np.float64]
    there: npt.NDArray[np.bool_]
    state: npt.NDArray[np.int_]
    centre: Weights
    unit: Weights
    facing: npt.NDArray[np.bool_]
    colour: Weights
    head: Weights

    def cut(self, rows: slice | npt.NDArray[np.int_]) -> Bodies:
        """Return the bodies of some of the frames."""
        return Bodies(*(getattr(self, name)[rows] for name in self.__slots__))

    @classmethod
    def joined(cls, parts: Sequence[Bodies]) -> Bodies:
        """Put stretches together in the order of their times; of a time met twice the part given last counts."""
        whole = cls(*(np.concatenate([getattr(part, name) for part in parts[::-1]]) for name in cls.__slots__))
        return whole.cut(np.unique(whole.time_s, return_index=True)[1])

    def distance(self, row: int, point: Weights) -> Weights:
        """Return how far a point lies from each body of a frame, in shoulder widths; shape ``(person,)``.

        That is its distance from the line that goes from the head down the trunk and as far again below it.
        """
        head, centre = self.head[row], self.centre[row]
        along = 2.5 * (centre - head)
        length = np.maximum(np.einsum("ij,ij->i", along, along), 1e-9)
        share = np.clip(np.einsum("ij,ij->i", point - head, along) / length, 0, 1)
        off = np.linalg.norm(point - head - share[:, None] * along, axis=1)
        return np.asarray(off / np.maximum(self.unit[row], 1.0))


def bodies_of(sightings: xr.Dataset) -> Bodies:
    """Read the bodies from sightings."""
    state = sightings["body"].values.astype(int)
    xy = sightings["pose_xy"].values.astype(np.float64)
    visibility = sightings["pose_visibility"].values
    seen = visibility[..., _HIPS].min(axis=-1) > VISIBLE
    shoulders, hips = xy[..., _SHOULDERS, :].mean(axis=-2), xy[..., _HIPS, :].mean(axis=-2)
    return Bodies(
        time_s=sightings["time"].values,
        there=state > 0,
        state=state,
        centre=np.where(seen[..., None], (shoulders + hips) / 2, shoulders),
        unit=body_unit(xy, visibility),
        facing=xy[..., 11, 0] > xy[..., 12, 0],
        colour=sightings["colour"].values.astype(np.float64),
        head=xy[..., _NOSE, :],
    )


def unlike(colours: Weights, others: Weights) -> Weights:
    """Return the Hellinger distance (0 alike, 1 nothing in common) of each of `colours` from each of `others`.

    Shapes ``(n, bin)`` and ``(m, bin)`` give ``(n, m)``; NaN where the colours are not known.

    Examples
    --------
    >>> unlike(np.array([[1.0, 0.0]]), np.array([[1.0, 0.0], [0.0, 1.0]])).tolist()
    [[0.0, 1.0]]
    """
    overlap = np.sqrt(colours) @ np.sqrt(others).T
    return np.asarray(np.sqrt(np.maximum(0.0, 1.0 - overlap)))
