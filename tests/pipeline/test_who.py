"""Who is examined: through crossings and short exits the right one, or nobody is named; never the wrong one."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from review.domain.model import Pointing
from review.pipeline.people import Bodies, bodies_of
from review.pipeline.who import Examined, examined
from tests.crowds import SIZE, Walker, sightings

BLUE, GREEN = {4: 0.6, 30: 0.4}, {12: 0.5, 26: 0.5}
WHEN = datetime(2026, 3, 2, tzinfo=UTC)


def _stands(time_s: float) -> tuple[float, float] | None:
    return 640 + 4 * np.sin(2 * time_s), 200.0


def _crosses(time_s: float) -> tuple[float, float] | None:
    """Walk from the left to the right and back, at about a shoulder width a second and a half."""
    return 240 + 800 * min(1.0, max(0.0, (time_s - 4) / 6)) - 800 * min(1.0, max(0.0, (time_s - 14) / 6)), 190.0


def _hidden_behind(time_s: float) -> tuple[float, float] | None:
    """Stand still, but out of sight while the one who crosses is before it."""
    other = _crosses(time_s)
    assert other is not None
    return None if abs(other[0] - 640) < 70 else _stands(time_s)


def _named(found: Examined, truth: list[dict[str, int]], name: str) -> tuple[int, int, int]:
    """Return in how many frames the person was named rightly, was in sight but not named, and wrongly named."""
    right = unsure = wrong = 0
    for row, places in enumerate(truth):
        place = int(found.place[row]) if found.sure[row] and found.place[row] >= 0 else None
        right += place is not None and place == places.get(name)
        wrong += place is not None and place != places.get(name)
        unsure += place is None and name in places
    return right, unsure, wrong


def _at(time_s: float, x: float, order: int = 0) -> Pointing:
    return Pointing(f"p{order}", "r", time_s, x, 0.4, "somebody", WHEN + timedelta(seconds=order))


DENSE, COARSE = np.arange(0, 24, 1 / 15), np.arange(0, 24, 1.0)


@pytest.mark.parametrize(
    ("time_s", "other", "least"),
    [(DENSE, GREEN, 0.95), (COARSE, GREEN, 0.95), (DENSE, BLUE, 0.25), (COARSE, BLUE, 0.15)],
    ids=["15 a second", "one a second", "15 a second, dressed alike", "one a second, dressed alike"],
)
def test_one_who_stands_is_kept_while_another_crosses_before(
    time_s: np.ndarray, other: Mapping[int, float], least: float
) -> None:
    """The one who stands is never taken for the one who crosses; in other clothes that is sure nearly always."""
    seen, truth = sightings(time_s, {"partner": Walker(_hidden_behind, BLUE), "examiner": Walker(_crosses, other)})
    pointings = [_at(0.0, 0.5)] if other is BLUE else []
    right, unsure, wrong = _named(examined(bodies_of(seen), SIZE, pointings), truth, "partner")
    assert wrong == 0
    assert right > least * (right + unsure)


def test_people_dressed_alike_who_both_left_are_not_guessed_anew() -> None:
    """After both were away for seconds nothing tells them apart, so no frame after that is called sure."""

    def first(time_s: float) -> tuple[float, float] | None:
        return None if 8 < time_s < 14 else (400.0, 200.0)

    def second(time_s: float) -> tuple[float, float] | None:
        return None if 8 < time_s < 14 else (900.0, 200.0)

    seen, truth = sightings(COARSE, {"partner": Walker(first, BLUE), "examiner": Walker(second, BLUE)})
    found = examined(bodies_of(seen), SIZE, [_at(0.0, 400 / 1280)])
    assert _named(found, truth[:9], "partner")[0] >= 6
    assert _named(found, truth, "partner")[2] == 0
    assert not found.sure[14:].any()
    again = examined(bodies_of(seen), SIZE, [_at(0.0, 400 / 1280), _at(15.0, 900 / 1280, 1)])
    assert _named(again, truth[:9], "partner")[0] >= 6
    right, unsure, wrong = _named(Examined(again.place[15:], again.sure[15:], again.probable), truth[15:], "examiner")
    assert wrong == 0
    assert right >= 8
    assert unsure <= 1


def test_one_in_other_clothes_who_left_and_came_back_is_known_again() -> None:
    """A short exit does not lose a person whose clothes differ; while it is out nobody is named."""

    def leaves(time_s: float) -> tuple[float, float] | None:
        return None if 8 < time_s < 14 else (500.0, 200.0)

    people = {"partner": Walker(leaves, BLUE), "examiner": Walker(lambda time_s: (800.0, 210.0), GREEN)}
    seen, truth = sightings(DENSE, people)
    right, unsure, wrong = _named(examined(bodies_of(seen), SIZE, [_at(1.0, 500 / 1280)]), truth, "partner")
    assert wrong == 0
    assert unsure <= 0.05 * right


def test_pointing_overrides_the_guess_and_a_pointing_in_the_middle_corrects_from_there() -> None:
    """A click on the one who crosses makes it the examined one; a second click elsewhere holds from its moment on."""
    people = {"partner": Walker(_stands, BLUE), "examiner": Walker(_crosses, GREEN)}
    seen, truth = sightings(COARSE, people)
    clicked = examined(bodies_of(seen), SIZE, [_at(1.0, 240 / 1280)])
    assert _named(clicked, truth, "examiner")[2] == 0
    assert _named(clicked, truth, "examiner")[0] >= 20
    both = examined(bodies_of(seen), SIZE, [_at(1.0, 240 / 1280), _at(12.0, 0.5, 1)])
    early = Examined(both.place[:12], both.sure[:12], both.probable)
    late = Examined(both.place[12:], both.sure[12:], both.probable)
    assert _named(early, truth[:12], "examiner")[2] == 0
    assert _named(late, truth[12:], "partner")[2] == 0
    assert _named(late, truth[12:], "partner")[0] >= 10


def test_a_single_person_is_always_the_examined_one_whatever_is_worn() -> None:
    """With never two people in the picture there is nothing to mix up, even if the clothes look different close up."""
    seen, _ = sightings(COARSE, {"partner": Walker(_stands, BLUE)})
    seen["colour"][12:, 0] = np.eye(32)[20]
    found = examined(bodies_of(seen), SIZE)
    assert found.sure.all()
    assert (found.place == 0).all()


@pytest.mark.parametrize(("pointed", "own"), [(400 / 1280, True), (900 / 1280, False), (None, False)])
def test_one_of_two_who_is_missed_is_not_taken_for_the_other(pointed: float | None, own: bool) -> None:
    """The model sees now the one, now the other: only the one who was pointed at is taken, else who is seen most."""

    def first(time_s: float) -> tuple[float, float] | None:
        return (400.0, 200.0) if 3 < time_s < 8 else None

    def second(time_s: float) -> tuple[float, float] | None:
        return None if 3 < time_s < 8 else (900.0, 200.0)

    seen, truth = sightings(DENSE, {"partner": Walker(first, BLUE), "examiner": Walker(second, GREEN)})
    found = examined(bodies_of(seen), SIZE, [] if pointed is None else [_at(5.0 if own else 1.0, pointed)])
    right, unsure, wrong = _named(found, truth, "partner" if own else "examiner")
    assert wrong == 0
    assert unsure <= 2 * 15
    assert right > 0.7 * (right + unsure)


def test_a_body_that_jumps_between_two_looks_is_unsure_about_then() -> None:
    """No body goes three quarters of its shoulders in a fifteenth of a second: it may be made up of two."""

    def where(time_s: float) -> tuple[float, float] | None:
        return (475.0, 200.0) if 10 <= time_s < 10.4 else (400.0, 200.0)

    found = examined(bodies_of(sightings(DENSE, {"partner": Walker(where, BLUE)})[0]), SIZE)
    assert not found.sure[(DENSE > 9.6) & (DENSE < 10.8)].any()
    assert found.sure[(DENSE < 9.4) | (DENSE > 11)].all()


def test_nobody_at_all_is_surely_nobody() -> None:
    """An empty film names nobody and is sure of it."""
    seen, _ = sightings(COARSE, {})
    found = examined(bodies_of(seen), SIZE)
    assert found.sure.all()
    assert (found.place == -1).all()
    assert examined(bodies_of(seen.isel(time=[])), SIZE).place.shape == (0,)


def test_the_answer_does_not_depend_on_the_order_of_the_list() -> None:
    """Shuffling the places of the people in every frame names the same bodies."""
    people = {"partner": Walker(_hidden_behind, BLUE), "examiner": Walker(_crosses, GREEN)}
    one, other = sightings(COARSE, people, seed=1), sightings(COARSE, people, seed=2)
    assert [order for order in one[1]] != [order for order in other[1]]
    named = [_named(examined(bodies_of(seen), SIZE), truth, "partner") for seen, truth in (one, other)]
    assert named[0] == named[1]


def test_stretches_are_joined_in_the_order_of_time_and_the_last_said_of_a_time_counts() -> None:
    """Parts may come in any order and overlap."""
    early, late = (bodies_of(sightings(times, {})[0]) for times in ([0.0, 1.0], [1.0, 2.0]))
    late.unit[0] = 7.0
    whole = Bodies.joined([early, late])
    assert whole.time_s.tolist() == [0.0, 1.0, 2.0]
    assert whole.unit[1, 0] == 7.0


@pytest.mark.parametrize(("aside_px", "sure"), [(0.0, True), (400.0, False)], ids=["at the one seen", "beside"])
def test_pointing_beside_the_only_one_who_is_seen_leaves_it_unsure(aside_px: float, sure: bool) -> None:
    """The model may see one person of two: if the other one was pointed at, the one who is seen is not taken."""
    seen, _ = sightings(np.arange(0, 10, 0.5), {"one": Walker(lambda moment: (500.0, 250.0), {3: 1.0})})
    at = Pointing("p", "r", 2.0, (500.0 + aside_px) / SIZE[0], 250.0 / SIZE[1], "L-07", datetime.now(UTC))
    assert (examined(bodies_of(seen), SIZE, [at]).sure == sure).all()
