"""The address of an attempt as a QR code, for whoever has the printed report and a phone.

References
----------
ISO/IEC 18004:2015: the symbol, and a quiet zone of four modules. RFC 6890, 2.2.2 and 2.2.3: addresses of the machine
itself.
"""

from __future__ import annotations

import io
import ipaddress
from typing import Final
from urllib.parse import urlsplit

QUIET_ZONE: Final = 4
"""Modules left free on each side."""


def is_reachable(address: str) -> bool:
    """Tell whether another machine could reach an address: not where it names this machine alone, or none.

    Examples
    --------
    >>> is_reachable("http://192.168.1.20:8610"), is_reachable("http://127.0.0.1:8610"), is_reachable("http://localhost")
    (True, False, False)
    """
    host = (urlsplit(address).hostname or "localhost").rstrip(".")
    if host == "localhost" or host.endswith(".localhost"):
        return False
    try:
        found = ipaddress.ip_address(host)
    except ValueError:
        return True
    return not (found.is_loopback or found.is_unspecified)


def code_picture(address: str) -> bytes:
    """Return an address as a QR code, an SVG picture; a quarter of its codewords may be lost (level Q)."""
    import segno

    paper = io.BytesIO()
    segno.make_qr(address, error="q").save(paper, kind="svg", border=QUIET_ZONE, light="#fff", nl=False)
    return paper.getvalue()
