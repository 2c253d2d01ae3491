"""From words as they are written down to words as they are said: numbers, roman numerals, plus signs, hyphens."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from review.domain.transcript import Word

UNITS: Final = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"),
    *("thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
TENS: Final = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
TENTHS: Final = tuple(word.removesuffix("y") + "ieth" for word in TENS[2:])
ORDINALS: Final = (
    *("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh"),
    *("twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth"),
)

_ROMAN: Final = dict(
    zip(("i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii"), UNITS[1:], strict=False)
)
_NERVE: Final = {"nerve", "nerves", "n"}
_PIECE = re.compile(r"\d+(?:st|nd|rd|th)\b|\d+|[a-z']+")
_ENDS = re.compile(r"[.,;:!?]['\")]*$")


@dataclass(frozen=True, slots=True)
class Token:
    """One spoken word: small letters, when, how sure, and whether a clause ends behind it."""

    text: str
    onset_s: float
    offset_s: float
    confidence: float
    ends: bool


def number_words(number: int) -> tuple[str, ...]:
    """Return how a number is said.

    Examples
    --------
    >>> number_words(20), number_words(45), number_words(120)
    (('twenty',), ('forty', 'five'), ('one', 'two', 'zero'))
    """
    if number < len(UNITS):
        return (UNITS[number],)
    if number < 100:
        return (TENS[number // 10], *((UNITS[number % 10],) if number % 10 else ()))
    return tuple(UNITS[int(digit)] for digit in str(number))


def _ordinal_words(number: int) -> tuple[str, ...]:
    """Return how a place in a row from 1 to 99 is said."""
    if number <= len(ORDINALS):
        return (ORDINALS[number - 1],)
    tens = TENS[number // 10]
    return (tens, ORDINALS[number % 10 - 1]) if number % 10 else (TENTHS[number // 10 - 2],)


def spoken_words(text: str, before: str = "") -> tuple[str, ...]:
    """Return a written word as spoken ones.

    Parameters
    ----------
    text
        Such as "2+", "CN", "VII", "12-ounce" or "Romberg,".
    before
        The spoken word before it: after "nerve" or "CN" a roman numeral is a number.

    Examples
    --------
    >>> spoken_words("2+"), spoken_words("VII,", "nerve"), spoken_words("CN"), spoken_words("eye-closure")
    (('two', 'plus'), ('seven',), ('c', 'n'), ('eye', 'closure'))
    >>> spoken_words("5th"), spoken_words("20th"), spoken_words("21st")
    (('fifth',), ('twentieth',), ('twenty', 'first'))
    """
    plain = text.lower().replace("\u2019", "'").replace("+", " plus ").replace("%", " percent ")
    said: list[str] = []
    for piece in _PIECE.findall(plain):
        said += _piece(piece.strip("'"), said[-1] if said else before)
    return tuple(said)


def _piece(piece: str, before: str) -> Iterable[str]:
    if piece in ("cn", "cns"):
        return ("c", "n")
    if piece == "alright":
        return ("all", "right")
    if before in _NERVE and piece in _ROMAN:
        return (_ROMAN[piece],)
    digits = re.match(r"\d+", piece)
    if digits is None:
        return (piece,) if piece else ()
    number = int(digits.group()[:4])
    if len(digits.group()) < len(piece) and 1 <= number < 100:
        return _ordinal_words(number)
    return number_words(number)


def tokens(words: Iterable[Word]) -> Iterator[Token]:
    """Yield the spoken words of a transcript; a written word that is said as several shares its time among them."""
    before = ""
    for word in words:
        said = spoken_words(word.text, before)
        length = (word.offset_s - word.onset_s) / max(1, len(said))
        for place, text in enumerate(said):
            onset = word.onset_s + place * length
            ends = place == len(said) - 1 and _ENDS.search(word.text) is not None
            yield Token(text, onset, onset + length, word.confidence, ends)
            before = text
