"""The voices of the recipe, and who speaks with which in an attempt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from types import MappingProxyType
from typing import Final, Literal

from . import voice_data
from .festival import Festival
from .kokoro import Kokoro, Model
from .spoken import Speaks

Engine = Literal["kokoro", "festival"]


@dataclass(frozen=True)
class Voice:
    """A voice.

    Parameters
    ----------
    engine, name
        Which program speaks, and what the voice is called there.
    heard_as
        ``woman`` or ``man``.
    quality
        ``good``, close to a person's; ``plain``, clear but droning; ``poor``, joined from pieces.
    """

    engine: Engine
    name: str
    heard_as: Literal["woman", "man"]
    quality: Literal["good", "plain", "poor"]


VOICES: Final[Mapping[str, Voice]] = MappingProxyType(
    {
        "heart": Voice("kokoro", "af_heart", "woman", "good"),
        "bella": Voice("kokoro", "af_bella", "woman", "good"),
        "emma": Voice("kokoro", "bf_emma", "woman", "good"),
        "isabella": Voice("kokoro", "bf_isabella", "woman", "good"),
        "michael": Voice("kokoro", "am_michael", "man", "good"),
        "fenrir": Voice("kokoro", "am_fenrir", "man", "good"),
        "puck": Voice("kokoro", "am_puck", "man", "good"),
        "george": Voice("kokoro", "bm_george", "man", "good"),
        "slt": Voice("festival", "cmu_us_slt_arctic_hts", "woman", "plain"),
        "kal": Voice("festival", "kal_diphone", "man", "poor"),
        "ked": Voice("festival", "ked_diphone", "man", "poor"),
    }
)
"""All voices by id."""

CHOICES: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "good": tuple(name for name, voice in VOICES.items() if voice.quality == "good"),
        "quick": tuple(name for name, voice in VOICES.items() if voice.engine == "festival"),
        "all": tuple(VOICES),
    }
)
"""Which voices an attempt may have, by the word of the command line."""

_SPEEDS: Final = (0.92, 1.15)


@dataclass(frozen=True)
class Speaker:
    """Who speaks: the id of a voice and how fast it does."""

    voice: str
    speed: float


def cast(choice: str, seed: int) -> dict[str, Speaker]:
    """Return the voices of examiner and partner, two different ones, drawn from a choice."""
    random = Random(f"voices {seed}")
    drawn = random.sample(CHOICES[choice], 2)
    return {
        role: Speaker(name, round(random.uniform(*_SPEEDS), 2))
        for role, name in zip(("examiner", "partner"), drawn, strict=True)
    }


def speaking(folder: Path) -> Callable[[Speaker], Speaks]:
    """Return what gives each speaker a voice; data that a voice needs is fetched into `folder`."""

    @cache
    def model() -> Model:
        return Model(voice_data.fetch(folder))

    @cache
    def voice(speaker: Speaker) -> Speaks:
        chosen = VOICES[speaker.voice]
        if chosen.engine == "festival":
            return Festival(chosen.name, speaker.speed)
        return Kokoro(model(), chosen.name, speaker.speed)

    return voice
