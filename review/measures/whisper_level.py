"""How loud whispers are against the voices of the same film; nothing absolute."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.measure import Measure, Need
from review.domain.model import Estimate, Event, Interval, Reason
from review.measures.face_view import shares
from review.measures.learned import bias
from review.measures.speech_runs import (
    FAINT_DB,
    LONGEST_SHARE_S,
    USUAL_VOICE,
    mean_power,
    speech,
    speech_level,
    why_unheard,
)
from review.measures.voice_level import speech_events
from review.signals.estimates import stated, unstated
from review.signals.uncertainty import Bounded

LEAST_VOICE_S: Final = 5.0
"""Seconds of talk aloud that a film must hold to compare with."""

LEAST_WHISPER_S: Final = 0.4
"""A shorter stretch without voice, or one half of which is doubtful, is not told from a hiss within talk aloud."""

_DOUBTFUL_SHARE: Final = 0.5
_REACH_S: Final = 0.4

_ENDS: Final = (0.1, 0.9)


def usual_voice(tracks: xr.Dataset) -> dict[str, float]:
    """Level of the voices of a film above its background.

    Each stretch that is spoken aloud has a level: the mean power of its moments, short pauses included, the
    background taken off. Told are the median of these levels and the ends between which eight tenths of them lie, each
    stretch counted by its seconds. Sound at any rate, 10 frames a second at least.

    Returns
    -------
    dict
        `USUAL_VOICE`, dB; empty where less than `LEAST_VOICE_S` are spoken aloud.

    References
    ----------
    Common practice, no source.
    """
    trace = speech_level(tracks)
    times = trace["time"].values
    flags = [_within(trace, [event.interval], 0.0) for event in speech_events(trace) if event.kind == "voiced"]
    if not flags:
        return {}
    weight = shares(times, LONGEST_SHARE_S)
    seconds = np.array([weight[part].sum() for part in flags])
    if seconds.sum() < LEAST_VOICE_S:
        return {}
    levels = np.array([_db(mean_power(trace, part)) for part in flags])
    order = np.argsort(levels)
    passed = (np.cumsum(seconds[order]) - seconds[order] / 2) / seconds.sum()
    told = np.interp((0.5, *_ENDS), passed, levels[order])
    return dict(zip(USUAL_VOICE, map(float, told), strict=True))


def whisper_against_voice(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the mean power of the whispered stretches over that of the film's usual voice, in dB.

    The 95 % interval goes from the loudest to the softest voices of the film (`USUAL_VOICE`), since whose whisper and
    whose voice it is cannot be told; it is widened to the reading with faint speech (`FAINT_DB`) counted in, and to
    that with all of the background's mean power taken off.
    """
    said = speech(trace)
    reason = why_unheard(trace, said)
    if reason is not None:
        return (unstated(trace, reason),)
    moments = tuple(event.interval for event in whispers(trace))
    if not moments:
        return (unstated(trace, Reason.NO_WHISPER),)
    usual, softest, loudest = (float(trace.attrs[name]) for name in USUAL_VOICE)
    if not np.isfinite(usual):
        return (unstated(trace, Reason.NO_USUAL_VOICE),)
    powers = [
        mean_power(trace, said.whispered & _within(trace, moments, 0.0)),
        mean_power(trace, speech(trace, FAINT_DB).stretch & _within(trace, moments, _REACH_S)),
    ]
    left_over = 10 ** (bias("voice_level").offset / 10) - 1
    low, high = _db(min(powers) - left_over), _db(max(powers))
    return (stated(trace, Bounded(_db(powers[0]) - usual, low - loudest, high - softest), rests_on=moments),)


def whispers(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches that were surely ``whispered``; ``peak`` is their greatest level, dB above the background.

    They last `LEAST_WHISPER_S` or more, and less than half of their moments could as well be spoken aloud.
    """
    doubtful = speech(trace).doubtful
    return tuple(
        event
        for event in speech_events(trace)
        if event.kind == "whispered"
        and event.interval.duration_s >= LEAST_WHISPER_S
        and doubtful[_within(trace, [event.interval], 0.0)].mean() < _DOUBTFUL_SHARE
    )


def _within(trace: xr.DataArray, moments: Iterable[Interval], reach_s: float) -> npt.NDArray[np.bool_]:
    """Tell which frames lie in some stretches, or so near to them."""
    times = trace["time"].values
    inside = np.zeros(len(times), bool)
    for part in moments:
        inside |= (times >= part.onset_s - reach_s) & (times <= part.offset_s + reach_s)
    return inside


def _db(power: float) -> float:
    return float(10 * np.log10(max(1e-3, power)))


MEASURES = (
    Measure(
        name="whisper_level",
        title="Whisper against the voices of the film",
        trace=speech_level,
        summarise=whisper_against_voice,
        events=whispers,
        unit="dB",
        unit_words="dB from the voices of this film",
        needs=(Need("sound", 10.0),),
        curve="Sound above the background",
        reference="common practice, no source",
        of_film=usual_voice,
    ),
)
