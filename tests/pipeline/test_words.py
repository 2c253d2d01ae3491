"""What is said in a film is written down in units of work, on the film's clock, and goes with the film."""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any

import pytest

from review.actions.erasing import erase
from review.actions.listening import erase_words, leave_words_out, listen, listening_of
from review.actions.recordings import add, start_analysis
from review.checklists import shipped
from review.domain.checklist_file import read_checklist
from review.domain.errors import ModelRefused
from review.domain.transcript import Listening, Transcript
from review.pipeline import dispatch
from review.pipeline.desk import Desk
from review.pipeline.dispatch import Dispatcher
from review.pipeline.listening import ListeningOrder
from review.pipeline.orders import work
from review.pipeline.spoken import hints
from review.store.home import Home
from review.store.repository import reading
from review.store.trackstore import TrackStore
from review.store.words import WordStore
from tests.homes import learners_home
from tests.speech.spoken import spoken_film


@pytest.fixture(autouse=True)
def words_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """Compute nothing of what was seen: that is tested elsewhere."""
    monkeypatch.setattr(dispatch, "film_values", lambda tracks, recording_id: ())
    monkeypatch.setattr(dispatch, "look", lambda home, recording_id, sheet, values: None)


class _Faltering(ThreadPoolExecutor):
    """Loses its workers the first time that a unit of words is begun, and notes all units that were finished."""

    def __init__(self, falters: bool) -> None:
        super().__init__(1)
        self.falters = falters
        self.units: list[str] = []

    def submit(self, work: Any, /, *args: Any, **more: Any) -> Future[Any]:
        key = args[0].chunk.key
        if self.falters and key.startswith("words"):
            self.falters = False
            lost: Future[Any] = Future()
            lost.set_exception(BrokenProcessPool("gone"))
            return lost
        self.units.append(key)
        return super().submit(work, *args, **more)


def _analysed(home: Home, falters: bool = False) -> list[str]:
    with _Faltering(falters) as pool:
        Dispatcher(home, executor=pool).run()
    return pool.units


def _near(words: Transcript, text: str) -> float:
    return next(word.onset_s for word in words if text in word.text.lower())


def test_all_is_listened_to_before_anything_is_looked_at(tmp_path: Path) -> None:
    """So it is soon told where steps seem to lie; nothing is looked at closely before the first look."""
    home, learner = learners_home(tmp_path / "home")
    recording = add(home, learner, spoken_film(tmp_path / "said.mp4", at_s=30.0, seconds=48.0))
    desk = Desk(home, recording)
    with reading(home) as repo:
        desk.told((), repo.sheet_of(recording), (), Listening())
    sound = desk.next(())
    assert sound is not None
    assert desk.next((sound.key,)) is not None
    assert desk.next((sound.key,), small=True) is None
    desk.keep(sound, work(desk.order(sound)))
    waiting = [chunk.key for chunk in desk.waiting()]
    assert [key.partition(":")[0] for key in waiting[:3]] == ["words", "words", "glance"]
    taken = [desk.next(waiting[:done]) for done in range(4)]
    assert [chunk and chunk.key for chunk in taken] == [*waiting[:3], None]
    spared = [desk.next(waiting[:done], small=True) for done in range(3)]
    assert [chunk and chunk.key for chunk in spared] == [*waiting[:2], None]
    assert desk.listens()


@pytest.mark.parametrize("late_s", [0.0, 2.4], ids=["on time", "a late track"])
def test_words_come_with_their_times_on_the_film_s_clock(tmp_path: Path, late_s: float) -> None:
    """The voice begins at 30 s; "pupils" lies there, and "right" 5 s later, whenever the sound track begins."""
    home, learner = learners_home(tmp_path / "home")
    recording = add(home, learner, spoken_film(tmp_path / "said.mp4", at_s=30.0, seconds=48.0, late_s=late_s))
    units = _analysed(home, falters=True)
    words = WordStore(home, recording.id).transcript()
    assert words is not None
    assert sum(unit.startswith("words") for unit in units) == 2
    assert _near(words, "equal") == pytest.approx(30.9, abs=0.4)
    assert _near(words, "right") == pytest.approx(34.9, abs=0.4)
    assert min(word.onset_s for word in words) > 29.5
    assert all(0 < word.confidence <= 1 for word in words)
    again = WordStore(home, recording.id).again()
    assert _near(again, "romberg") == pytest.approx(32.0, abs=0.8)
    assert min(word.onset_s for word in again) > 29.5
    assert (home.tracks / f"{recording.id}.words" / "first_pass.json").exists(), "proposals are made of the words alone"
    start_analysis(home, learner, recording.id)
    assert _analysed(home) == []


def test_words_can_be_left_out_and_erased(tmp_path: Path) -> None:
    """Off: none are made. On: they are. Erased: none are there, and none are made until somebody says so."""
    home, learner = learners_home(tmp_path / "home")
    leave_words_out(home)
    recording = add(home, learner, spoken_film(tmp_path / "said.mp4", at_s=1.0, seconds=9.0))
    store = WordStore(home, recording.id)
    assert not any(unit.startswith("words") for unit in _analysed(home))
    assert store.transcript() is None
    for _ in range(2):
        listen(home)
        start_analysis(home, learner, recording.id)
        assert [unit[:5] for unit in _analysed(home)] == ["words"]
        assert store.transcript()
        leave_words_out(home)
        assert erase_words(home) == 1
        assert store.transcript() is None
    assert listening_of(home) == Listening(on=False)


def test_words_are_erased_with_their_film(tmp_path: Path) -> None:
    """Nothing that was said outlives the recording."""
    home, learner = learners_home(tmp_path / "home")
    recording = add(home, learner, spoken_film(tmp_path / "said.mp4", at_s=1.0, seconds=9.0))
    _analysed(home)
    assert WordStore(home, recording.id).transcript()
    erase(home, learner, recording.id)
    assert not any(path.name.startswith(recording.id) for path in home.tracks.iterdir())


def test_another_model_listens_anew(tmp_path: Path) -> None:
    """A folder that holds no model is refused and the setting stays; units of another model are others."""
    home, learner = learners_home(tmp_path / "home")
    with pytest.raises(ModelRefused, match="holds no voice model"):
        listen(home, tmp_path)
    assert listening_of(home) == Listening()
    recording = add(home, learner, spoken_film(tmp_path / "said.mp4", at_s=1.0, seconds=9.0))
    _analysed(home)
    assert {key for key in TrackStore(home, recording.id).done() if key.startswith("words")} == {"words:0-9"}


def test_nobody_listens_to_a_voice_that_is_slowed_down(tmp_path: Path) -> None:
    """A film that plays slower than life has no words."""
    home, learner = learners_home(tmp_path / "home")
    film = spoken_film(tmp_path / "slow.mp4", at_s=1.0, seconds=9.0)
    recording = add(home, learner, film, slow_motion=4.0)
    assert not any(unit.startswith("words") for unit in _analysed(home))
    assert WordStore(home, recording.id).transcript() is None


def test_hints_are_the_shortest_phrase_of_each_step() -> None:
    """Slots are filled: with what is expected, else with something usual; what two steps share is told once."""
    sheet = read_checklist(shipped("neuro_screening"))
    told = hints(sheet).split(". ")
    assert len(told) == len(set(told)) > 30
    assert {"no nystagmus", "nostril is open"} <= set(told)
    assert any(one.startswith("biceps") and "two plus" in one for one in told)
    assert not any(sign in hints(sheet) for sign in "{}[]()")


def test_who_listens_is_told_what_the_sheet_listens_for(tmp_path: Path) -> None:
    """The hints go with the order."""
    home, learner = learners_home(tmp_path / "home")
    recording = add(home, learner, spoken_film(tmp_path / "said.mp4", at_s=1.0, seconds=9.0))
    desk = Desk(home, recording)
    with reading(home) as repo:
        sheet = repo.sheet_of(recording)
        desk.told((), sheet, (), Listening())
    sound = desk.next(())
    assert sound is not None
    desk.keep(sound, work(desk.order(sound)))
    chunk = desk.next(())
    assert chunk is not None
    order = desk.order(chunk)
    assert isinstance(order, ListeningOrder)
    assert order.hints == hints(sheet)
