"""Somebody speaks and whispers: the jaw moves with made syllables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

import numpy as np

from ..checks import Columns, happening, must_read, span_of
from ..figure import Pose
from ..person import Person
from ..sounds import Sound, Stretch, room, with_knocks, with_speech
from .mimic import added
from .played import CloseUp, at_ease
from .scene import Record

_SYLLABLES_HZ = 3.7


class Voice(CloseUp):
    """Speaks in stretches.

    Parameters
    ----------
    stretches
        ``voiced`` or ``whispered``, onset and offset in seconds, decibels above the room.
    seconds
        Length.
    pitch_hz
        Of the voice.
    knocks_s
        When something knocks besides.
    """

    usual_s: ClassVar = 7.0
    size_px: ClassVar = (320, 320)
    fps: ClassVar = 15

    def __init__(
        self,
        people: dict[str, Person],
        stretches: Sequence[tuple[str, float, float, float]] = (
            ("voiced", 1.0, 3.0, 26.0),
            ("whispered", 4.2, 6.0, 15.0),
        ),
        seconds: float = 7.0,
        pitch_hz: float = 120.0,
        knocks_s: Sequence[float] = (),
    ) -> None:
        self._stretches = [Stretch(kind, *rest) for kind, *rest in stretches]  # type: ignore[arg-type]
        self._pitch_hz, self._knocks_s = pitch_hz, knocks_s
        super().__init__(people, seconds)

    def pose(self, time_s: float) -> Pose:
        """Return the pose: the jaw opens with each syllable."""
        speaking = any(stretch.onset_s <= time_s <= stretch.offset_s for stretch in self._stretches)
        jaw = 0.11 * (1 - np.cos(2 * np.pi * _SYLLABLES_HZ * time_s)) * speaking
        rotations, offset = at_ease(self.rig, {})
        return Pose(rotations, offset, added({"jawOpen": float(jaw)}))

    def sound(self) -> Sound | None:
        """Return the room with the stretches, and the knocks if there are any."""
        spoken = with_speech(room(self.seconds), self._stretches, self._pitch_hz)
        return with_knocks(spoken, self._knocks_s) if self._knocks_s else spoken

    def checks(self, columns: Columns) -> list[Record]:
        """Return level above the room (mean power of all stretches, the room taken off) and share of whispering."""
        span = span_of(columns["time_s"])
        length = {kind: 0.0 for kind in ("voiced", "whispered")}
        power = 0.0
        for stretch in self._stretches:
            seconds = stretch.offset_s - stretch.onset_s
            length[stretch.kind] += seconds
            power += seconds * 10 ** (stretch.over_room_db / 10)
        total = sum(length.values())
        found = [happening(stretch.kind, stretch.onset_s) for stretch in self._stretches]
        result = [
            must_read("voice_level", span, float(10 * np.log10(power / total)), events=found),
            must_read("whispered_share", span, length["whispered"] / total),
        ]
        if self._knocks_s:
            result.append(
                must_read(
                    "tap_moment", span, len(self._knocks_s), events=[happening("tap", at_s) for at_s in self._knocks_s]
                )
            )
        return result
