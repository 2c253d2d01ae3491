"""Fork tests: where the tone is heard from the forehead (Weber), and whether air or bone is heard longer (Rinne)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from review.domain.entries.scan import NUMBER, Scan
from review.domain.entries.whisper import EARS

LONGEST_S: Final = 300.0
"""Longest time in seconds that a fork is heard: author's choice, no source."""

_HEARD: Final = {
    **dict.fromkeys(("in the middle", "middle", "midline", "centre", "center"), "middle"),
    **dict.fromkeys(("same in both", "both ears", "both", "same", "equal", "equally"), "middle"),
    **dict.fromkeys(("right ear", "right"), "right"),
    **dict.fromkeys(("left ear", "left"), "left"),
}
_LONGER: Final = {
    **dict.fromkeys(("air longer than bone", "air longer", "air", "ac > bc", "positive"), "air"),
    **dict.fromkeys(("bone longer than air", "bone longer", "bone", "bc > ac", "negative"), "bone"),
    **dict.fromkeys(("air and bone the same", "the same", "same", "equal", "ac = bc", "bc = ac"), "same"),
}
_WORDS: Final = {"air": "air longer than bone", "bone": "bone longer than air", "same": "air and bone the same"}


@dataclass(frozen=True, slots=True)
class Weber:
    """Where the fork on the forehead was heard: "middle", or louder in the own "left" or "right" ear."""

    heard: str

    @property
    def place(self) -> str:
        """Nothing: the test has no sides."""
        return ""

    @property
    def words(self) -> str:
        """Where it was heard."""
        return "heard in the middle" if self.heard == "middle" else f"heard more in the {self.heard} ear"


@dataclass(frozen=True, slots=True)
class Rinne:
    """What one ear heard longer.

    Parameters
    ----------
    ear
        "right" or "left", the examined person's own.
    longer
        "air", "bone" or "same".
    air_s, bone_s
        How long each was heard, in seconds from the strike of the fork; None if that was not said.
    """

    ear: str
    longer: str
    air_s: float | None
    bone_s: float | None

    @property
    def place(self) -> str:
        """Which ear."""
        return f"{self.ear} ear"

    @property
    def words(self) -> str:
        """What was heard longer, with the seconds."""
        said = [f"{name} {time_s:g} s" for name, time_s in (("air", self.air_s), ("bone", self.bone_s)) if time_s]
        return _WORDS[self.longer] + (f" ({', '.join(said)} from the strike)" if said else "")


def read_weber(scan: Scan) -> Weber:
    """Read ``middle``, ``left`` or ``right``; what it is worth after a fault does not count."""
    heard = scan.word(_HEARD, "place")
    scan.take(r"\b(?:heard|more|louder|in|to|the|weber)\b")
    scan.end()
    if heard is None:
        scan.fault("Where it was heard is missing; expected middle, left or right.")
    return Weber(heard or "")


def read_rinne(scan: Scan) -> Rinne:
    """Read what was heard longer, such as ``air 40 s, bone 20 s``; what it is worth after a fault does not count."""
    ear = scan.place("ear", EARS) or ""
    air_s, bone_s = _seconds(scan, "air"), _seconds(scan, "bone")
    said = scan.word(_LONGER, "word for what was heard longer")
    scan.take(r"\b(?:heard|rinne)\b")
    scan.end()
    counted = None
    if air_s is not None and bone_s is not None:
        counted = "same" if air_s == bone_s else "air" if air_s > bone_s else "bone"
    if said is None and counted is None:
        scan.fault("What was heard longer is missing; expected air longer, bone longer or same.")
    if said is not None and counted not in (None, said):
        scan.fault(f"{_WORDS[said]} came with air {air_s:g} s and bone {bone_s:g} s; count both from the strike.")
    return Rinne(ear, said or counted or "", air_s, bone_s)


def _seconds(scan: Scan, name: str) -> float | None:
    found = scan.one(rf"\b{name}\s*(?:longer)?\s*[:=]?\s*({NUMBER})\s*(?:seconds|sec|s)\b", f"time for {name}")
    if found is None:
        return None
    time_s = float(found[1])
    if not 0 < time_s <= LONGEST_S:
        scan.fault(f"{name} {found[1]} s came; expected more than 0 and at most {LONGEST_S:g} s.")
    return time_s
