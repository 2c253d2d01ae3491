"""The words by which a sheet's steps are known: its own, out of title, findings and what is done; none are learned."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import Final

from review.domain.checklist import Checklist, Step
from review.domain.phrases import Run
from review.speech.exact import NUMBERS, SIDES
from review.speech.spelling import spoken_words

_SMALL: Final = frozenset(
    """
    a an and are as at be both but by can do does each every for from give go had has have he her him his how i if in
    into is it its let may me more most my no not of off on one or other our out over own she so still than that the
    their them then there these they this to too under until up was we were what when where which while who will with
    without you your now yes ok okay um uh like know please just
    """.split()  # noqa: SIM905 - reads better
)
"""Words of which every talk is full."""

_LONG: Final = 6
_RARE: Final = 0.12
"""Share of the steps up to which a word tells one from others."""

_NERVE: Final = ("nerve", "nerves", "n")


@dataclass(frozen=True, slots=True)
class Known:
    """The words of one step, each with its weight: 1 for a word of this step alone, towards 0 for one of all steps."""

    name: Mapping[str, float]
    finding: Mapping[str, float]
    doing: Mapping[str, float]

    def weight(self, stem: str) -> float:
        """Return the weight of a word wherever it stands."""
        return max(part.get(stem, 0.0) for part in (self.name, self.finding, self.doing))


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The words of a sheet by step, in its order, the runs of words that name each step, and the words of few steps."""

    steps: tuple[Known, ...]
    names: Mapping[str, tuple[Run, ...]]
    rare: frozenset[str]


@lru_cache(maxsize=16)
def vocabulary(sheet: Checklist) -> Vocabulary:
    """Return the words by which the steps of a sheet are known."""
    fields = [_fields(step) for step in sheet.steps()]
    counts: dict[str, int] = {}
    for found in fields:
        for word in set().union(*found):
            counts[word] = counts.get(word, 0) + 1
    many = max(2, len(fields))
    weight = {word: max(0.0, 1 - log(count) / log(many)) for word, count in counts.items()}
    steps = tuple(Known(*({word: weight[word] for word in sorted(field)} for field in found)) for found in fields)
    rare = {word for word, count in counts.items() if count <= max(1.0, _RARE * many)}
    said = {word for step in sheet.steps() for texts in _texts(step) for word in _spoken(*texts)}
    names = {step.id: _names(step, rare) for step in sheet.steps()}
    return Vocabulary(steps, names, frozenset(word for word in said if word not in _SMALL and _stem(word) in rare))


def _texts(step: Step) -> tuple[list[str], list[str], list[str]]:
    found = [*step.finding, *(" ".join(part for part in run if isinstance(part, str)) for run in step.listened)]
    doing = [step.action, step.expected, *(one.text for one in step.criteria), *step.equipment]
    return [step.title], found, doing


def _fields(step: Step) -> tuple[set[str], set[str], set[str]]:
    title, found, doing = (set(stems(_spoken(*texts))) for texts in _texts(step))
    return title, found, doing


def _spoken(*texts: str) -> list[str]:
    said: list[str] = []
    for text in texts:
        for word in re.split(r"[\s/()]+", text):
            said += spoken_words(word, said[-1] if said else "")
    return said


def stems(words: Sequence[str]) -> Iterator[str]:
    """Yield what words have in common with others of their family, and the nerves that are told by number.

    Examples
    --------
    >>> list(stems("cranial nerves three and four test the pupils".split()))
    ['cranial', 'nerve 3', 'nerve 4', 'test', 'pupil']
    """
    nerves_until = -1
    for place, word in enumerate(words):
        if word in _NERVE:
            nerves_until = place + 6
        elif word in _CARDINAL and place <= nerves_until:
            yield f"nerve {_CARDINAL[word]}"
        elif word not in _SMALL and word not in SIDES and word not in NUMBERS and len(word) > 2:
            yield _stem(word)
        if place <= nerves_until and word not in {*_CARDINAL, *_NERVE, "and", "or"}:
            nerves_until = -1


_CARDINALS = "one two three four five six seven eight nine ten eleven twelve".split()  # noqa: SIM905 - reads better
_ROMANS = "ii iii iv v vi vii viii ix x xi xii".split()  # noqa: SIM905
_CARDINAL: Final = {
    **{word: number for number, word in enumerate(_CARDINALS, 1)},
    **{word: number for number, word in enumerate(_ROMANS, 2)},
}


def _stem(word: str) -> str:
    for ending in ("ing", "ed", "es", "s", "ly", "e", "y"):
        if word.endswith(ending) and len(word) - len(ending) >= 3 and not word.endswith("ss"):
            return word[: -len(ending)]
    return word


def _names(step: Step, rare: Iterable[str]) -> tuple[Run, ...]:
    """Return the title without the part and the note beside it, and each long word of it that few steps have."""
    title = step.title.rpartition(": ")[2].partition(" (")[0]
    words = _spoken(title)
    alone = [word for word in words if len(word) >= _LONG and word not in _SMALL and _stem(word) in set(rare)]
    return tuple(dict.fromkeys([tuple(words), *((word,) for word in alone)]))
