"""What the first pass has learned of attempts whose steps were known: weights, and how often it is right.

The table `learned.toml` beside this module is written by ``python -m tests.benchmarks.first_pass FOLDER --learn``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from importlib.resources import files
from math import exp, log
from types import MappingProxyType
from typing import Final

from review.pipeline.first_pass.seen import STATED

SUREST: Final = 0.99
"""Nothing is proposed with more confidence than this."""

_EDGE: Final = 1e-6


@dataclass(frozen=True)
class Habits:
    """Weights of the evidence, and how the confidence follows from the probability that the model gives.

    Attributes
    ----------
    weights
        By name, see `review.pipeline.first_pass.alignment.NAMES`.
    slope, offset
        Log-odds of being right are ``slope * log-odds of the model + offset`` (Platt 1999, from memory).
    least
        Confidence below which nothing is proposed.
    version
        Changes with any of it.
    """

    weights: Mapping[str, float]
    slope: float
    offset: float
    least: float
    version: str = ""

    def confidence(self, chance: float) -> float:
        """Return the share of proposals that are right among those with this probability.

        Examples
        --------
        >>> Habits({}, 1.0, 0.0, 0.3).confidence(0.8)
        0.8
        """
        inside = min(1 - _EDGE, max(_EDGE, chance))
        share = 1 / (1 + exp(-(self.slope * log(inside / (1 - inside)) + self.offset)))
        return min(SUREST, round(share, 3))


@cache
def learned() -> Habits:
    """Return the packaged habits; what no attempt was learned from keeps the weight that its author gave it."""
    text = (files(__package__) / "learned.toml").read_text("utf-8")
    table = tomllib.loads(text)
    sure = table["confidence"]
    weights = {
        f"{group}.{name}": float(value) for group, part in table["weights"].items() for name, value in part.items()
    }
    version = sha256(text.encode()).hexdigest()[:12]
    return Habits(
        MappingProxyType({**STATED, **weights}),
        float(sure["slope"]),
        float(sure["offset"]),
        float(sure["least"]),
        version,
    )
