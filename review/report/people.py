"""Who was seen in a film, and which one is taken for the examined person."""

from __future__ import annotations

from typing import Any

import numpy as np

from review.access import Deed, allowed
from review.domain.model import Person, Recording
from review.domain.tracks import found
from review.pipeline.people import Bodies, bodies_of
from review.pipeline.who import examined
from review.store.home import Home
from review.store.repository import reading
from review.store.sightings import SightingStore
from review.store.trackstore import TrackStore


def most_people(home: Home, recording_id: str) -> int:
    """Return how many people were seen together in a film, at least twice; 0 while it was not looked at."""
    store = TrackStore(home, recording_id)
    if not store.exists() or store.outdated():
        return 0
    tracks = store.open()
    counts = np.sort(tracks["people_count"].values[found(tracks, "people")])[::-1]
    return int(counts[min(1, len(counts) - 1)]) if len(counts) else 0


def people_seen(home: Home, person: Person, recording: Recording) -> dict[str, Any]:
    """Return everybody whom the first look saw, about once a second.

    Returns
    -------
    dict
        ``pointings``: how many hold. ``looks``: list of ``{"time_s", "people"}``, each of the people as ``{"x", "y",
        "width", "height", "examined", "sure"}``: a box in shares of the upright, unmirrored picture, and whether it is
        taken for the examined person.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording.id)
        pointings = repo.pointings(recording.id)
    store = SightingStore(home, recording.id)
    parts = [bodies_of(store.get(unit)) for unit in sorted(store.units()) if unit.startswith("glance")]
    if not parts:
        return {"pointings": len(pointings), "looks": []}
    size = (recording.width_px, recording.height_px)
    bodies = Bodies.joined(parts)
    who = examined(bodies, size, pointings)
    return {
        "pointings": len(pointings),
        "looks": [
            {
                "time_s": float(time_s),
                "people": [
                    {
                        **_box(bodies, row, place, size),
                        "examined": bool(place == who.place[row]),
                        "sure": bool(who.sure[row]),
                    }
                    for place in np.flatnonzero(bodies.there[row]).tolist()
                ],
            }
            for row, time_s in enumerate(bodies.time_s.tolist())
        ],
    }


def _box(bodies: Bodies, row: int, place: int, size: tuple[int, int]) -> dict[str, float]:
    """Return a box from above the head to below the hips, in shares of the picture, cut at its edges."""
    head, centre, unit = bodies.head[row, place], bodies.centre[row, place], float(bodies.unit[row, place])
    low = np.minimum(head, centre) - np.array([0.7, 0.6]) * unit
    high = np.maximum(head, centre) + np.array([0.7, 1.2]) * unit
    (left, top), (right, bottom) = np.clip(low / size, 0, 1).tolist(), np.clip(high / size, 0, 1).tolist()
    return {"x": left, "y": top, "width": right - left, "height": bottom - top}
