"""The checklists that come with Runthrough: whole, safe, and as their documents say."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from review.checklists import shipped, shipped_checklists
from review.domain.checklist import Checklist, Step
from review.domain.checklist_file import read_checklist
from review.domain.errors import NotFound
from review.measures import units

DOCUMENT = Path(__file__).parents[2] / "docs" / "checklists.md"
NAMES = sorted(shipped_checklists())
BOTH = ("right", "left")


@pytest.fixture(name="sheet", params=NAMES)
def _sheet(request: pytest.FixtureRequest) -> Checklist:
    """Give each shipped checklist, read with the units of all measures known."""
    return read_checklist(shipped(request.param), units())


@pytest.fixture(name="screening", scope="module")
def _screening() -> Checklist:
    """Give the whole neurological screening."""
    return read_checklist(shipped("neuro_screening"), units())


def ends(step: Step) -> dict[str, tuple[float | None, float | None]]:
    """Return both ends of each target of a step."""
    return {target.measure: (target.low, target.high) for target in step.targets}


def test_two_checklists_are_shipped_under_their_own_ids() -> None:
    """A shipped checklist is called as its file is."""
    assert NAMES == ["balance_only", "neuro_screening"]
    assert [read_checklist(shipped(name)).id for name in NAMES] == NAMES


def test_a_wrong_name_is_answered_with_the_right_one() -> None:
    """Close names are offered."""
    with pytest.raises(NotFound, match="neuro_screening"):
        shipped("neuro_screenin")


def test_every_caution_is_one_of_its_own(sheet: Checklist) -> None:
    """Each step says in a sentence what can hurt there, and no two steps share the sentence."""
    cautions = [step.caution for step in sheet.steps()]
    assert min(len(caution.split()) for caution in cautions) >= 8
    assert len(set(cautions)) == len(cautions)


def test_every_step_has_a_finding_to_say_and_something_to_film(sheet: Checklist) -> None:
    """Learners say what they find in every step, and know what must be in the picture."""
    assert [step.id for step in sheet.steps() if not step.finding or not step.view] == []


def test_steps_with_two_sides_begin_on_the_right(sheet: Checklist) -> None:
    """Both sides are done, the right one first."""
    assert {step.sides for step in sheet.steps()} <= {(), BOTH}


def test_sheet_says_that_it_diagnoses_nothing_and_who_decides(sheet: Checklist) -> None:
    """The notice stands on every sheet."""
    assert sheet.notice.startswith("Practice feedback, not a diagnosis and not a clinical record.")
    assert "licensed instructors decide" in sheet.notice


def test_every_sheet_has_critical_steps_for_consent_and_for_guarding(sheet: Checklist) -> None:
    """Nobody passes who starts without consent or leaves the partner unguarded."""
    critical = [step for step in sheet.steps() if step.critical]
    assert any("consent" in step.title.lower() for step in critical)
    assert any("guard" in step.caution.lower() and "feet" in step.view for step in critical)


def test_points_and_steps_are_those_of_the_document(sheet: Checklist) -> None:
    """The document and the sheet's own summary give the number of steps and the points of all sides."""
    steps = list(sheet.steps())
    points = sum(step.points * len(step.places) for step in steps)
    row = re.search(rf"^\| `{sheet.id}` \|.*\| (\d+) \| (\d+) \|$", DOCUMENT.read_text("utf-8"), re.MULTILINE)
    assert row is not None
    assert (len(steps), points) == (int(row[1]), int(row[2]))
    assert re.findall(r"(\d+) (steps|points)", sheet.summary) == [(f"{len(steps)}", "steps"), (f"{points:g}", "points")]


def test_scales_differ_between_checklists() -> None:
    """A grade scale is the checklist's own: levels, shares and the word for *not assessable*."""
    scales = {
        name: [(level.word, level.share) for level in read_checklist(shipped(name)).scale.levels] for name in NAMES
    }
    assert scales == {
        "neuro_screening": [("done fully", 1), ("done partly", 0.5), ("missed", 0), ("not assessable", None)],
        "balance_only": [("yes", 1), ("not yet", 0), ("cannot be judged", None)],
    }


def test_all_twelve_cranial_nerves_are_examined_in_their_order(screening: Checklist) -> None:
    """Ids carry the numbers of the nerves; none is left out and none comes before an earlier one."""
    found = [re.match(r"cn((?:\d+_)+)", step.id) for step in screening.steps()]
    nerves = [[int(number) for number in match[1].split("_")[:-1]] for match in found if match]
    assert {nerve for group in nerves for nerve in group} == set(range(1, 13))
    firsts = [group[0] for group in nerves if group != [3, 4, 6]]
    assert firsts == sorted(firsts)


@pytest.mark.parametrize("reflex", ["biceps", "triceps", "brachioradialis", "patellar", "achilles"])
def test_each_reflex_is_struck_on_both_sides(screening: Checklist, reflex: str) -> None:
    """Five tendon reflexes, right and left, with a hammer."""
    step = screening.step(f"reflex_{reflex}")
    assert step.sides == BOTH
    assert "reflex hammer" in step.equipment


@pytest.mark.parametrize(
    "step_id",
    [
        *("cn1_nostrils_open", "cn1_smell", "cn2_acuity_far", "cn2_acuity_near", "cn2_fields", "cn2_3_pupils_light"),
        *("cn8_whisper", "cn8_rinne", "cn11_head_turn", "cn12_tongue_strength"),
    ],
)
def test_parts_with_sides_are_done_on_both(screening: Checklist, step_id: str) -> None:
    """Nostrils, eyes, ears, neck and tongue are each examined on both sides."""
    assert screening.step(step_id).sides == BOTH


@pytest.mark.parametrize(
    ("step_id", "words"),
    [
        ("cn1_smell", "No alcohol wipe and no ammonia"),
        ("cn2_3_pupils_light", "seizures"),
        ("cn5_light_touch", "no touch of the cornea on a lab partner"),
        ("cn9_10_gag_deferred", "Do not touch the back of the throat"),
        ("cn11_head_turn", "No resisted turning"),
        ("romberg_setup", "Guard before anything else"),
        ("romberg_eyes_closed", "arms ready around the partner"),
        ("reflex_biceps", "bruises"),
        ("reflex_patellar", "knee"),
        ("cn8_rinne", "Balance is not tested by head thrusts"),
    ],
)
def test_known_dangers_are_named_where_they_are(screening: Checklist, step_id: str, words: str) -> None:
    """The dangers of the trade stand in the caution of their step."""
    assert words in screening.step(step_id).caution


def test_targets_are_those_chosen_for_the_steps(screening: Checklist) -> None:
    """Ends of all targets of the screening; the sources stand beside them in the file."""
    assert {step.id: ends(step) for step in screening.steps() if step.targets} == {
        "cn1_smell": {"eyes_closed_share": (0.8, None)},
        "cn3_4_6_eye_movements": {
            "gaze_sweep": (6, 6),
            "target_path": (6, 6),
            "target_pace": (None, 30),
            "head_stillness": (0.9, None),
        },
        "cn5_light_touch": {"eyes_closed_share": (0.8, None), "touch_sequence": (6, 6)},
        "cn5_jaw_open": {"jaw_opening": (20, None)},
        "cn7_eye_closing": {"eye_closure": (1, None)},
        "cn11_shrug": {"shoulder_elevation": (0.05, None)},
        "cn11_head_turn": {"neck_rotation": (30, None)},
        "romberg_setup": {"stance_width": (None, 0.45)},
        "romberg_eyes_open": {"eye_closure": (None, 1), "base_of_support": (None, 0), "stance_width": (None, 0.45)},
        "romberg_eyes_closed": {"hold_time": (20, None), "base_of_support": (None, 0), "stance_width": (None, 0.45)},
    }


def test_steps_that_no_film_shows_take_an_entry(screening: Checklist) -> None:
    """Acuity, whisper, fork and reflex steps have a field for their result; no other step has."""
    assert {step.id: step.entry for step in screening.steps() if step.entry} == {
        **dict.fromkeys(("cn2_acuity_far", "cn2_acuity_near"), "acuity"),
        **{"cn8_whisper": "whisper", "cn8_weber": "weber", "cn8_rinne": "rinne"},
        **{f"reflex_{name}": "reflex" for name in ("biceps", "triceps", "brachioradialis", "patellar", "achilles")},
    }


def test_both_sheets_ask_the_same_of_the_same_romberg() -> None:
    """The stance, the open eyes and the hold have the same ends in the short sheet and in the long one."""
    long, short = (read_checklist(shipped(name)) for name in ("neuro_screening", "balance_only"))
    for ours, theirs in [("position_guard", "setup"), ("eyes_open", "eyes_open"), ("eyes_closed", "eyes_closed")]:
        assert ends(short.step(ours)).items() <= ends(long.step(f"romberg_{theirs}")).items()


def test_the_hold_says_that_teaching_differs() -> None:
    """Whoever reads the 20 s also reads that 30 s and 60 s are taught."""
    (hold,) = [
        target
        for target in read_checklist(shipped("balance_only")).step("eyes_closed").targets
        if target.measure == "hold_time"
    ]
    assert all(time in hold.source for time in ("20 s", "30 s", "60 s"))
