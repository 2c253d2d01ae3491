"""The unit of work. It is told to every worker, also to those that only listen: nothing large is imported here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

Wanted = tuple[tuple[str, tuple[int, ...]], ...]

WORDS: Final = "words"
"""What a unit of work is after that listens to what is said."""

SOUND: Final = "sound"
"""Key of the unit in which the sound of a film is heard, and name of the stream that comes of it."""

_COST_MS: Final = {"glance": 60.0, WORDS: 70.0, "pose": 26.0, "face": 16.0, "hand": 18.0, "picture": 4.0}


@dataclass(frozen=True, slots=True)
class Chunk:
    """A run of frames ``first <= index < stop`` with the frames wanted of each stream: the unit of work.

    Attributes
    ----------
    key
        Name of the unit, the same whenever the same is wanted.
    first, stop
        The run of frames.
    wanted
        Stream and the indices of the frames to look at.
    stage
        What it belongs to, of `review.pipeline.plan.STAGES`; nothing of the last two is done before the first look.
    everybody
        Whether it is looked at for everybody in the picture.
    """

    key: str
    first: int
    stop: int
    wanted: Wanted
    stage: int = 3
    everybody: bool = False

    @property
    def frames(self) -> int:
        """Number of frames that are looked at in the run: none where only the sound is heard."""
        return 0 if self.hears else self.stop - self.first

    @property
    def hears(self) -> bool:
        """Whether only the sound is heard."""
        return all(stream in (SOUND, WORDS) for stream, _ in self.wanted)

    @property
    def cost(self) -> float:
        """About how long it takes, in milliseconds of one core; for telling how far the work is."""
        crowd = 2.0 if self.everybody else 1.0
        return 1.0 + sum(_COST_MS.get(stream, 0.0) * crowd * len(index) for stream, index in self.wanted)
