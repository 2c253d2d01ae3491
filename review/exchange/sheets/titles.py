"""What authors write around the title of a step: numbers, stars, points, sides, parts in lines of their own."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from review.exchange.sheets.levels import number_of

NUMBERED: Final = re.compile(
    r"^\s*(?:step\s+|item\s+)?(?P<number>\d{1,3}(?:\.\d{1,2})*)\s*[.):]?(?=\s|$)\s*", re.IGNORECASE
)
LETTERED: Final = re.compile(
    r"^\s*(?:\(?(?P<letter>[a-z]|i{1,3}|iv|vi{0,3})[.)]|\((?P<inner>[a-z])\)|[•◦▪·*\u2013-](?=\s))\s*"
)
_SECTION_WORD: Final = re.compile(
    r"^\s*(?:section|part|station|domain|area)\s+(?:[ivxlc]+|\d+|[a-z])\s*[.):\u2013-]?\s+", re.IGNORECASE
)
_ROMAN_OR_LETTER: Final = re.compile(r"^\s*(?:[IVXLC]+[.)]|[A-Z][.)])\s+")
_POINTS: Final = re.compile(
    r"\s*[\[(]?\s*(?:(?:_{1,}\s*)?/\s*(?P<of>\d{1,3}(?:[.,]\d+)?)|(?P<points>\d{1,3}(?:[.,]\d+)?)\s*(?:points?|pts?|marks?)\b\.?)"
    r"\s*[\])]?\s*$",
    re.IGNORECASE,
)
_SIDES: Final = re.compile(
    r"\s*[\[(]\s*(?:r(?:ight)?\s*(?:/|&|and|\+|,)\s*l(?:eft)?|l(?:eft)?\s*(?:/|&|and|\+|,)\s*r(?:ight)?|both"
    r"(?: sides)?)\s*[\])]\s*",
    re.IGNORECASE,
)
_CRITICAL: Final = re.compile(
    r"^\s*\*{1,3}\s*(?=\S)|\s*\*{1,3}\s*$|\s*[\[(]\s*(?:critical(?:\s+\w+)?|must pass)\s*[\])]\s*", re.I
)
_SIDE_WORDS: Final = {"right": "right", "r": "right", "left": "left", "l": "left"}
_BOTH: Final = ("both", "both sides", "bilateral", "bilaterally", "r/l", "l/r", "b")
_YES: Final = ("x", "✓", "yes", "y", "*", "**", "critical", "true", "1", "must pass", "c")
_NO: Final = ("", "no", "n", "false", "0", "-", "\u2013")


@dataclass(frozen=True, slots=True)
class Title:
    """A title without what was written around it; None and empty where there was nothing."""

    text: str
    number: str = ""
    points: float | None = None
    critical: bool = False
    sides: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    more: tuple[str, ...] = ()


def read_title(text: str) -> Title:
    r"""Take apart a title as it stands in a cell.

    Examples
    --------
    >>> read_title("3. *Patellar reflex (R/L) (2 pts)")
    Title(text='Patellar reflex', number='3', points=2.0, critical=True, sides=('right', 'left'), parts=(), more=())
    >>> gait = read_title("Gait\na. heel to toe\nb. on heels\nWatch closely.")
    >>> gait.text, gait.parts, gait.more
    ('Gait', ('heel to toe', 'on heels'), ('Watch closely.',))
    """
    first, *rest = [line for line in text.replace("\r\n", "\n").split("\n") if line.strip()] or [""]
    parts = tuple(LETTERED.sub("", line).strip() for line in rest if LETTERED.match(line))
    more = tuple(line.strip() for line in rest if not LETTERED.match(line))
    number = NUMBERED.match(first)
    bare = first[number.end() :] if number else first
    bare, critical = _without(_CRITICAL, bare)
    points = _POINTS.search(bare)
    bare = bare[: points.start()] if points else bare
    bare, sides = _without(_SIDES, bare)
    bare, late = _without(_CRITICAL, bare)
    worth = number_of(points["of"] or points["points"]) if points else None
    both = ("right", "left") if sides else ()
    return Title(bare.strip(" \t:"), number["number"] if number else "", worth, critical or late, both, parts, more)


def read_section(text: str) -> str:
    """Return the title of a section without its number, its points and the colon behind it.

    Examples
    --------
    >>> read_section("Section II: Cranial nerves (20 points)"), read_section("B. REFLEXES"), read_section("Vision")
    ('Cranial nerves', 'REFLEXES', 'Vision')
    """
    bare = _ROMAN_OR_LETTER.sub("", _SECTION_WORD.sub("", text, count=1), count=1)
    bare = NUMBERED.sub("", bare, count=1) or bare
    return _POINTS.sub("", bare).strip(" \t:.*") or text.strip()


def numbers_a_section(text: str) -> bool:
    """Tell whether a text begins as the title of a section does: a section's word, a Roman number, a capital."""
    return bool(_SECTION_WORD.match(text) or _ROMAN_OR_LETTER.match(text))


def read_switch(text: str) -> bool | None:
    """Read a yes or a no, as tables have them; None if it is neither."""
    said = text.strip().lower()
    return True if said in _YES else False if said in _NO else None


def read_sides(text: str) -> tuple[str, ...] | None:
    """Read sides in their order; None if the text names none.

    Examples
    --------
    >>> read_sides("R, L"), read_sides("both"), read_sides("left"), read_sides(""), read_sides("above")
    (('right', 'left'), ('right', 'left'), ('left',), (), None)
    """
    said = text.strip().lower()
    if said in _BOTH:
        return ("right", "left")
    words = [word for word in re.split(r"[\s,;/&+]+|\band\b", said) if word]
    sides = tuple(_SIDE_WORDS[word] for word in words if word in _SIDE_WORDS)
    return sides if len(sides) == len(words) and len(set(sides)) == len(sides) else None


def read_points(text: str) -> float | None:
    """Read points as a column of them has it: 2, "2 pts", "/2", "__/2", "0-2"; None if there are none.

    Examples
    --------
    >>> read_points("___/2"), read_points("0-2"), read_points("1,5"), read_points("(3 points)"), read_points("x")
    (2.0, 2.0, 1.5, 3.0, None)
    """
    plain = number_of(text)
    if plain is not None:
        return plain
    span = re.fullmatch(r"\s*0\s*[-\u2013]\s*(\d{1,3})\s*", text)
    if span:
        return float(span[1])
    found = _POINTS.fullmatch(f" {text.strip()}")
    return number_of(found["of"] or found["points"]) if found else None


def _without(pattern: re.Pattern[str], text: str) -> tuple[str, bool]:
    found = pattern.sub(" ", text)
    return (" ".join(found.split()) if found != text else text), found != text
