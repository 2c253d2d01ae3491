"""How long after a whisper somebody answers aloud."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np
import xarray as xr

from review.domain.measure import Measure, Need
from review.domain.model import Estimate, Event, Interval, Reason
from review.measures.speech_runs import ACTIVE_DB, FAINT_DB, speech, speech_level, why_unheard
from review.measures.voice_level import speech_events
from review.measures.whisper_level import whispers
from review.signals.estimates import stated, unstated
from review.signals.runs import true_runs
from review.signals.uncertainty import Bounded

LONGEST_S: Final = 8.0
"""What is said later than this after a whisper is no answer to it."""

_EDGE_S: Final = 0.2
_REACH_S: Final = 0.4


def delay_of_answers(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the median silence between the end of a whisper and the voice that follows it, seconds.

    Two speakers are told apart by the whisper alone: where all is spoken aloud there is no number
    (`Reason.SPEAKERS_ALIKE`). The 95 % interval holds the readings with edges at `ACTIVE_DB` and at `FAINT_DB`, widened
    by 0.2 s, as the ends of words fade and the window is 0.05 s long.
    """
    reason = why_unheard(trace, speech(trace))
    if reason is None and not whispers(trace):
        reason = Reason.SPEAKERS_ALIKE
    if reason is not None:
        return (unstated(trace, reason),)
    silences = answers(trace)
    if not silences:
        return (unstated(trace, Reason.NO_ANSWER),)
    faint = [_silence(trace, event.interval, FAINT_DB).duration_s for event in silences]
    medians = [float(np.median([event.interval.duration_s for event in silences])), float(np.median(faint))]
    number = Bounded(medians[0], min(medians) - _EDGE_S, max(medians) + _EDGE_S).within(0.0)
    return (stated(trace, number, rests_on=tuple(event.interval for event in silences)),)


def answers(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the ``silence`` before each answer: from the end of a whisper to the onset of the voice that follows.

    Only the last stretch that was surely whispered before a voice counts, and voices within `LONGEST_S` of it.
    """
    voices = [event for event in speech_events(trace) if event.kind == "voiced"]
    stretches = sorted([*whispers(trace), *voices], key=lambda event: event.interval)
    return tuple(
        Event("silence", _silence(trace, Interval(before.interval.offset_s, max(before.interval.offset_s, onset_s))))
        for before, after in pairwise(stretches)
        if (before.kind, after.kind) == ("whispered", "voiced")
        and (onset_s := after.interval.onset_s) - before.interval.offset_s <= LONGEST_S
    )


def _silence(trace: xr.DataArray, between: Interval, active_db: float = ACTIVE_DB) -> Interval:
    """Return the longest silence within reach of a stretch; a moment at its end where there is none.

    Between a whisper and a voice that follows at once, the change lies up to `_REACH_S` beside the silence.
    """
    times = trace["time"].values
    near = (times >= between.onset_s - _REACH_S) & (times <= between.offset_s + _REACH_S)
    quiet = near & ~(np.nan_to_num(trace.values, nan=-np.inf) > active_db)
    longest = max(true_runs(times, quiet), key=lambda run: run.duration_s, default=None)
    if longest is None:
        return Interval(between.offset_s, between.offset_s)
    return Interval(longest.onset_s, float(times[min(longest.last + 1, len(times) - 1)]))


MEASURES = (
    Measure(
        name="answer_delay",
        title="Silence between whisper and answer",
        trace=speech_level,
        summarise=delay_of_answers,
        events=answers,
        unit="s",
        needs=(Need("sound", 10.0),),
        curve="Sound above the background",
        reference="common practice, no source",
    ),
)
