"""What is masked: every head that is not surely the examined person's, a while about each place; and what is told."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np
import numpy.typing as npt
import pytest
import xarray as xr

from review.capture.head_tracks import HeadTracks
from review.domain.masking import Doubt, Heads
from review.domain.model import Pointing
from review.domain.sightings import COLOURS, MOST_PEOPLE, SIGHTED, SURE
from review.pipeline.masking import MARGIN_S, MaskPlan, mask_plan

SIZE = (960, 540)
LOOKS = 90
TIMES = np.arange(LOOKS) / 15
END_S = float(TIMES[-1])
PARTNER, EXAMINER = np.array([600.0, 150.0]), np.array([250.0, 160.0])
RADIUS = 30.0
WHEN = datetime(2026, 3, 2, tzinfo=UTC)
POINTED = Pointing("x", "film", 1.0, PARTNER[0] / SIZE[0], (PARTNER[1] + 60) / SIZE[1], "me", WHEN)

Row = tuple[int, int, float, float, float, bool, int]


def _person(centre: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return body points of somebody who stands upright and faces the camera, the head about `centre`."""
    xy = np.tile(centre, (33, 1))
    for points, right, down in (((11,), 35, 50), ((12,), -35, 50), ((23,), 25, 160), ((24,), -25, 160)):
        xy[list(points)] += (right, down)
    xy[25:33] += (0, 260)
    return xy


def _tracks(
    rows: Sequence[Row], people: Sequence[npt.NDArray[np.float64] | None] = (), crowded: Sequence[int] = ()
) -> HeadTracks:
    """Make tracks from rows (head, look, x, y, radius, seen, body) with people who stand still in the same places."""
    shape = (LOOKS, MOST_PEOPLE)
    body, colour = np.zeros(shape, np.int8), np.full((*shape, COLOURS), np.nan, np.float32)
    xy, visibility = np.full((*shape, 33, 2), np.nan, np.float32), np.full((*shape, 33), np.nan, np.float32)
    for place, centre in enumerate(people):
        body[:, place], xy[:, place], visibility[:, place] = SURE, _person(centre), 0.99
        colour[:, place] = np.eye(COLOURS, dtype=np.float32)[3 + 10 * place]
    data = {"body": body, "pose_xy": xy, "pose_visibility": visibility, "colour": colour}
    bodies = xr.Dataset({name: (SIGHTED[name][0], values) for name, values in data.items()}, coords={"time": TIMES})
    table = np.array(rows, dtype=np.float64).reshape(-1, 7)
    return HeadTracks(
        time_s=TIMES,
        size=SIZE,
        head=table[:, 0].astype(int),
        look=table[:, 1].astype(int),
        circle=table[:, 2:5],
        seen=table[:, 5] == 1,
        body=table[:, 6].astype(int),
        crowded=np.isin(np.arange(LOOKS), list(crowded)),
        bodies=bodies,
    )


def _rows(
    head: int, centre: npt.NDArray[np.float64], looks: Sequence[int], body: int = -1, seen: bool = True
) -> list[Row]:
    return [(head, look, float(centre[0]), float(centre[1]), RADIUS, seen, body) for look in looks]


def _masked(plan: MaskPlan, time_s: float, point: npt.NDArray[np.float64]) -> bool:
    """Tell whether a place lies beneath a mask at a time."""
    start, stop, x, y, radius = plan.masks.T
    return bool(((start <= time_s) & (time_s <= stop) & (np.hypot(x - point[0], y - point[1]) <= radius)).any())


def _pair() -> HeadTracks:
    rows = _rows(1, PARTNER, range(LOOKS), body=0) + _rows(2, EXAMINER, range(LOOKS), body=1)
    return _tracks(rows, [PARTNER, EXAMINER])


def test_all_heads_are_masked_at_every_time() -> None:
    """Two people who are seen all the time are masked at each moment, between two looks too; nothing is told."""
    plan = mask_plan(_pair(), Heads.ALL, [], False, END_S)
    for time_s in np.linspace(0, END_S, 500):
        assert _masked(plan, time_s, PARTNER)
        assert _masked(plan, time_s, EXAMINER)
    assert plan.doubtful == ()


def test_the_one_pointed_at_is_left_open() -> None:
    """Only the other one is masked, and never the one whose body was pointed at."""
    plan = mask_plan(_pair(), Heads.OTHERS, [POINTED], False, END_S)
    for time_s in np.linspace(0, END_S, 500):
        assert not _masked(plan, time_s, PARTNER)
        assert _masked(plan, time_s, EXAMINER)
    assert plan.doubtful == ()


def test_a_face_without_a_body_is_masked() -> None:
    """A head that sits on no body is nobody's: it is masked in either mode."""
    tracks = _tracks(_rows(1, PARTNER, range(LOOKS), body=0) + _rows(2, EXAMINER, range(LOOKS)), [PARTNER])
    plan = mask_plan(tracks, Heads.OTHERS, [POINTED], False, END_S)
    assert all(_masked(plan, time_s, EXAMINER) for time_s in np.linspace(0, END_S, 100))
    assert not any(_masked(plan, time_s, PARTNER) for time_s in np.linspace(0, END_S, 100))


def test_two_heads_upon_each_other_are_masked() -> None:
    """Where the heads of two bodies are one circle, it is masked though one of them is the examined person's."""
    together = range(40, 50)
    rest = [look for look in range(LOOKS) if look not in together]
    rows = _rows(1, PARTNER, rest, body=0) + _rows(2, EXAMINER, rest, body=1)
    rows += _rows(1, PARTNER, together, body=-2)
    plan = mask_plan(_tracks(rows, [PARTNER, EXAMINER]), Heads.OTHERS, [POINTED], False, END_S)
    assert all(_masked(plan, TIMES[look], PARTNER) for look in together)
    assert not _masked(plan, TIMES[30], PARTNER)


def test_who_is_not_told_apart_is_masked_and_told() -> None:
    """Pointing at nobody leaves it unsure who is examined: then everybody is masked, and the seconds are told."""
    nowhere = Pointing("y", "film", 1.0, 0.02, 0.95, "me", WHEN)
    tracks = _tracks(_rows(1, EXAMINER, range(LOOKS), body=0), [EXAMINER])
    plan = mask_plan(tracks, Heads.OTHERS, [nowhere], False, END_S)
    assert all(_masked(plan, time_s, EXAMINER) for time_s in np.linspace(0, END_S, 100))
    assert [one.why for one in plan.doubtful] == [Doubt.UNSURE]
    assert plan.doubtful[0].start_s == 0


def test_a_margin_before_and_after() -> None:
    """Half a second before a head is first there, and after it is last there, its place is masked."""
    plan = mask_plan(_tracks(_rows(1, EXAMINER, range(30, 60))), Heads.ALL, [], False, END_S)
    for inside, outside in (
        (TIMES[30] - MARGIN_S, TIMES[30] - MARGIN_S - 0.01),
        (TIMES[59] + MARGIN_S, TIMES[59] + 0.6),
    ):
        assert _masked(plan, inside, EXAMINER)
        assert not _masked(plan, outside, EXAMINER)


def test_a_head_that_moves_far_is_masked_on_its_way() -> None:
    """A head that moves by three of its radii between two looks is masked at every place between."""
    rows = [(1, look, 100.0 + 90 * look, 200.0, RADIUS, True, -1) for look in range(8)]
    plan = mask_plan(_tracks(rows), Heads.ALL, [], False, END_S)
    for time_s in np.linspace(TIMES[0], TIMES[7], 100):
        assert _masked(plan, time_s, np.array([100 + 90 * 15 * time_s, 200.0]))


def test_masks_of_a_mirrored_film_lie_where_the_film_shows_the_head() -> None:
    """Heads are found in the flipped picture; the copy is of the film as it is."""
    plan = mask_plan(_tracks(_rows(1, EXAMINER, range(LOOKS))), Heads.ALL, [], True, END_S)
    assert _masked(plan, 1.0, np.array([SIZE[0] - EXAMINER[0], EXAMINER[1]]))
    assert not _masked(plan, 1.0, EXAMINER)


@pytest.mark.parametrize(
    ("tracks", "why", "start_s", "stop_s"),
    [
        pytest.param(
            _tracks(_rows(1, EXAMINER, [*range(30), *range(60, 90)]) + _rows(1, EXAMINER, range(30, 60), seen=False)),
            Doubt.GUESSED,
            34 / 15,
            56 / 15,
            id="carried for two seconds",
        ),
        pytest.param(_tracks(_rows(1, EXAMINER, range(40))), Doubt.LOST, 39 / 15, END_S, id="ends in the picture"),
        pytest.param(_tracks(_rows(1, EXAMINER, range(40, 90))), Doubt.NOBODY, 0.0, 40 / 15, id="nobody at first"),
        pytest.param(
            _tracks(_rows(1, EXAMINER, range(90)), crowded=range(20, 30)),
            Doubt.CROWDED,
            20 / 15,
            30 / 15,
            id="too many people",
        ),
    ],
)
def test_what_is_not_vouched_for_is_told(tracks: HeadTracks, why: Doubt, start_s: float, stop_s: float) -> None:
    """Seconds in which a head was guessed, lost, found nowhere or one of too many are told, to a look."""
    told = [one for one in mask_plan(tracks, Heads.ALL, [], False, END_S).doubtful if one.why is why]
    assert len(told) == 1
    assert (told[0].start_s, told[0].stop_s) == pytest.approx((start_s, stop_s), abs=1.5 / 15)


def test_leaving_over_the_edge_is_no_doubt() -> None:
    """Of a head that ends at the picture's edge nothing is said but that nobody is there."""
    rows = [(1, look, 900.0 + look, 200.0, RADIUS, True, -1) for look in range(50)]
    plan = mask_plan(_tracks(rows), Heads.ALL, [], False, END_S)
    assert {one.why for one in plan.doubtful} == {Doubt.NOBODY}
