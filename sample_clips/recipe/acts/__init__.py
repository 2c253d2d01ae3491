"""What is acted: one act per file."""

from __future__ import annotations

from typing import Final

from .crossing import Crossing
from .face import Face
from .knee import Knee
from .romberg import Romberg
from .scene import Scene

ACTS: Final[dict[str, type[Scene]]] = {"romberg": Romberg, "face": Face, "knee": Knee, "crossing": Crossing}
"""Acts by the name of their clip."""
