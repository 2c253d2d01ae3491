from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from review.store.home import find_home
from review.store.repository import Repository, repository
from tests import forms
from tests.store.conftest import filled

__all__ = ["filled"]


@pytest.fixture
def repo(tmp_path: Path, filled: Path) -> Iterator[Repository]:
    """Open a transaction on a database with people, a sheet and a recording."""
    home = find_home(tmp_path / "home")
    forms.copy_rows(filled.parent, home.root)
    with repository(home) as repo:
        yield repo
