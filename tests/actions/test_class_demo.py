"""The demo's class: films of their own that play, grades that hang together, and going on after a break."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from review.actions import class_demo, class_story
from review.actions.class_demo import load_class
from review.actions.class_story import Rater
from review.actions.grades import give
from review.capture.joined import with_note
from review.domain.model import Grade
from review.report.cohort import cohort
from review.store.home import Home, find_home
from review.store.media import load_times
from review.store.repository import reading, repository


def silent(stage: str, share: float) -> None:
    """Tell nobody."""


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """Make a class of three learners with two attempts each, its films made of the shortest clip."""
    home = find_home(tmp_path_factory.mktemp("class") / "home")
    load_class(home, silent, learners=3, attempts=2, clips=("knee",))
    return home


def test_each_attempt_has_a_film_of_its_own_that_plays(small: Home) -> None:
    """Six films with six fingerprints; each decodes, at the times that are kept of its frames."""
    with reading(small) as repo:
        recordings = repo.recordings()
    assert len({one.sha256 for one in recordings}) == 6
    for one in recordings:
        with av.open(str(small.root / one.playback)) as film:
            shown = [float(frame.time) for frame in film.decode(video=0) if frame.time is not None]
        assert shown == pytest.approx(load_times(small, one.sha256).tolist(), abs=1e-4)
        assert one.frames == len(shown)


def test_three_raters_say_something_of_each(small: Home) -> None:
    """Learner, peer and instructor grade every step blind; the newest attempt of every third learner waits."""
    with reading(small) as repo:
        people = {one.id: one.code for one in repo.people()}
        given: dict[tuple[str, int], set[str]] = {}
        for one in repo.recordings():
            who = {people[grade.person_id] for grade in repo.grades(one.id)}
            given[people[one.added_by], one.attempt] = who
            assert len(repo.marks(one.id)) == len(repo.sheet_of(one).titles())
            assert repo.comments(one.id)
    assert given["L-01", 1] == {"L-01", "L-02", "I-02"}
    assert given["L-03", 2] == {"L-03", "L-02"}
    with reading(small) as repo:
        waiting = cohort(small, repo.person("I-02"))["waiting"]
    assert [(one["learner"], one["attempt"]) for one in waiting] == [("L-03", 2)]


def test_going_on_after_a_break_makes_what_is_missing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped in the third attempt, two whole ones are there; the next run makes the others and leaves the two."""
    home = find_home(tmp_path / "home")
    made = iter(range(10))
    whole = class_demo.say

    def stop_at_the_third(*given: object) -> None:
        if next(made) == 2:
            raise KeyboardInterrupt
        whole(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(class_demo, "say", stop_at_the_third)
    with pytest.raises(KeyboardInterrupt):
        load_class(home, silent, learners=2, attempts=2, clips=("knee",))
    with reading(home) as repo:
        first = {one.id for one in repo.recordings()}
        assert len(first) == 2
    monkeypatch.undo()
    load_class(home, silent, learners=2, attempts=2, clips=("knee",))
    load_class(home, silent, learners=2, attempts=2, clips=("knee",))
    with reading(home) as repo:
        recordings = repo.recordings()
        assert first < {one.id for one in recordings}
        assert len(recordings) == 4
        assert all(repo.grades(one.id) for one in recordings)


def test_a_grade_of_the_demo_is_changed_like_any_other(small: Home) -> None:
    """Whoever grades a step again changes the grade that is there: its second revision."""
    with repository(small) as repo:
        learner = repo.person("L-01")
        recording = next(one for one in repo.recordings() if one.added_by == learner.id)
        step, side = next(iter(repo.sheet_of(recording).titles()))
        changed: Grade = give(repo, learner, recording, step, side, "full", confidence=3)
    assert (changed.revision, changed.after_reveal) == (2, True)


def test_raters_hang_together_and_learners_get_better(small: Home) -> None:
    """Two careful raters agree on most steps, a kind one gives more, and the sixth attempt is better than the first."""
    with reading(small) as repo:
        sheet = repo.checklist("neuro_screening")
    shares = {level.key: level.share for level in sheet.scale.worth}

    def total(rater: Rater, learner: int, attempt: int, draw: int) -> tuple[float, list[str]]:
        done = class_story.performance(sheet, learner, attempt)
        given = class_story.graded(done, sheet.scale, rater, [learner, attempt, draw])
        worth = [shares[one.level] or 0.0 for one in given.values() if one.level in shares]
        return float(np.mean(worth)), [one.level for one in given.values()]

    careful, kind = Rater(0.0, 0.25), Rater(0.8, 0.25)
    first, levels = zip(*(total(careful, learner, 1, 0) for learner in range(1, 21)), strict=True)
    other, again = zip(*(total(careful, learner, 1, 1) for learner in range(1, 21)), strict=True)
    kinder, _ = zip(*(total(kind, learner, 1, 2) for learner in range(1, 21)), strict=True)
    sixth, _ = zip(*(total(careful, learner, 6, 0) for learner in range(1, 21)), strict=True)
    alike = [one == two for row, twin in zip(levels, again, strict=True) for one, two in zip(row, twin, strict=True)]
    assert 0.6 < np.mean(alike) < 0.95
    assert np.corrcoef(first, other)[0, 1] > 0.8
    assert np.mean(kinder) > np.mean(first) + 0.05
    assert np.mean(sixth) > np.mean(first) + 0.1


def test_a_note_makes_another_file_of_the_same_film() -> None:
    """The box at the end says its own length, as ISO/IEC 14496-12 has it."""
    assert with_note(b"film", "L-07") == b"film" + (12).to_bytes(4, "big") + b"freeL-07"
