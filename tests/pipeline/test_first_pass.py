"""The first pass in parts: words of steps, the order as states, what is seen, and how sure it may be."""

from __future__ import annotations

import numpy as np
import pytest

from review.checklists import shipped
from review.domain.checklist import Checklist
from review.domain.checklist_file import read_checklist
from review.domain.model import Interval
from review.domain.tracks import FOUND, empty_tracks
from review.domain.transcript import Transcript, Word
from review.measures import registry
from review.pipeline.first_pass.alignment import LONGEST, NAMES, fits, told
from review.pipeline.first_pass.evidence import evidence
from review.pipeline.first_pass.habits import SUREST, Habits, learned
from review.pipeline.first_pass.order import State, order_of
from review.pipeline.first_pass.proposing import propose
from review.pipeline.first_pass.seen import CUES, MEASURES, STATED, Seen, cues_seen, wanted_by
from review.pipeline.first_pass.vocabulary import vocabulary
from review.pipeline.values import film_values


@pytest.fixture(scope="module")
def sheet() -> Checklist:
    """Return the screening."""
    return read_checklist(shipped("neuro_screening"))


def said(*lines: tuple[str, float]) -> Transcript:
    """Return lines as words of 0.3 s."""
    return tuple(
        Word(word, at_s + 0.35 * place, at_s + 0.35 * place + 0.3, 0.9)
        for text, at_s in lines
        for place, word in enumerate(text.split())
    )


def test_a_step_is_known_by_its_own_words(sheet: Checklist) -> None:
    """A word of one step alone weighs 1, one of many steps little, and nerves go by their number however written."""
    known = dict(zip((step.id for step in sheet.steps()), vocabulary(sheet).steps, strict=True))
    assert known["reflex_biceps"].name["bicep"] == 1.0
    assert known["reflex_biceps"].name["reflex"] < 0.5
    assert {"nerve 3", "nerve 4", "nerve 6"} <= set(known["cn3_4_6_eye_movements"].name)


def test_the_other_side_follows_a_side_of_the_same_step_only(sheet: Checklist) -> None:
    """Second sides are reached from the first side alone; what comes after a step remembers which step it was."""
    order = order_of(sheet)
    for column in (place for place, state in enumerate(order.states) if state.second and not state.after):
        for row in np.flatnonzero(order.possible[:, column]):
            one, other = order.states[int(row)], order.states[column]
            assert (one.step, one.side) == (other.step, "left" if other.side == "right" else "right")
    after = order.place(State(3, after=True))
    came = [order.states[int(row)] for row in np.flatnonzero(order.possible[:, after])]
    assert came == [State(3)]


def test_every_weight_that_is_used_has_a_name(sheet: Checklist) -> None:
    """What is told of stretches and what has a weight are the same; the packaged table holds nothing else."""
    given = told(evidence(said(("next biceps", 1.0)), sheet, ()), order_of(sheet))
    named = {name for name in NAMES if not name.startswith(("length.", "move."))}
    assert {*given.onset, *given.inside, *given.end} == named
    assert set(learned().weights) <= set(NAMES)
    assert set(STATED) == {name for name in NAMES if name.startswith("inside.seen_")}


def test_scores_add_up_over_the_pieces_of_a_stretch(sheet: Checklist) -> None:
    """A stretch fits as well as its beginning, its pieces, its end and its length together."""
    weights = {"onset.always": 2.0, "inside.always": 3.0, "end.to_partner": 5.0, "length.1.5": 0.0}
    whole = fits(told(evidence(said(("a", 1.0), ("b", 3.0), ("your", 5.0)), sheet, ()), order_of(sheet)), weights)
    doing = next(place for place, state in enumerate(order_of(sheet).states) if not state.after)
    assert whole.lasting.shape[:2] == (3, min(3, LONGEST))
    assert whole.lasting[0, 1, doing] == pytest.approx(2 + 2 * 3)
    assert whole.lasting[0, 2, doing] == pytest.approx(2 + 3 * 3 + 5)


def test_cues_rest_on_events_of_measures_there_are(sheet: Checklist) -> None:
    """Each cue names a measure with events, and belongs to at least one step but not to all."""
    for cue in CUES:
        assert registry()[cue.measure].events is not None
        assert cue.wanted_by <= set(registry())
        assert 0 < sum(wanted_by(cue, step) for step in sheet.steps()) < 10


def test_a_tap_is_seen_where_it_sounds() -> None:
    """A sudden sound that falls at once is a tap; nothing else is made of a film without picture."""
    tracks = empty_tracks(np.arange(300) / 30, 100, 100)
    tracks["sound_state"].values[:] = FOUND
    for name in ("sound_onset", "sound_onset_fall", "sound_onset_after", "sound_speech"):
        tracks[name].values[:] = 0.0
    tracks["sound_onset"].values[150] = tracks["sound_onset_fall"].values[150] = 40.0
    found = {
        one.cue.name: one.intervals for one in cues_seen(tracks, film_values(tracks, "a", MEASURES)) if one.intervals
    }
    assert found == {"tap": ((Interval(5.0, 5.5), None),)}


def test_what_was_seen_moves_a_proposal_and_is_said(sheet: Checklist) -> None:
    """Of two reflexes that were not named, the one whose joint jerked is proposed, on its side, with the reason."""
    words = said(("let your leg go loose please", 10.0), ("two plus", 20.0))
    knee = next(cue for cue in CUES if cue.name == "knee_jerk")
    seen = [Seen(knee, ((Interval(14.0, 16.5), "left"),))]
    best = propose(evidence(words, sheet, (), seen), sheet, Habits(learned().weights, 1.0, 0.0, 0.0))
    assert [(one.step_id, one.side) for one in best] == [("reflex_patellar", "left")]
    assert "knee jerking 0:14-0:16" in best[0].reasons


def test_confidence_rises_with_the_probability_and_is_never_certain() -> None:
    """Calibration keeps the order and stays below certainty."""
    habits = learned()
    sure = [habits.confidence(chance) for chance in (0.0, 0.2, 0.5, 0.8, 1.0)]
    assert sure == sorted(sure)
    assert 0 <= sure[0] < sure[-1] <= SUREST
