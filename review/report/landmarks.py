"""Landmarks, and what measures rest on, packed for drawing over the film."""

from __future__ import annotations

import json
import struct
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any, Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.access import Deed, allowed
from review.domain.checklist import Step
from review.domain.construction import Part
from review.domain.errors import EntryRefused, NotAllowed, NotFound
from review.domain.measure import Measure
from review.domain.model import Interval, Person, Recording, Side
from review.domain.tracks import FACE_POINTS, POSE_POINTS, cut, found, looked
from review.measures.drawn import IRISES, LIDS, body
from review.measures.hand_over_face import LIPS, OUTLINE
from review.pipeline.values import paced, step_measures
from review.report.cover import Cover
from review.report.tracks import to_cut, version
from review.store.home import Home
from review.store.repository import reading

LONGEST_S: Final = 180.0
"""No longer stretch is packed at once."""

HOLD_S: Final = 0.25
"""A frame that was not looked at shows the last one that was, if that is no longer ago."""

_LIMBS: Final = (
    *(("shoulder", "elbow"), ("elbow", "wrist"), ("wrist", "index"), ("wrist", "pinky"), ("shoulder", "hip")),
    *(("hip", "knee"), ("knee", "ankle"), ("ankle", "heel"), ("heel", "foot_index"), ("ankle", "foot_index")),
)
_FINGERS: Final = (
    (0, 1, 2, 3, 4),
    (0, 5, 6, 7, 8),
    (5, 9, 10, 11, 12),
    (9, 13, 14, 15, 16),
    (13, 17, 18, 19, 20),
    (0, 17),
)


@dataclass(frozen=True, slots=True)
class _Layer:
    """Places of some points in the frames that were looked at: times (s), shape ``(n,)``, and px, ``(n, point, 2)``."""

    head: dict[str, Any]
    times: npt.NDArray[np.float64]
    places: npt.NDArray[np.float64]
    reading: npt.NDArray[np.float64] | None = None


def landmark_bytes(home: Home, person: Person, recording: Recording, seconds: Interval) -> bytes:
    """Pack the landmarks of a stretch: body where likely seen, face, and hands of the examined person and of others.

    Returns
    -------
    bytes
        See `packed`; layers with the keys ``name``, ``points`` and ``links`` (pairs of points to be joined).

    Raises
    ------
    NotFound
        If nothing was looked at yet.
    EntryRefused
        If the stretch is longer than `LONGEST_S`.
    """
    tracks = _stretch(home, person, recording, seconds)
    hands = np.concatenate([tracks[name].values.astype(np.float64) for name in ("hand_xy", "other_hand_xy")], axis=1)
    layers = [
        _layer(tracks, "pose", body(tracks, *POSE_POINTS), name="body", links=_body_links()),
        _layer(tracks, "face", tracks["face_xy"].values.astype(np.float64), name="face", links=_face_links()),
        *(_layer(tracks, "hand", hands[:, hand], name="hand", links=_hand_links()) for hand in range(hands.shape[1])),
    ]
    return packed(seconds, layers)


def construction_bytes(
    home: Home, person: Person, recording: Recording, seconds: Interval, step_id: str, side: Side | None
) -> bytes:
    """Pack what the measures of a step rest on, over a stretch; of a step with a side only what belongs to it.

    Returns
    -------
    bytes
        See `packed`; layers with the keys ``measure``, ``title``, ``kind``, ``words``, ``unit`` and ``side``.

    Raises
    ------
    NotFound
        If nothing was looked at yet, or the recording's checklist has no such step.
    NotAllowed
        If the step is still covered for the person.
    EntryRefused
        If the stretch is longer than `LONGEST_S`.
    """
    tracks = _stretch(home, person, recording, seconds)
    with reading(home) as repo:
        step = repo.sheet_of(recording).step(step_id)
        cover = Cover(repo.uncoverings().of(recording.id, person.id), person)
    if cover.over(step_id, side):
        raise NotAllowed("What the measures of this step rest on is covered. Grade it and say how sure you are first.")
    return packed(seconds, _constructions(tracks, step, side))


def _constructions(tracks: xr.Dataset, step: Step, side: Side | None) -> list[_Layer]:
    drawn: dict[Any, Measure] = {}
    for of in step_measures(step):
        if of.construction is not None:
            drawn.setdefault(of.construction, of)
    layers = []
    for of in drawn.values():
        assert of.construction is not None
        parts = of.construction(paced(tracks, 1 / tracks.attrs["slow_motion"]))
        layers += [_part(tracks, of, part) for part in parts if side in (None, part.side or side)]
    return layers


def _part(tracks: xr.Dataset, of: Measure, part: Part) -> _Layer:
    facts = {"kind": part.kind, "words": part.words, "unit": part.unit, "side": part.side}
    return _layer(tracks, part.stream, part.places, part.reading, measure=of.name, title=of.title, **facts)


def _stretch(home: Home, person: Person, recording: Recording, seconds: Interval) -> xr.Dataset:
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording.id)
    if seconds.duration_s > LONGEST_S:
        raise EntryRefused(f"{seconds.duration_s:.0f} s came; expected at most {LONGEST_S:.0f} s at a time.")
    state = version(home, recording.id)
    if not state:
        raise NotFound(f"{recording.name} has no landmarks yet: it was not analysed. Start that first.")
    return _read(home, recording.id, state, seconds)


@lru_cache(maxsize=2)
def _read(home: Home, recording_id: str, state: str, seconds: Interval) -> xr.Dataset:
    return cut(to_cut(home, recording_id, state), seconds.onset_s, seconds.offset_s).load()


def _layer(
    tracks: xr.Dataset,
    stream: str,
    places: npt.NDArray[np.float64],
    reading: npt.NDArray[np.float64] | None = None,
    **head: Any,
) -> _Layer:
    rows = looked(tracks, stream)
    sure = np.where(found(tracks, stream)[:, None, None], places, np.nan)
    told = None if reading is None else reading[rows]
    return _Layer(head, tracks["time"].values[rows], sure[rows], told)


def _body_links() -> list[list[int]]:
    place = {name: number for number, name in enumerate(POSE_POINTS)}
    pairs = [(f"{side}_{one}", f"{side}_{other}") for side in ("left", "right") for one, other in _LIMBS]
    pairs += [
        ("left_shoulder", "right_shoulder"),
        ("left_hip", "right_hip"),
        ("left_ear", "nose"),
        ("nose", "right_ear"),
    ]
    return [[place[one], place[other]] for one, other in pairs]


def _face_links() -> list[list[int]]:
    place = {point: number for number, point in enumerate(FACE_POINTS)}
    rings = (OUTLINE, LIPS, *LIDS.values(), *IRISES.values())
    return [[place[one], place[other]] for ring in rings for one, other in zip(ring, (*ring[1:], ring[0]), strict=True)]


def _hand_links() -> list[list[int]]:
    return [[one, other] for finger in _FINGERS for one, other in pairwise(finger)]


def packed(seconds: Interval, layers: Iterable[_Layer]) -> bytes:
    """Pack layers for the browser.

    Little-endian: uint32 length of a JSON head (padded to a multiple of 8), the head ``{"onset_s", "offset_s",
    "hold_s", "layers"}``, then for each layer its times (float64, s), for each layer its places (float32, px, row by
    row, NaN where there is none), and for each layer with a reading that (float32). Each layer's head says ``rows``,
    ``points`` and whether it has a ``reading``. Layers without any place are left out.
    """
    kept = [layer for layer in layers if np.isfinite(layer.places).any()]
    facts = [
        {
            **layer.head,
            "rows": len(layer.times),
            "points": int(layer.places.shape[1]),
            "reading": layer.reading is not None,
        }
        for layer in kept
    ]
    ends = {"onset_s": seconds.onset_s, "offset_s": seconds.offset_s, "hold_s": HOLD_S}
    text = json.dumps({**ends, "layers": facts}).encode()
    text += b" " * (-(len(text) + 4) % 8)
    times = [layer.times.astype("<f8").tobytes() for layer in kept]
    places = [np.ascontiguousarray(layer.places, dtype="<f4").tobytes() for layer in kept]
    readings = [layer.reading.astype("<f4").tobytes() for layer in kept if layer.reading is not None]
    return b"".join([struct.pack("<I", len(text)), text, *times, *places, *readings])
