"""All that is heard in an attempt, at stated levels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from ..sounds import SAMPLES_PER_SECOND, Sound, level_db, room, with_knocks
from .background import background
from .echo import impulse_response
from .spoken import Spoken, whispered
from .timeline import Timeline

KNOCK_DB: Final = 2.0
"""How much louder than the examiner's speech the first 40 ms of a knock are."""

WHISPER_DB: Final = -14.0
"""Level of a whisper against the same person's voice."""

_FORK_DB: Final = -16.0
_FORK_HZ: Final = 512.0
_FORKS: Final = ("touch_forehead", "touch_ear")
_HIGHEST: Final = 0.9


@dataclass(frozen=True)
class Room:
    """Where an attempt is heard.

    Parameters
    ----------
    noise
        A kind of `background`.
    snr_db
        Mean power of the examiner's lines, echo included, over that of the noise.
    rt60_s
        Decay of the echo; 0 for none.
    direct_db
        How much stronger than the echo the direct sound is.
    """

    noise: str
    snr_db: float
    rt60_s: float = 0.0
    direct_db: float = 3.0


ROOMS: Final[Mapping[str, Room]] = MappingProxyType(
    {
        "clean": Room("room", 45.0),
        "db20": Room("pink", 20.0),
        "db10": Room("kitchen", 10.0),
        "echo": Room("room", 20.0, 0.6, 0.0),
    }
)
"""The rooms attempts are heard in, by name."""


@dataclass(frozen=True)
class Levels:
    """How loud people are, in decibels of full scale; lines of one person differ by `spread_db` (root mean square)."""

    examiner_db: float = -23.0
    partner_db: float = -27.0
    spread_db: float = 1.5

    def of(self, speaker: str) -> float:
        """Return the level of a speaker."""
        return self.examiner_db if speaker == "examiner" else self.partner_db


@dataclass(frozen=True)
class Mixed:
    """The sound of an attempt, and its levels as measured, decibels below full scale."""

    sound: Sound
    speech_db: float
    noise_db: float


def mixed(timeline: Timeline, spoken: Sequence[Spoken], place: Room, seed: int, levels: Levels | None = None) -> Mixed:
    """Return all that is heard.

    Parameters
    ----------
    spoken
        What each utterance sounds like, in order.
    place
        The room it is heard in.
    seed
        Of the noise and of how much lines differ in level.
    """
    speech = _speech(timeline, spoken, levels or Levels(), seed)
    heard = speech + _knocks(timeline, level_db(speech[_said(timeline, len(speech))]))
    if place.rt60_s:
        response = impulse_response(place.rt60_s, place.direct_db)
        speech, heard = (scipy.signal.oaconvolve(dry, response)[: len(dry)] for dry in (speech, heard))
    speech_db = level_db(speech[_said(timeline, len(speech))])
    noise_db = speech_db - place.snr_db
    whole = heard + 10 ** (noise_db / 20) * background(place.noise, len(heard) / SAMPLES_PER_SECOND, seed)
    quieter = min(1.0, _HIGHEST / np.abs(whole).max())
    change_db = 20 * np.log10(quieter)
    return Mixed((whole * quieter).astype(np.float32), float(speech_db + change_db), float(noise_db + change_db))


def _said(timeline: Timeline, count: int) -> NDArray[np.bool_]:
    """Tell for each sample whether the examiner speaks aloud."""
    said = np.zeros(count, bool)
    for utterance in timeline.utterances:
        if utterance.line.speaker == "examiner" and utterance.line.kind != "whisper":
            said[_sample(utterance.onset_s) : _sample(utterance.offset_s)] = True
    return said


def _speech(timeline: Timeline, spoken: Sequence[Spoken], levels: Levels, seed: int) -> NDArray[np.float64]:
    random = np.random.default_rng(seed)
    track = np.zeros(_sample(timeline.seconds))
    for utterance, said in zip(timeline.utterances, spoken, strict=True):
        wanted = levels.of(utterance.line.speaker) + levels.spread_db * random.standard_normal()
        piece = said
        if utterance.line.kind == "whisper":
            piece, wanted = whispered(said), wanted + WHISPER_DB
        start = _sample(utterance.onset_s)
        end = min(start + len(piece.sound), len(track))
        track[start:end] += piece.sound[: end - start] * (10 ** (wanted / 20) / piece.rms)
    return track


def _knocks(timeline: Timeline, speech_db: float) -> NDArray[np.float64]:
    """Return the taps of the hammer and the tone of the fork."""
    quiet = room(timeline.seconds)[: _sample(timeline.seconds)]
    taps = [tap for action in timeline.actions for tap in action.taps_s]
    over = speech_db + KNOCK_DB - level_db(quiet)
    track = with_knocks(quiet, taps, over).astype(np.float64) - quiet.astype(np.float64)
    for action in timeline.actions:
        if action.kind in _FORKS:
            start, end = _sample(action.onset_s), _sample(action.offset_s)
            clock = np.arange(end - start) / SAMPLES_PER_SECOND
            tone = np.sin(2 * np.pi * _FORK_HZ * clock) * np.exp(-clock / 2.0) * np.minimum(clock / 0.02, 1)
            track[start:end] += tone * np.sqrt(2) * 10 ** ((speech_db + _FORK_DB) / 20)
    return track


def _sample(time_s: float) -> int:
    return round(time_s * SAMPLES_PER_SECOND)
