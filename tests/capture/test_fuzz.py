"""Two thousand spoilt films: each is taken, or refused with a sentence of the list; nothing breaks, hangs or stays."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from review.capture.refusals import Refusal
from tests.fuzz import mutated, run, seeds

COUNT = 2000
ENDED = {Refusal.TOOK_TOO_LONG, Refusal.READER_DIED, Refusal.TOO_MUCH_MEMORY, Refusal.DECODERS_GAVE_UP}


@pytest.fixture(scope="module")
def films(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Write the films that are spoilt."""
    return seeds(tmp_path_factory.mktemp("seeds"))


def test_spoilt_films_are_taken_or_refused_and_leave_nothing(films: list[Path], tmp_path: Path) -> None:
    """The facts of what is taken are possible ones, and every refusal is one that was foreseen."""
    outcomes = list(run(films, tmp_path, COUNT))
    assert [outcome for outcome in outcomes if outcome.faults] == []
    assert list(tmp_path.iterdir()) == []
    answers = Counter(outcome.answer for outcome in outcomes)
    assert answers["taken"] > COUNT / 4
    assert answers["taken in part"] < COUNT / 200
    assert len(set(answers) & {reason.name for reason in Refusal}) >= 6
    assert sum(answers[reason.name] for reason in ENDED) < COUNT / 50


def test_the_films_are_the_same_in_every_run(films: list[Path], tmp_path: Path) -> None:
    """What is found wrong with a spoilt film today is found with it tomorrow."""
    assert [film.read_bytes() for film in seeds(tmp_path)] == [film.read_bytes() for film in films]


def test_no_film_is_spoilt_in_vain(films: list[Path]) -> None:
    """Mutations change the film, in its head as well as behind it, and are the same again from the same numbers."""
    whole = films[0].read_bytes()
    spoilt = [mutated(whole, whole, np.random.default_rng([1, number])) for number in range(200)]
    assert spoilt == [mutated(whole, whole, np.random.default_rng([1, number])) for number in range(200)]
    firsts = [
        next((at for at, (a, b) in enumerate(zip(film, whole, strict=False)) if a != b), len(film)) for film in spoilt
    ]
    assert sum(film != whole for film in spoilt) > 190
    assert min(firsts) < 100
    assert max(firsts) > len(whole) / 2


def _first_change(film: bytes, whole: bytes) -> int:
    same = (a == b for a, b in zip(film, whole, strict=False))
    return next((at for at, alike in enumerate(same) if not alike), len(film))
