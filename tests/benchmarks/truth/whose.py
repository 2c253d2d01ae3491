"""Whether what was measured is the examined person's, in films in which somebody else is about as well."""

from __future__ import annotations

import json
from dataclasses import dataclass

import numpy as np
import xarray as xr

from review.domain.tracks import FOUND
from tests.benchmarks.truth.clips import Clip


@dataclass(frozen=True)
class Whose:
    """Frames of a film in which a body, or a face, was taken for the examined person's, and in how many it was not."""

    clip: str
    taken: int
    wrong: int


def whose(clip: Clip, tracks: xr.Dataset) -> Whose | None:
    """Set the places of nose and face beside those of everybody's head; None where nobody else is about.

    A frame is wrong where somebody else's head is nearer to the nose of the body, or to the middle of the face, than
    the examined person's own nose.
    """
    frames = json.loads(clip.truth.read_text("utf-8"))["frames"]
    others, own = frames.get("others_head_px"), frames["joints_px"].get("nose")
    if not others or own is None:
        return None
    heads = [np.array(own, float), *(np.array(places, float) for places in others.values())]
    taken = wrong = 0
    for state, middle in (
        ("pose_state", tracks["pose_xy"].sel(pose_point="nose").values),
        ("face_state", tracks["face_xy"].mean("face_point").values),
    ):
        rows = np.flatnonzero((tracks[state].values == FOUND) & np.isfinite(middle).all(axis=1))
        away = np.array([np.linalg.norm(middle[rows] - head[rows], axis=1) for head in heads])
        taken += len(rows)
        wrong += int((away.argmin(axis=0) > 0).sum())
    return Whose(clip.name, taken, wrong)
