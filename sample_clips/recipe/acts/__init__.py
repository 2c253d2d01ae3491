"""What is acted: one act per file."""

from __future__ import annotations

from typing import Final

from .act import Act
from .face import Face
from .knee import Knee
from .romberg import Romberg

ACTS: Final[dict[str, type[Act]]] = {"romberg": Romberg, "face": Face, "knee": Knee}
"""Acts by the name of their clip."""
