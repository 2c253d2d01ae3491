"""Who is who: of everybody who was seen, which one is the examined person, and where that is not sure.

Three steps. Where several people were seen at once they are parted into as many clusters, by the colours of their
clothes and where they mostly are. One cluster is the examined person's: the one that was pointed at, else a guess. Then
a chain of states (one for each body in the picture, one for "not seen") is run through the whole film: a body fits the
better, the more its colours are those of the examined person rather than somebody else's, and follows from the state
before the better, the less it has moved. Two people dressed alike are thus told apart by their movement alone, and
where that does not suffice, as after both were out of the picture, it is said to be unsure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from review.domain.model import Pointing
from review.domain.sightings import MAYBE
from review.pipeline.lone import another
from review.pipeline.parting import parted
from review.pipeline.people import Bodies, unlike
from review.signals.chains import posterior

SURE: Final = 0.9
"""Least probability at which a body is taken for the examined person."""

_COLOUR_SD: Final = 0.15
_MOST: Final = 7.0
_MEMORY_S: Final = 0.5
_STRANGER: Final = -4.0
_TELLING: Final = 1.0
_FORBIDDEN: Final = -60.0
_UNSEEN: Final = -1.5
_HIDDEN: Final = 0.0
_HIDDEN_S: Final = 2.0
_COME_OR_GO: Final = -2.5
_HIDE: Final = -0.5
_MAYBE: Final = -0.7
_LONE: Final = 1.0
_CLOSE: Final = (1.5, 2.0)
_STRIDE: Final = (0.3, 1.5)
_POINTED_S: Final = 1.6
_BESIDE: Final = 0.7

Weights = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Examined:
    """Which body is the examined person in each of the frames that were looked at.

    Attributes
    ----------
    place
        Place in the list of people, -1 where the examined person was not seen; shape ``(time,)``.
    sure
        Whether that may be relied upon; shape ``(time,)``.
    probable
        Probability of each place, and last of not being seen; shape ``(time, person + 1)``.
    """

    place: npt.NDArray[np.int_]
    sure: npt.NDArray[np.bool_]
    probable: Weights

    def rows(self, which: npt.NDArray[np.int_]) -> Examined:
        """Return what is known of some of the frames."""
        return Examined(self.place[which], self.sure[which], self.probable[which])


def examined(bodies: Bodies, size: tuple[int, int], pointings: Sequence[Pointing] = ()) -> Examined:
    """Find the examined person among the bodies that were seen in a film.

    Parameters
    ----------
    bodies
        All that was seen, by frame.
    size
        Width and height of the picture as displayed, px.
    pointings
        Where people pointed at the examined person. Each counts from its moment until the next, the earliest also
        before; without any, the person is guessed.
    """
    cluster, colours = parted(bodies)
    if colours is None or not len(bodies.time_s):
        return _only_one(bodies, size, pointings)
    parts = [_stretch(bodies, cluster, colours, size, *each) for each in _stretches(bodies, pointings)]
    probable, doubt = (np.concatenate(part) for part in zip(*parts, strict=True))
    best = probable.argmax(axis=1)
    place = np.where(best == bodies.there.shape[1], -1, best)
    somebody = probable[:, :-1].max(axis=1)
    doubtful = doubt[np.arange(len(place)), place]
    sure = np.where(place >= 0, (somebody >= SURE) & ~doubtful, somebody < 1 - SURE)
    return Examined(place, np.asarray(sure, dtype=np.bool_), probable)


def _only_one(bodies: Bodies, size: tuple[int, int], pointings: Sequence[Pointing]) -> Examined:
    """Where never two people were seen at once, whoever is seen is the examined one, unless it may be another one."""
    first = np.where(bodies.there.any(axis=1), bodies.there.argmax(axis=1), -1)
    probable = np.zeros((len(first), bodies.there.shape[1] + 1))
    probable[np.arange(len(first)), first] = 1.0
    sure = np.ones(len(first), dtype=np.bool_)
    for stretch, pointing in _stretches(bodies, pointings):
        mine = bodies.cut(stretch)
        hit = None if pointing is None else pointed(mine, pointing, size)
        missed = pointing is not None and _missed(mine, pointing, size)
        sure[stretch] = False if missed else ~another(mine, hit)
    return Examined(first, sure, probable)


def _missed(bodies: Bodies, pointing: Pointing, size: tuple[int, int]) -> bool:
    """Tell whether somebody was seen when another was pointed at, who was not."""
    point = np.array([pointing.x * size[0], pointing.y * size[1]])
    near = (np.abs(bodies.time_s - pointing.time_s) <= _POINTED_S) & bodies.there.any(axis=1)
    away = [_nearest(bodies, row, point) for row in np.flatnonzero(near).tolist()]
    return bool(away) and min(away) > _BESIDE


def _nearest(bodies: Bodies, row: int, point: Weights) -> float:
    """Return how far a point lies from the nearest body of a frame, in shoulder widths."""
    return float(np.where(bodies.there[row], bodies.distance(row, point), np.inf).min())


def _stretches(bodies: Bodies, pointings: Sequence[Pointing]) -> list[tuple[slice, Pointing | None]]:
    """Cut the film where somebody pointed anew; the last said of one moment counts."""
    known = sorted(
        {one.time_s: one for one in sorted(pointings, key=lambda one: one.at)}.values(), key=lambda one: one.time_s
    )
    if not known:
        return [(slice(0, len(bodies.time_s)), None)]
    nearest = [int(np.searchsorted(bodies.time_s, one.time_s - _POINTED_S / 4)) for one in known]
    edges = [0, *nearest[1:], len(bodies.time_s)]
    return [(slice(low, high), one) for (low, high), one in zip(pairwise(edges), known, strict=True) if high > low]


def _stretch(
    bodies: Bodies,
    cluster: npt.NDArray[np.int_],
    colours: Weights,
    size: tuple[int, int],
    stretch: slice,
    pointing: Pointing | None,
) -> tuple[Weights, npt.NDArray[np.bool_]]:
    """Return how probable each place is in a stretch, and whether a body there might as well be another one's."""
    mine = bodies.cut(stretch)
    hit = None if pointing is None else pointed(mine, pointing, size)
    chosen = guess(bodies, cluster, size) if hit is None else _cluster_of(mine, cluster[stretch], colours, hit)
    evidence = _evidence(mine, colours, chosen)
    fit = _fit(mine, evidence)
    hit = hit or _clearest(mine, cluster[stretch], chosen)
    if hit is not None:
        row, place = hit
        fit[row] = _FORBIDDEN
        fit[row, place] = 0.0
    fewer = _fewer(mine)[:, None]
    return posterior(fit, _following(mine)), _merged(mine)[:, None] | (fewer & (np.abs(evidence) < _TELLING))


def pointed(bodies: Bodies, pointing: Pointing, size: tuple[int, int]) -> tuple[int, int] | None:
    """Return frame and place of the body that was pointed at, None if there is none near in place and time."""
    away = np.abs(bodies.time_s - pointing.time_s)
    for row in np.argsort(away, kind="stable"):
        if away[row] > _POINTED_S:
            return None
        point = np.array([pointing.x * size[0], pointing.y * size[1]])
        offsets = np.where(bodies.there[row], bodies.distance(int(row), point), np.inf)
        if offsets.min() < 1.0:
            return int(row), int(offsets.argmin())
    return None


def _cluster_of(bodies: Bodies, cluster: npt.NDArray[np.int_], colours: Weights, hit: tuple[int, int]) -> int:
    known = int(cluster[hit])
    return known if known >= 0 else int(unlike(colours, bodies.colour[hit][None])[:, 0].argmin())


def guess(bodies: Bodies, cluster: npt.NDArray[np.int_], size: tuple[int, int]) -> int:
    """Guess which cluster is the examined person: mostly in the picture, near its middle, facing the camera, still."""
    scores = []
    for number in range(int(cluster.max()) + 1):
        mine = cluster == number
        seen = mine.any(axis=1)
        aside = np.abs(bodies.centre[mine][:, 0] / size[0] - 0.5) * 2
        moved = np.linalg.norm(np.diff(bodies.centre[mine], axis=0), axis=1) / np.maximum(bodies.unit[mine][1:], 1)
        still = 1 / (1 + float(np.median(moved)) * 4) if len(moved) else 0.0
        share = seen.mean() / max(1e-9, bodies.there.any(axis=1).mean())
        scores.append(share + (1 - float(np.median(aside))) + 0.7 * float(bodies.facing[mine].mean()) + 0.5 * still)
    return int(np.argmax(scores))


def _clearest(bodies: Bodies, cluster: npt.NDArray[np.int_], chosen: int) -> tuple[int, int] | None:
    """Return frame and place of the body of a cluster that stands furthest from anybody else."""
    best, found = -1.0, None
    for row, place in np.argwhere(cluster == chosen).tolist():
        away = np.linalg.norm(bodies.centre[row] - bodies.centre[row, place], axis=1) / max(
            bodies.unit[row, place], 1.0
        )
        nearest = float(np.delete(away, place)[np.delete(bodies.there[row], place)].min(initial=np.inf))
        if best < nearest < np.inf:
            best, found = nearest, (row, place)
    return found


def _evidence(bodies: Bodies, colours: Weights, chosen: int) -> Weights:
    """Return how much a body's colours speak for the examined person rather than for anybody else; (time, person)."""
    frames, places = bodies.there.shape
    apart = unlike(colours, bodies.colour.reshape(frames * places, -1)).reshape(len(colours), frames, places)
    others = np.delete(apart, chosen, axis=0).min(axis=0)
    evidence = np.clip((others**2 - apart[chosen] ** 2) / (2 * _COLOUR_SD**2), -_MOST, _MOST)
    return np.where(np.isnan(evidence), 0.0, evidence)


def _fit(bodies: Bodies, evidence: Weights) -> Weights:
    """Return the emissions: how well each body fits the examined person, and last that nobody does."""
    frames, places = bodies.there.shape
    fit = np.full((frames, places + 1), -np.inf)
    weight = _weight(bodies.time_s)[:, None]
    scaled = evidence * weight + np.where(evidence < _STRANGER, _FORBIDDEN / 3, 0.0)
    scaled = scaled + np.where(bodies.state == MAYBE, _MAYBE, 0.0) * weight
    fewer = _fewer(bodies)
    lone = (bodies.there.sum(axis=1) == 1) & ~fewer
    scaled = scaled + np.where(lone, _LONE, 0.0)[:, None] * weight
    fit[:, :-1] = np.where(bodies.there, scaled, -np.inf)
    fit[:, -1] = np.where(fewer, _HIDDEN, _UNSEEN) * weight[:, 0]
    return fit


def _fewer(bodies: Bodies) -> npt.NDArray[np.bool_]:
    """Tell where fewer people are seen than shortly before or after: one may be hidden behind another."""
    counts, times = bodies.there.sum(axis=1), bodies.time_s
    low, high = np.searchsorted(times, times - _HIDDEN_S), np.searchsorted(times, times + _HIDDEN_S, side="right")
    most = [counts[first:stop].max() for first, stop in zip(low, high, strict=True)]
    return np.asarray(counts < np.array(most, dtype=int))


def _merged(bodies: Bodies) -> npt.NDArray[np.bool_]:
    """Tell where one body is seen shortly after, or before, two that were close: it may be made up of both.

    A pose model that sees one person before another can take the head of one and the trunk of the other.
    """
    pairs = bodies.there.sum(axis=1) >= 2
    merged = np.zeros(len(pairs), dtype=np.bool_)
    known, apart = np.flatnonzero(pairs), _apart(bodies, pairs)
    if not len(known):
        return merged
    after = np.searchsorted(known, np.arange(len(pairs)))
    for neighbour in (after - 1, after):
        inside = (neighbour >= 0) & (neighbour < len(known))
        place = neighbour.clip(0, len(known) - 1)
        gap = np.abs(bodies.time_s - bodies.time_s[known[place]])
        merged |= inside & (gap <= _HIDDEN_S) & (apart[place] < _CLOSE[0] + _CLOSE[1] * gap)
    return np.asarray(merged & ~pairs)


def _apart(bodies: Bodies, pairs: npt.NDArray[np.bool_]) -> Weights:
    """Return how far the two nearest bodies of each of the frames lie apart, in shoulder widths."""
    there = bodies.there[pairs]
    centre = np.where(there[..., None], bodies.centre[pairs], np.inf)
    with np.errstate(invalid="ignore"):
        away = np.linalg.norm(centre[:, :, None] - centre[:, None], axis=3)
    away = np.where(np.isfinite(away) & ~np.eye(there.shape[1], dtype=bool), away, np.inf)
    unit = np.nanmean(np.where(there, bodies.unit[pairs], np.nan), axis=1)
    return np.asarray(away.min(axis=(1, 2)) / np.maximum(unit, 1.0))


def _weight(time_s: npt.NDArray[np.float64]) -> Weights:
    """Weigh frames by the time they stand for: those close together say nearly the same."""
    if len(time_s) < 2:
        return np.ones(len(time_s))
    gap = np.gradient(time_s)
    return np.minimum(1.0, gap / _MEMORY_S)


def _following(bodies: Bodies) -> Weights:
    """Return the transitions: a body follows another the better, the less far it is for the time between."""
    frames, places = bodies.there.shape
    steps = np.full((max(0, frames - 1), places + 1, places + 1), _COME_OR_GO)
    if frames < 2:
        return steps
    fewer = _fewer(bodies)
    steps[fewer[:-1] | fewer[1:]] = _HIDE
    steps += np.log(np.minimum(1.0, np.diff(bodies.time_s)))[:, None, None]
    gap = np.diff(bodies.time_s)[:, None, None]
    unit = np.maximum(bodies.unit[:-1, :, None], 1.0)
    away = np.linalg.norm(bodies.centre[1:, None, :] - bodies.centre[:-1, :, None], axis=3) / unit
    larger = np.abs(np.log(np.maximum(bodies.unit[1:, None, :], 1.0) / unit))
    reach = _STRIDE[0] + _STRIDE[1] * np.minimum(gap, 2.0)
    steps[:, :-1, :-1] = np.maximum(np.nan_to_num(-0.5 * ((away / reach) ** 2 + (larger / 0.4) ** 2), nan=0.0), -30.0)
    steps[:, -1, -1] = 0.0
    return steps
