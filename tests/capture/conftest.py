"""Films and facts shared by the tests of capture."""

from pathlib import Path

import pytest

import sample_clips


@pytest.fixture(scope="session")
def clip() -> dict[str, Path]:
    """Paths of the rendered sample clips by name."""
    folder = Path(sample_clips.__file__).parent
    return {name: folder / f"{name}.mp4" for name in ("face", "knee", "romberg")}
