"""Secrets that open a door: invitations and the cookies of logins. Only their digests are ever kept."""

from __future__ import annotations

import hashlib
import re
import secrets
from typing import Final

_BYTES: Final = 32
"""256 bits; at least 64 are asked of a session's name, 112 of a secret that is looked up (NIST SP 800-63B-4, 3.1.2)."""

_FORM: Final = re.compile(r"[A-Za-z0-9_-]{43}")


def fresh() -> str:
    """Make a secret of 256 random bits: 43 letters, digits, hyphens and underscores."""
    return secrets.token_urlsafe(_BYTES)


def digest(secret: str) -> str | None:
    """Return the SHA-256 of a secret in hexadecimal digits, or None of what cannot be one.

    A random secret of 256 bits cannot be guessed, so that a fast hash without salt is enough for it.

    Examples
    --------
    >>> digest("A" * 43)[:8]
    '0f007385'
    >>> digest("short") is None
    True
    """
    return hashlib.sha256(secret.encode()).hexdigest() if _FORM.fullmatch(secret) else None
