"""Parting the bodies of a film into as many clusters as there are people."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import scipy

from review.pipeline.people import Bodies, Weights, unlike

_OFTEN: Final = 0.1
_LEAST_FRAMES: Final = 2
_ROUNDS: Final = 12
_COLOUR: Final = 0.15
_PLACE: Final = 3.0


def parted(bodies: Bodies) -> tuple[npt.NDArray[np.int_], Weights | None]:
    """Part the bodies by colours of clothes and by place, no two of one frame together.

    As many clusters are made as people are seen together in at least a tenth of the frames with several.

    Returns
    -------
    cluster
        Cluster of each body, -1 where there is none; shape ``(time, person)``. Frames with one body are left at -1.
    colours
        Mean colours of each cluster, shape ``(cluster, bin)``; None where never two people are seen together.
    """
    cluster = np.full(bodies.there.shape, -1)
    together = bodies.there & ~np.isnan(bodies.colour[..., 0])
    counts = together.sum(axis=1)
    several = np.flatnonzero(counts >= 2)
    if len(several) < _LEAST_FRAMES:
        return cluster, None
    least = max(_LEAST_FRAMES, _OFTEN * len(several))
    number = max(count for count in range(2, together.shape[1] + 1) if (counts >= count).sum() >= least)
    full = np.flatnonzero(counts >= number)
    row = full[np.argmax([_spread(bodies, together, each, number) for each in full])]
    seeds = np.flatnonzero(together[row])[:number]
    colours, places = bodies.colour[row, seeds], bodies.centre[row, seeds]
    unit = float(np.median(bodies.unit[bodies.there]))
    for _ in range(_ROUNDS):
        before = cluster.copy()
        cluster[:] = -1
        for each in several:
            here = np.flatnonzero(together[each])
            cost = (unlike(colours, bodies.colour[each, here]) / _COLOUR) ** 2
            away = np.linalg.norm(places[:, None] - bodies.centre[each, here][None], axis=2)
            cost += np.minimum(away / (_PLACE * unit), 1.0) ** 2
            chosen, which = scipy.optimize.linear_sum_assignment(cost)
            cluster[each, here[which]] = chosen
        colours = np.array([bodies.colour[cluster == one].mean(axis=0) for one in range(number)])
        places = np.array([np.median(bodies.centre[cluster == one], axis=0) for one in range(number)])
        if np.array_equal(before, cluster):
            break
    return cluster, colours


def _spread(bodies: Bodies, together: npt.NDArray[np.bool_], row: np.intp, number: int) -> float:
    """Tell how far apart the bodies of a frame are in colours and place: the two that are nearest count."""
    here = np.flatnonzero(together[row])[:number]
    colours, centres = bodies.colour[row, here], bodies.centre[row, here]
    away = np.linalg.norm(centres[:, None] - centres[None], axis=2) / max(float(bodies.unit[row, here].mean()), 1.0)
    apart = unlike(colours, colours) / _COLOUR + np.minimum(away / _PLACE, 1.0)
    return float(apart[~np.eye(len(here), dtype=bool)].min())
