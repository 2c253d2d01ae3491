"""Passwords: which are accepted, and how they are kept.

References
----------
RFC 9106, section 4: Argon2id with t = 3, p = 4 and 64 MiB of memory, the second recommended option.
NIST SP 800-63B-4 (2025), section 3.1.1.2: at least 15 characters where a password is all there is, at least 64 allowed,
all printing characters and spaces, no rules of composition, no change by the calendar, and a list of common ones that
are refused. The list here holds sentences and rows of 15 characters or more that people think of first, and the words
of the place; its choice is from memory, and shorter common passwords are refused by their length.
"""

from __future__ import annotations

import threading
import unicodedata
from functools import cache
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.profiles import RFC_9106_LOW_MEMORY

from review.domain.errors import EntryRefused

SHORTEST: Final = 15
LONGEST: Final = 256
_LEAST_DIFFERENT: Final = 5
"""Different characters that a password has at least; common practice, no source."""

_COMMON: Final = frozenset(
    {
        "123456789012345",
        "1234567890123456",
        "12345678901234567890",
        "1q2w3e4r5t6y7u8i9o0p",
        "abcdefghijklmno",
        "abcdefghijklmnopqrstuvwxyz",
        "changemechangeme",
        "correcthorsebatterystaple",
        "iloveyouiloveyou",
        "letmeinletmeinletmein",
        "mypasswordismypassword",
        "passwordpassword",
        "password12345678",
        "password123456789",
        "passwordpassword1",
        "qwertyqwertyqwerty",
        "qwertyuiopasdfg",
        "qwertyuiopasdfghjkl",
        "qwertyuiopasdfghjklzxcvbnm",
        "runthroughrunthrough",
        "thisismypassword",
        "welcomewelcome1",
        "welcometorunthrough",
    }
)
"""Common passwords of at least `SHORTEST` characters, without spaces and signs, in small letters."""

_AT_ONCE: Final = threading.BoundedSemaphore(2)
"""Each hashing takes 64 MiB; more than two at a time wait."""


def check_password(password: str, code: str) -> None:
    """Let a password through that may be used by the person with a code.

    Raises
    ------
    EntryRefused
        If it is too short or too long, common, made of few characters, or holds the person's code.
    """
    plain = "".join(sign for sign in normal(password).casefold() if sign.isalnum())
    name = "".join(sign for sign in code.casefold() if sign.isalnum())
    faults = {
        f"it has {len(password)} characters; expected {SHORTEST} to {LONGEST}": not SHORTEST
        <= len(password)
        <= LONGEST,
        "it is one of those that are tried first": plain in _COMMON,
        f"it is made of fewer than {_LEAST_DIFFERENT} different characters": len(set(password)) < _LEAST_DIFFERENT,
        f"it holds the code {code}": bool(name) and name in plain,
    }
    found = [words for words, there in faults.items() if there]
    if found:
        raise EntryRefused(
            f"This password cannot be used: {'; '.join(found)}. Nothing was changed. Four or five words that belong to "
            "no saying make a good one."
        )


def normal(password: str) -> str:
    """Return a password in one form, however the keyboard composed its letters (NFKC, as NIST SP 800-63B advises)."""
    return unicodedata.normalize("NFKC", password)


def kept(password: str) -> str:
    """Return what is kept of a password: Argon2id with a random salt, and its parameters."""
    with _AT_ONCE:
        return _hasher().hash(normal(password))


def fits(password: str, known: str | None) -> bool:
    """Tell whether a password is the kept one; where none is kept, take as long as if there were one."""
    with _AT_ONCE:
        try:
            return _hasher().verify(known or _nobodys(), normal(password)) and known is not None
        except (VerificationError, InvalidHashError):
            return False


def outdated(known: str) -> bool:
    """Tell whether what is kept was made with other parameters than are used now."""
    return _hasher().check_needs_rehash(known)


@cache
def _hasher() -> PasswordHasher:
    return PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)


@cache
def _nobodys() -> str:
    """Return what would be kept of a password that nobody has."""
    return _hasher().hash("a password that nobody has")
