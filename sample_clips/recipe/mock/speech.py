"""What people say that is not quite what they meant to say: fillers, words begun twice, slips."""

from __future__ import annotations

import re
from random import Random
from typing import Final

from .plan import OPPOSITE

FILLERS: Final = ("um", "uh", "so", "okay", "alright", "let me see", "well", "right then")
INSIDE: Final = ("um", "uh", "like", "you know")
SORRY: Final = ("sorry", "no", "no wait", "I mean", "uh, sorry")

ASIDES: Final = (
    "good",
    "perfect",
    "very good",
    "thank you",
    "where was I",
    "what comes next",
    "you are doing great",
    "just a second",
    "is the camera still running",
)

_NUMBERS: Final = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def words_of(text: str) -> list[str]:
    """Return the words of a text in lower case, without punctuation."""
    return re.findall(r"[a-z]+(?:'[a-z]+)?", text.lower())


def with_filler(text: str, random: Random, inside: bool = True) -> str:
    """Return `text` with a filler before it or, where allowed, between two of its words."""
    words = text.split()
    if inside and len(words) > 3 and random.random() < 0.3:
        place = random.randrange(1, len(words))
        words[place:place] = [random.choice(INSIDE) + ","]
        words[place - 1] = words[place - 1].rstrip(",.") + ","
        return " ".join(words)
    return f"{random.choice(FILLERS)}, {text}"


def restarted(text: str, random: Random) -> str:
    """Return `text` with its first one or two words said twice; a single word stays."""
    words = text.split()
    if len(words) < 2:
        return text
    count = random.randint(1, min(2, len(words) - 1))
    begun = " ".join(words[:count]).rstrip(",.")
    return f"{begun}, {text}"


def slipped_side(text: str, side: str, random: Random) -> str:
    """Return `text`, which names `side`, with the other side said first and corrected."""
    return re.sub(rf"\b{side}\b", f"{OPPOSITE[side]}, {random.choice(SORRY)}, {side}", text, count=1)


def slipped_number(text: str, random: Random) -> str:
    """Return `text` with its first number said wrong by one and corrected; without a number it stays."""
    found = re.search(rf"\b({'|'.join(_NUMBERS)})\b", text)
    if not found:
        return text
    place = _NUMBERS.index(found[1])
    wrong = _NUMBERS[place + 1 if place == 0 or (place + 1 < len(_NUMBERS) and random.random() < 0.5) else place - 1]
    return f"{text[: found.start()]}{wrong}, {random.choice(SORRY)}, {text[found.start() :]}"


def wrong_side(text: str, side: str) -> str:
    """Return `text`, which names `side`, with the other side in its place."""
    return re.sub(rf"\b{side}\b", OPPOSITE[side], text)
