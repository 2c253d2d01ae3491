"""What makes tests with many passwords quick."""

from __future__ import annotations

from functools import cache

import pytest
from argon2 import PasswordHasher
from argon2.profiles import CHEAPEST

from review.identity import password


def quick_passwords(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have passwords hashed by Argon2id with the least memory, and all else as it is."""
    monkeypatch.setattr(password, "_hasher", cache(lambda: PasswordHasher.from_parameters(CHEAPEST)))
    monkeypatch.setattr(password, "_nobodys", cache(lambda: password.kept("nobody's")))
