"""Which way of filming the guide gives for which step."""

from __future__ import annotations

from pathlib import Path

import pytest

from review.actions import checklists
from review.domain.errors import NotFound
from review.report.filming import SHOTS, filming_guide, shot_of
from review.store.home import Home, find_home
from review.store.repository import reading, repository


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """Make a home with the shipped checklists."""
    made = find_home(tmp_path_factory.mktemp("guide") / "home")
    with repository(made) as repo:
        checklists.install_shipped(repo)
    return made


@pytest.mark.parametrize("sheet_id", ["neuro_screening", "balance_only"])
def test_every_step_is_filmed_in_exactly_one_way(home: Home, sheet_id: str) -> None:
    """The steps of all shots together are those of the checklist, each once."""
    told = [
        title for shot in filming_guide(home, sheet_id)["shots"] for part in shot["steps"] for title in part["titles"]
    ]
    with reading(home) as repo:
        assert sorted(told) == sorted(step.title for step in repo.checklist(sheet_id).steps())


def test_what_must_be_in_the_picture_is_in_the_shot(home: Home) -> None:
    """A step that needs the feet is filmed whole, one on a tendon from the side, one on the face alone close up."""
    with reading(home) as repo:
        steps = list(repo.checklist("neuro_screening").steps())
    for step in steps:
        shot = next(one for one in SHOTS if one.key == shot_of(step))
        assert {*shot.views} & {*step.view}
        assert ("feet" in step.view) == (shot.key == "whole_body")
        assert (step.view == ("face",)) <= (shot.key == "face")


def test_shots_that_a_checklist_does_not_ask_for_are_left_out(home: Home) -> None:
    """Balance alone needs neither a close-up nor a limb; what holds for every film is always there, and first."""
    shots = filming_guide(home, "balance_only")["shots"]
    assert [shot["key"] for shot in shots] == ["always", "upper_body", "whole_body"]
    assert "Sideways sway (RMS)" in shots[2]["measured"]


def test_unknown_checklist(home: Home) -> None:
    """A checklist that is not there is an error that names those that are."""
    with pytest.raises(NotFound, match="balance_only"):
        filming_guide(home, "balance")


def test_each_shot_has_its_drawing() -> None:
    """There is a drawing for every shot, and for what holds for every film."""
    drawn = {path.stem for path in (Path(__file__).parents[2] / "ui" / "assets").glob("filming_*.svg")}
    assert drawn == {f"filming_{key}" for key in ("always", *(shot.key for shot in SHOTS))}
