"""How loud was spoken above the film's own background, and how much of it was whispered."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.measure import Measure, Need
from review.domain.model import Estimate, Event, Interval
from review.measures.face_view import shares
from review.measures.learned import bias
from review.measures.speech_runs import (
    FAINT_DB,
    LONGEST_SHARE_S,
    SHORTEST_S,
    Speech,
    mean_power,
    speech,
    speech_level,
    why_unheard,
)
from review.signals.estimates import stated, unstated
from review.signals.runs import true_runs
from review.signals.uncertainty import Bounded

_EDGE_S: Final = 0.05
_PAUSE_S: Final = 0.4
_HOLE_S: Final = 1.0
_REFERENCE = "common practice, no source"


def level_of_speech(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the mean power of the speech, its short pauses included, above the background, which is taken off; in dB.

    The 95 % interval is what is left of the reading's bias, widened to the reading with faint speech (`FAINT_DB`)
    counted in.
    """
    said = speech(trace)
    reason = why_unheard(trace, said)
    if reason is not None:
        return (unstated(trace, reason),)
    numbers = [bias("voice_level").corrected(_mean_db(trace, heard)) for heard in (said, speech(trace, FAINT_DB))]
    low, high = min(number.low for number in numbers), max(number.high for number in numbers)
    return (stated(trace, Bounded(numbers[0].value, low, high), rests_on=_moments(trace, said)),)


def _mean_db(trace: xr.DataArray, said: Speech) -> float:
    return float(10 * np.log10(max(1e-3, mean_power(trace, said.stretch))))


def whispered_share_of(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the share of the speaking time, short pauses included, that was whispered.

    The low end of the 95 % interval counts no doubtful moment as whispered, the high end all of them, both with and
    without faint speech (`FAINT_DB`); they are widened by 0.05 s for each edge of a stretch where both kinds occur.
    """
    said = speech(trace)
    reason = why_unheard(trace, said)
    if reason is not None:
        return (unstated(trace, reason),)
    faint = speech(trace, FAINT_DB)
    bounds = [
        _share(trace, heard, flags)
        for heard in (said, faint)
        for flags in (heard.whispered & ~heard.doubtful, heard.whispered | heard.doubtful)
    ]
    stretches = speech_events(trace)
    mixed = len({event.kind for event in stretches}) > 1
    edge = 2 * _EDGE_S * len(stretches) / sum(event.interval.duration_s for event in stretches) if mixed else 0.0
    number = Bounded(_share(trace, said, said.whispered), max(0.0, min(bounds) - edge), min(1.0, max(bounds) + edge))
    return (stated(trace, number, rests_on=_moments(trace, said)),)


def _share(trace: xr.DataArray, said: Speech, flags: npt.NDArray[np.bool_]) -> float:
    weight = shares(trace["time"].values, LONGEST_SHARE_S)
    return float(weight[flags].sum() / weight[said.stretch].sum())


def speech_events(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches that were ``voiced`` and ``whispered``, in order; ``peak`` is their greatest level, dB."""
    said = speech(trace)
    times = trace["time"].values
    kinds = {"whispered": said.whispered, "voiced": said.stretch & ~said.whispered}
    events = [
        Event(kind, Interval(run.onset_s, run.offset_s), None, float(np.nanmax(trace.values[run.samples])))
        for kind, flags in kinds.items()
        for run in true_runs(times, flags, SHORTEST_S / 2, _PAUSE_S, _HOLE_S)
    ]
    return tuple(sorted(events, key=lambda event: event.interval))


def _moments(trace: xr.DataArray, said: Speech) -> tuple[Interval, ...]:
    runs = true_runs(trace["time"].values, said.stretch, 0.0, _PAUSE_S, _HOLE_S)
    return tuple(Interval(run.onset_s, run.offset_s) for run in runs)


MEASURES = (
    Measure(
        name="voice_level",
        title="Speech above the background",
        trace=speech_level,
        summarise=level_of_speech,
        events=speech_events,
        unit="dB",
        unit_words="dB above this film's background",
        needs=(Need("sound", 10.0),),
        curve="Sound above the background",
        reference=_REFERENCE,
    ),
    Measure(
        name="whispered_share",
        title="Whispered share of the speech",
        trace=speech_level,
        summarise=whispered_share_of,
        events=speech_events,
        unit="1",
        unit_words="% of the speaking time",
        needs=(Need("sound", 10.0),),
        curve="Sound above the background",
        reference=_REFERENCE,
    ),
)
