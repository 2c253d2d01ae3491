"""How many people are in the picture: more than the two who practise make it hard to tell who is who."""

from __future__ import annotations

from typing import Final

import numpy as np
import xarray as xr

from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Event, Reason
from review.domain.tracks import looked
from review.measures.capture_quality import stretches, typical

PAIR: Final = 2
"""Examiner and partner."""


def people_count(tracks: xr.Dataset) -> xr.DataArray:
    """Count the people in the picture.

    Shape ``(time,)``, unit 1; NaN where nobody was counted, which is done about once a second, and more often where
    several are about. A person counts when shoulders, hips and a whole leg are seen, or a face.

    References
    ----------
    Common practice, no source.
    """
    reasons = np.where(looked(tracks, "people"), int(Reason.NONE), int(Reason.NOT_LOOKED))
    return with_reasons(tracks["people_count"].astype(np.float64), reasons, "1")


def too_many(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches with more than two people."""
    return stretches(trace, "too_many", lambda values: values > PAIR)


MEASURES = (
    Measure(
        name="capture_people",
        title="People in the picture",
        trace=people_count,
        summarise=typical,
        events=too_many,
        unit="1",
        unit_words="people",
        needs=(Need("people", 1.0),),
        level=True,
        reference="common practice, no source",
    ),
)
