"""Names of films by what is in them: the SHA-256 of a film as a URI.

References
----------
RFC 6920, Naming Things with Hashes, section 3 (the form ``ni:///sha-256;...``) and section 8.1 (its example).
"""

from __future__ import annotations

import base64
import re
from typing import Final

_PREFIX: Final = "ni:///sha-256;"
_NAME: Final = re.compile(re.escape(_PREFIX) + r"([A-Za-z0-9_-]{43})(?:\?.*)?", re.ASCII)


def film_uri(sha256: str) -> str:
    """Return the URI of a film.

    Parameters
    ----------
    sha256
        Its SHA-256, 64 hexadecimal digits.
    """
    return _PREFIX + base64.urlsafe_b64encode(bytes.fromhex(sha256)).decode().rstrip("=")


def film_sha256(uri: str) -> str | None:
    """Return the SHA-256 that a URI of `film_uri`'s form names, as hexadecimal digits; None for any other text."""
    found = _NAME.fullmatch(uri)
    return None if found is None else base64.urlsafe_b64decode(found[1] + "=").hex()
