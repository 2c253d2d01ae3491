"""Grades of many recordings at once, and what a person has uncovered anywhere."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from review.domain.model import Uncovering
from review.store.home import find_home
from review.store.repository import repository
from tests.store import made


def test_histories_of_steps_by_recording(tmp_path: Path) -> None:
    """The same revisions as one by one, by recording; grades of a criterion only where they are asked for."""
    with repository(find_home(tmp_path / "home")) as repo:
        made.fill(repo)
        repo.add_recording(made.recording("b1b2b3"))
        repo.put_grade(made.grade("g1"))
        repo.put_grade(made.grade("g1", 2, level="not_yet", after_reveal=True))
        repo.put_grade(made.grade("g2", recording_id="b1b2b3", step_id="romberg", side=None, criterion_id="guard"))
        repo.put_grade(made.grade("g3", recording_id="b1b2b3", step_id="romberg", side=None))
        found = repo.gradings().of(["a1b2c3", "b1b2b3", "none"])
        assert [tuple(one.grade for one in history) for history in found["a1b2c3"]] == [repo.grade_history("g1")]
        assert [history[-1].id for history in found["b1b2b3"]] == ["g3"]
        assert found["none"] == []
        whole = repo.gradings().of(["b1b2b3"], criteria=True)
        assert [history[-1].id for history in whole["b1b2b3"]] == ["g2", "g3"]
        assert repo.gradings().of(["a1b2c3"], by={made.PEER.id}) == {"a1b2c3": []}


def test_uncoverings_of_all_recordings(tmp_path: Path) -> None:
    """All that one person has uncovered, and nothing of others."""
    with repository(find_home(tmp_path / "home")) as repo:
        made.fill(repo)
        repo.add_recording(made.recording("b1b2b3"))
        one = Uncovering("a1b2c3", made.PEER.id, "knee", "left", made.WHEN)
        whole = Uncovering("b1b2b3", made.PEER.id, None, None, made.WHEN)
        for noted in (one, whole, replace(one, person_id=made.LEARNER.id)):
            repo.uncoverings().note(noted)
        assert repo.uncoverings().by(made.PEER.id) == (one, whole)
        assert repo.uncoverings().by(made.PEER.id, {"b1b2b3", "none"}) == (whole,)
        many = {"b1b2b3", *(f"film {number}" for number in range(200))}
        assert repo.uncoverings().by(made.PEER.id, many) == (whole,)
