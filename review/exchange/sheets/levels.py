"""Grade scales as they are written into tables: 3/2/1, S / U, 1 / 0.75 / 0.5 / 0, legends."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from review.domain.checklist_scale import FEWEST_LEVELS, MOST_LEVELS
from review.exchange.sheets.names import slug, unlike

_BEST: Final = (
    *("s", "sat", "satisfactory", "p", "pass", "passed", "y", "yes", "done", "met", "full", "full credit", "complete"),
    *("completed", "competent", "correct", "correctly done", "performed", "excellent", "independent", "achieved", "c"),
    *("demonstrated", "✓", "all", "mastered"),
)
_BETWEEN: Final = (
    *("ni", "needs improvement", "needs work", "needs practice", "partly", "partial", "partial credit", "partially"),
    *(
        "partially met",
        "partly done",
        "with cues",
        "with prompts",
        "prompted",
        "assisted",
        "good",
        "fair",
        "developing",
    ),
    *("some", "half", "incomplete attempt", "partially done", "with help"),
)
_WORST: Final = (
    *("u", "uns", "unsat", "unsatisfactory", "f", "fail", "failed", "n", "no", "not done", "not met", "none", "nc"),
    *("incomplete", "not competent", "not yet competent", "nyc", "incorrect", "not performed", "not yet", "poor"),
    *("dependent", "not achieved", "not demonstrated", "missed", "no credit", "omitted", "✗", "unable"),
)
_HIDDEN: Final = ("na", "n/a", "not assessed", "not assessable", "not observed", "n/o", "not applicable", "not seen")
_KNOWN: Final = frozenset((*_BEST, *_BETWEEN, *_WORST))
_NUMBER: Final = re.compile(r"\d{1,3}(?:[.,]\d{1,3})?")
_NAMED: Final = re.compile(
    r"\b(?P<mark>\d{1,3}(?:[.,]\d+)?|[NnOo]/[AaOo]|[A-Za-z]{1,4})\s*[=:\u2013-]\s*(?P<word>[^;,|/\n=]{2,60})"
)
_WORTH: Final = re.compile(
    r"(?P<word>[^\d(]{1,40}?)\s*\(?\s*(?P<points>\d{1,3}(?:[.,]\d+)?)\s*(?:points?|pts?\.?)?\s*\)?"
)
_BOXES: Final = re.compile(r"[☐☑☒□◯○●_\[\](){}]|\.{2,}")


@dataclass(frozen=True, slots=True)
class Level:
    """A level as an author sees it: its word, what it is worth, and whether that counts in points of the scale.

    `worth` is a share (0 to 1) of a step's points where `counted` is false.
    """

    word: str
    worth: float
    counted: bool = False


def number_of(text: str) -> float | None:
    """Read a number with a decimal point or comma; None if it is none.

    Examples
    --------
    >>> number_of("0,75"), number_of(" 2 "), number_of("½"), number_of("two")
    (0.75, 2.0, 0.5, None)
    """
    text = {"½": "0.5", "¼": "0.25", "¾": "0.75"}.get(text.strip(), text.strip())
    return float(text.replace(",", ".")) if re.fullmatch(r"\d{1,6}(?:[.,]\d{1,6})?", text) else None


def mark_of(text: str) -> tuple[str, float | None] | None:
    """Read one level: its word and its worth in points, None where it names none; None if the text is no level.

    Examples
    --------
    >>> mark_of("U"), mark_of("0,75"), mark_of("Full (2)"), mark_of("3 = without help"), mark_of("Observe the gait")
    (('U', None), ('0,75', 0.75), ('Full', 2.0), ('without help', 3.0), None)
    """
    text = " ".join(_BOXES.sub(" ", text).split()) if _BOXES.sub("", text).strip() in text else text.strip()
    whole = text.strip()
    if whole.lower() in _KNOWN:
        return whole, None
    if _NUMBER.fullmatch(whole):
        return whole, number_of(whole)
    named = _NAMED.fullmatch(whole)
    if named and (number_of(named["mark"]) is not None or named["mark"].lower() in _KNOWN):
        return named["word"].strip(), number_of(named["mark"])
    worth = _WORTH.fullmatch(whole)
    if worth and worth["word"].strip().lower() in _KNOWN:
        return worth["word"].strip(), number_of(worth["points"])
    return None


def is_hidden(text: str) -> bool:
    """Tell whether a text is a word for *not assessable*."""
    return " ".join(_BOXES.sub(" ", text).lower().split()) in _HIDDEN or text.strip().lower() in _HIDDEN


def listed(text: str) -> tuple[str, ...]:
    """Return the levels that a cell lists, as written; empty if it lists none.

    Examples
    --------
    >>> listed("3/2/1"), listed("1 / 0,75 / 0,5 / 0"), listed("☐ S  ☐ U"), listed("Score (2, 1, 0)"), listed("2 points")
    (('3', '2', '1'), ('1', '0,75', '0,5', '0'), ('S', 'U'), ('2', '1', '0'), ())
    """
    inner = re.search(r"[(\[]([^)\]]+)[)\]]", text)
    tail = re.search(r"[:\s]([^:\s]+(?:\s*[/|]\s*\S+)+)\s*$", text)
    for part in (text, inner[1] if inner else "", tail[1] if tail else ""):
        found = _split(part)
        if found:
            return found
    return ()


def _split(text: str) -> tuple[str, ...]:
    bare = _BOXES.sub(" ", text)
    for pattern in (r"[/|]", r";", r"\s+", r",\s*"):
        parts = tuple(part.strip() for part in re.split(pattern, bare) if part.strip())
        parts = tuple(part for part in parts if not is_hidden(part))
        if FEWEST_LEVELS <= len(parts) <= MOST_LEVELS and _alike(parts):
            return parts
    return ()


def _alike(parts: Sequence[str]) -> bool:
    """Tell whether all parts are levels of one scale: all numbers that differ, or all known words that differ."""
    if len({part.lower() for part in parts}) < len(parts):
        return False
    numbers = [number_of(part) for part in parts]
    if None not in numbers:
        known = [number for number in numbers if number is not None]
        return known in (sorted(known), sorted(known, reverse=True))
    return all(part.lower() in _KNOWN for part in parts)


def legend(text: str) -> dict[str, str]:
    """Return what a legend says of marks, by the mark in small letters; empty if the text is no legend.

    Examples
    --------
    >>> legend("S = satisfactory, U = unsatisfactory")
    {'s': 'satisfactory', 'u': 'unsatisfactory'}
    >>> legend("Grading: 3 - without help; 2 - with a hint; 1 - not done")
    {'3': 'without help', '2': 'with a hint', '1': 'not done'}
    >>> legend("Note: eyes closed")
    {}
    """
    found = {one["mark"].lower(): one["word"].strip(" .") for one in _NAMED.finditer(text) if _is_mark(one["mark"])}
    return found if len(found) >= FEWEST_LEVELS else {}


def _is_mark(text: str) -> bool:
    return number_of(text) is not None or text.lower() in _KNOWN or is_hidden(text)


def scale_of(marks: Sequence[tuple[str, float | None]], words: dict[str, str]) -> tuple[Level, ...]:
    """Make levels, best first, of what `mark_of` read and what a legend says of it.

    Numbers that reach above 1 count in points, numbers up to 1 are shares. Words without numbers share the way from 1
    to 0 evenly; where a bad one comes first they are turned round.
    """
    if not marks:
        return ()
    if all(worth is not None for _, worth in marks):
        worths = sorted(((worth or 0.0, word) for word, worth in marks), key=lambda pair: -pair[0])
        counted = worths[0][0] != 1
        return tuple(Level(words.get(word.lower(), word), worth, counted) for worth, word in worths)
    names = [word for word, _ in marks]
    if names[0].lower() in _WORST and names[-1].lower() not in _WORST:
        names.reverse()
    step = 1 / max(1, len(names) - 1)
    return tuple(Level(words.get(name.lower(), name), round(1 - at * step, 4)) for at, name in enumerate(names))


def scale_values(name: str, levels: Sequence[Level], hidden: str | None) -> dict[str, Any]:
    """Return levels as the table `[scale]` of a checklist file."""
    keys: list[str] = []
    entries = []
    for level in levels:
        keys.append(unlike(slug(level.word, "level"), keys))
        entries.append({"key": keys[-1], "word": level.word, "points" if level.counted else "share": level.worth})
    return {"name": name, "levels": entries, **({"not_assessable": hidden} if hidden else {})}
