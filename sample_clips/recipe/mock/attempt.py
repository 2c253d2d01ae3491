"""Makes attempts: writes the script, has it spoken, mixes it for each room, writes sound or film and truth."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from . import truth
from .mix import ROOMS, mixed
from .plan import Manner
from .script import Script, write
from .sheet import Sheet
from .spoken import Speaks, Spoken
from .timeline import Timeline, place
from .voices import Speaker

SOUND_SUFFIX: Final = ".m4a"

Voices = Callable[[Speaker], Speaks]


@dataclass(frozen=True)
class Attempt:
    """An attempt that was spoken: what was written, how it sounds, when everything happens, and its truth."""

    script: Script
    spoken: tuple[Spoken, ...]
    timeline: Timeline
    truth: truth.Record


def spoken_attempt(
    sheet: Sheet,
    seed: int,
    speakers: Mapping[str, Speaker],
    voices: Voices,
    manner: Manner | None = None,
    people: Mapping[str, str] | None = None,
) -> Attempt:
    """Write an attempt and have it spoken.

    Parameters
    ----------
    speakers
        ``examiner`` and ``partner``.
    voices
        Gives each of them a voice.
    people
        Who plays them in the picture, by role; nobody in an attempt that is only heard.
    """
    script = write(sheet, seed, manner)
    with_voice = {role: voices(speaker) for role, speaker in speakers.items()}
    spoken = tuple(with_voice[line.speaker].say(line.text) for line in script.lines)
    timeline = place(script, spoken)
    precision_s = max(voice.precision_s for voice in with_voice.values())
    named = {role: speaker.voice for role, speaker in speakers.items()}
    written = truth.record(sheet, seed, script.plan, timeline, truth.Cast(named, precision_s, people or {}))
    return Attempt(script, spoken, timeline, written)


def write_sounds(attempt: Attempt, rooms: Sequence[str], folder: Path, name: str, seed: int) -> list[Path]:
    """Write ``<name>_<room>.m4a`` and its truth for each room, and return the sounds."""
    from ..encode import write_sound

    paths = []
    for room in rooms:
        heard = mixed(attempt.timeline, attempt.spoken, ROOMS[room], seed)
        path = folder / f"{name}_{room}{SOUND_SUFFIX}"
        write_sound(path, heard.sound)
        said = attempt.truth | {"sound": truth.heard_in(room, ROOMS[room], heard)}
        truth.write(path.with_suffix(".truth.json"), said)
        paths.append(path)
    return paths
