"""The script of an attempt: who says what, and what is done in between, step by step."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Final, Literal

from .plan import OPPOSITE, Manner, Plan, Visit, plan
from .sheet import Otherwise, Sheet
from .speech import ASIDES, restarted, slipped_number, slipped_side, with_filler, words_of, wrong_side

Kind = Literal["announcement", "instruction", "answer", "whisper", "finding", "aside"]

_NEXT: Final = ("next is {}", "now {}", "{}", "moving on to {}", "next, {}", "I will test {} now", "then {}")
_ON_SIDE: Final = ("{} on the {side}", "on the {side}, {}", "{side} side, {}")
_PAUSE_S: Final = {
    "announcement": (0.5, 1.6),
    "instruction": (0.2, 0.7),
    "answer": (0.25, 0.7),
    "whisper": (0.3, 0.6),
    "finding": (0.2, 0.8),
    "aside": (0.4, 1.0),
}
"""Silence before each kind of line, from and to."""

_WHISPERING: Final = "behind"


@dataclass(frozen=True)
class Line:
    """Something said in one go.

    Parameters
    ----------
    pause_s
        Silence before it.
    """

    speaker: Literal["examiner", "partner"]
    kind: Kind
    text: str
    pause_s: float

    @property
    def words(self) -> list[str]:
        """The words said, in lower case, without punctuation."""
        return words_of(self.text)


@dataclass(frozen=True)
class Doing:
    """Something done without a word of the examiner's; `shows` names it, None for nothing that is seen."""

    seconds: float
    shows: str | None


@dataclass(frozen=True)
class Finding:
    """What a visit's finding is.

    Parameters
    ----------
    status
        ``said`` as expected, ``other`` than expected, or ``not_said``.
    text
        As meant, without slips and fillers; empty if not said.
    phrase
        The checklist's phrase that it holds, if it does.
    value
        What it amounts to, where there is a value.
    side_said
        The side that is heard last in it; None where no side is said.
    wrong_side
        The side said is not the one examined, and nobody corrected it.
    slip
        Another side or number was said first and corrected.
    """

    status: Literal["said", "other", "not_said"]
    text: str = ""
    phrase: str | None = None
    value: str | None = None
    side_said: str | None = None
    wrong_side: bool = False
    slip: bool = False


@dataclass(frozen=True)
class Scene:
    """A visit with what is said and done at it, in order."""

    visit: Visit
    parts: tuple[Line | Doing, ...]
    finding: Finding


@dataclass(frozen=True)
class Script:
    """The scenes of an attempt in their order, and the plan they follow."""

    scenes: tuple[Scene, ...]
    plan: Plan

    @property
    def lines(self) -> list[Line]:
        """Everything that is said, in order."""
        return [part for scene in self.scenes for part in scene.parts if isinstance(part, Line)]


def write(sheet: Sheet, seed: int, manner: Manner | None = None) -> Script:
    """Return the script of an attempt; the same sheet, seed and manner give the same one."""
    random = Random(f"{sheet.id} {seed}")
    writer = _Writer(manner or Manner(), random)
    made = plan(sheet, writer.manner, random)
    return Script(tuple(writer.scene(visit) for visit in made.visits), made)


class _Writer:
    def __init__(self, manner: Manner, random: Random) -> None:
        self.manner, self._random = manner, random

    def scene(self, visit: Visit) -> Scene:
        """Return one visit: announced, asked, done, answered, found; some of these left out."""
        parts: list[Line | Doing] = [*self._announced(visit), *self._asked(visit), *self._done(visit)]
        finding, text = self._finding(visit)
        if text:
            parts.append(self._line("finding", self._stumbling(text, inside=not finding.phrase)))
        if self._chance(self.manner.asides):
            parts.append(self._line("aside", self._random.choice(ASIDES)))
        return Scene(visit, tuple(parts), finding)

    def _announced(self, visit: Visit) -> list[Line]:
        if visit.second or not visit.step.called or self._chance(self.manner.unannounced):
            return []
        name = self._random.choice(visit.step.called)
        if visit.again:
            name += " again"
        if self._chance(self.manner.slips):
            name = slipped_number(name, self._random)
        elif visit.side and self._chance(0.4):
            name += f", {visit.side} side"
        return [self._line("announcement", self._stumbling(self._random.choice(_NEXT).format(name)))]

    def _asked(self, visit: Visit) -> list[Line]:
        lines = (visit.second and visit.step.second) or visit.step.ask
        if not lines or self._chance(self.manner.unasked):
            return []
        return [self._line("instruction", self._stumbling(self._sided(self._random.choice(lines), visit.side)))]

    def _done(self, visit: Visit) -> list[Line | Doing]:
        """Return the doing, with the partner's answer late in it."""
        step = visit.step
        seconds = round(self._random.uniform(*step.wait_s), 2)
        if not step.answer:
            return [Doing(seconds, step.shows)]
        answer = self._random.choice(step.answer)
        early = round(0.6 * seconds, 2)
        parts: list[Line | Doing] = [Doing(early, step.shows)]
        if step.shows == _WHISPERING:
            parts.append(self._line("whisper", answer))
        parts += [self._line("answer", answer, "partner"), Doing(round(seconds - early, 2), step.shows)]
        return parts

    def _finding(self, visit: Visit) -> tuple[Finding, str]:
        """Return the finding and the text that is spoken for it."""
        if self._chance(self.manner.unsaid):
            return Finding("not_said"), ""
        other = self._random.choice(visit.step.other) if visit.step.other else None
        if other and self._chance(self.manner.otherwise):
            return self._worded(visit, other.text, "other", other=other)
        unlike = {other.text for other in visit.step.other}
        phrases = [p for p in visit.step.finding if p not in unlike and not (visit.side and _of_both(p))]
        own = visit.step.said and (not phrases or self._chance(self.manner.own_words))
        if own:
            return self._worded(visit, self._random.choice(visit.step.said), "said")
        if not phrases:
            return Finding("not_said"), ""
        phrase = self._random.choice(phrases)
        text = self._random.choice(_ON_SIDE).replace("{}", phrase) if visit.side and self._chance(0.7) else phrase
        return self._worded(visit, text, "said", phrase)

    def _worded(
        self,
        visit: Visit,
        text: str,
        status: Literal["said", "other"],
        phrase: str | None = None,
        other: Otherwise | None = None,
    ) -> tuple[Finding, str]:
        meant = self._sided(text, visit.side)
        spoken, wrong, slip = meant, False, False
        names_side = bool(visit.side) and visit.side in words_of(meant)
        if names_side and visit.side and self._chance(self.manner.wrong_sides):
            spoken = meant = wrong_side(meant, visit.side)
            wrong = True
        elif self._chance(self.manner.slips):
            sided = names_side and visit.side
            spoken = slipped_side(meant, sided, self._random) if sided else slipped_number(meant, self._random)
            slip = spoken != meant
        sides = [word for word in words_of(meant) if word in OPPOSITE]
        value = other.value if other else visit.step.value
        if phrase and phrase not in visit.step.valued:
            value = None
        finding = Finding(status, meant, phrase, value, sides[-1] if sides else None, wrong, slip)
        return finding, spoken

    def _sided(self, text: str, side: str | None) -> str:
        return text.format(side=side, other=OPPOSITE[side]) if side else text

    def _stumbling(self, text: str, inside: bool = True) -> str:
        if self._chance(self.manner.restarts):
            return restarted(text, self._random)
        if self._chance(self.manner.fillers):
            return with_filler(text, self._random, inside)
        return text

    def _line(self, kind: Kind, text: str, speaker: Literal["examiner", "partner"] = "examiner") -> Line:
        return Line(speaker, kind, text, round(self._random.uniform(*_PAUSE_S[kind]), 2))

    def _chance(self, share: float) -> bool:
        return self._random.random() < share


def _of_both(phrase: str) -> bool:
    """Tell whether a phrase speaks of both sides at once."""
    return " equal" in f" {phrase}" or phrase.endswith("both sides")
