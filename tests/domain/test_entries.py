"""Results typed in by hand: the arithmetic of the published tables, and entries that cannot be."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.domain.entries import KINDS, fields_of, kind_named, read_entry, words_of
from review.domain.entries.acuity import DISTANCES_M, LINES, LOGMAR_RANGE, Acuity, Notation, written
from review.domain.entries.reflex import SCALES, scale_named
from review.domain.errors import EntryFaulty, NotFound
from review.domain.model import Side

NOTATIONS: tuple[Notation, ...] = ("feet", "metres", "decimal", "logMAR")

PUBLISHED = [
    (1.0, "20/200", "6/60", 0.10),
    (0.9, "20/160", "6/48", 0.125),
    (0.8, "20/125", "6/38", 0.16),
    (0.7, "20/100", "6/30", 0.20),
    (0.6, "20/80", "6/24", 0.25),
    (0.5, "20/63", "6/19", 0.32),
    (0.4, "20/50", "6/15", 0.40),
    (0.3, "20/40", "6/12", 0.50),
    (0.2, "20/32", "6/9.5", 0.63),
    (0.1, "20/25", "6/7.5", 0.80),
    (0.0, "20/20", "6/6", 1.00),
    (-0.1, "20/16", "6/4.8", 1.25),
    (-0.2, "20/12.5", "6/3.8", 1.6),
    (-0.3, "20/10", "6/3", 2.0),
]
"""Lines of charts as printed: the last four rows stand in DICOM PS3.17, Annex RR.2; the others are the labels of charts
whose lines differ by 0.1 logMAR (from memory)."""


def acuity(text: str, side: Side | None = "right") -> Acuity:
    """Read an acuity."""
    found = read_entry("acuity", text, side)
    assert isinstance(found, Acuity)
    return found


def words(kind: str, text: str, side: Side | None) -> str:
    """Read an entry and say it from its fields, as they come back from JSON."""
    fields = json.loads(json.dumps(fields_of(read_entry(kind, text, side))))
    return words_of(kind, fields, side)


def faults(kind: str, text: str, side: Side | None) -> tuple[str, ...]:
    """Return the faults of a text that must be refused."""
    with pytest.raises(EntryFaulty) as refused:
        read_entry(kind, text, side)
    return refused.value.faults


@pytest.mark.parametrize(("logmar", "feet", "metres", "decimal"), PUBLISHED, ids=[row[1] for row in PUBLISHED])
def test_lines_of_charts_convert_as_they_are_printed(logmar: float, feet: str, metres: str, decimal: float) -> None:
    """Whichever label of a line is entered, all the others of that line are said."""
    said = {text: acuity(text) for text in (feet, metres, f"decimal {decimal:g}", f"logMAR {logmar:.1f}")}
    assert {found.logmar for found in said.values()} == {logmar}
    for found in said.values():
        assert f"{feet}, {metres}, decimal " in found.words
        assert f"logMAR {logmar:.2f}" in found.words


@pytest.mark.parametrize(("logmar", "feet", "metres", "decimal"), PUBLISHED, ids=[row[1] for row in PUBLISHED])
def test_labels_are_the_rounded_formula(logmar: float, feet: str, metres: str, decimal: float) -> None:
    """Every label lies within 2 % of the exact ratio, logMAR = -log10 V."""
    exact = 10**-logmar
    ratios = [float(above) / float(below) for above, below in (feet.split("/"), metres.split("/"))]
    assert [*ratios, decimal] == pytest.approx([exact] * 3, rel=0.02)


def test_the_table_has_a_line_each_tenth_and_no_other() -> None:
    """The lines in the code are those published, label for label."""
    assert [(logmar, feet, metres, float(decimal)) for logmar, feet, metres, decimal in LINES] == PUBLISHED


@pytest.mark.parametrize(
    ("text", "logmar", "said"),
    [
        ("20/30", 0.1761, "20/30, 6/9, decimal 0.667, logMAR 0.18"),
        ("6/18", 0.4771, "20/60, 6/18, decimal 0.333, logMAR 0.48"),
        ("20/400", 1.301, "20/400, 6/120, decimal 0.05, logMAR 1.30"),
        ("4/8", 0.3, "4/8: 20/40, 6/12, decimal 0.50, logMAR 0.30"),
        ("20/40 -2", 0.34, "20/40 -2: 20/43.8, 6/13.1, decimal 0.457, logMAR 0.34"),
        ("6/12+1", 0.28, "6/12 +1: 20/38.1, 6/11.4, decimal 0.525, logMAR 0.28"),
        ("logMAR 0.30 \u22122", 0.34, "logMAR 0.30 -2: 20/43.8, 6/13.1, decimal 0.457, logMAR 0.34"),
        ("0,5 decimal", 0.3, "decimal 0.5: 20/40, 6/12, decimal 0.50, logMAR 0.30"),
        ("-0.1 LogMAR", -0.1, "20/16, 6/4.8, decimal 1.25, logMAR -0.10"),
    ],
)
def test_lines_between_and_letters(text: str, logmar: float, said: str) -> None:
    """Between the lines the formula counts, and a letter more or less is 0.02 logMAR."""
    found = acuity(text)
    assert found.logmar == pytest.approx(logmar, abs=1e-4)
    assert found.words == f"{said}; glasses or lenses not said"


@given(hundredths=st.integers(round(LOGMAR_RANGE[0] * 100), round(LOGMAR_RANGE[1] * 100)))
def test_any_notation_there_and_back(hundredths: int) -> None:
    """Every hundredth of logMAR, written in any notation and read again, is the same hundredth."""
    for notation in NOTATIONS:
        assert round(acuity(written(hundredths / 100, notation)).logmar, 2) == hundredths / 100


@given(below=st.integers(8, 2000), letters=st.integers(-4, 4), metric=st.booleans())
def test_more_letters_are_a_better_acuity(below: int, letters: int, metric: bool) -> None:
    """Each letter takes 0.02 from the logMAR of the line, in feet as in metres."""
    line = f"6/{below * 0.3:g}" if metric else f"20/{below}"
    try:
        plain, counted = acuity(line), acuity(f"{line} {letters:+d}")
    except EntryFaulty:
        exact = math.log10(below / 20) - 0.02 * letters
        assert not LOGMAR_RANGE[0] + 0.01 < exact < LOGMAR_RANGE[1] - 0.01
    else:
        assert counted.logmar == pytest.approx(plain.logmar - 0.02 * letters, abs=1e-4)


@pytest.mark.parametrize(
    ("text", "worn"),
    [
        ("6/12 with glasses", "with glasses"),
        ("with contact lenses 6/12", "with contact lenses"),
        ("6/12, corrected", "corrected"),
        ("6/12 unaided", "uncorrected"),
        ("6/12 without glasses", "uncorrected"),
        ("6/12 ph", "with pinhole"),
        ("6/12", None),
    ],
)
def test_what_was_worn_is_told_or_said_to_be_missing(text: str, worn: str | None) -> None:
    """Glasses, lenses, pinhole or nothing; an entry that does not tell says so."""
    found = acuity(text)
    assert found.worn == worn
    assert found.words.endswith(worn or "glasses or lenses not said")


@pytest.mark.parametrize(
    ("text", "distance_m"), [("at 6 m", 6.0), ("at 20 ft", 6.096), ("at 14 in", 0.3556), ("at 36cm", 0.36)]
)
def test_distances_are_kept_as_said_and_in_metres(text: str, distance_m: float) -> None:
    """Feet and inches convert exactly: 0.3048 m and 0.0254 m."""
    found = acuity(f"6/6 uncorrected {text}")
    assert found.distance_m == pytest.approx(distance_m)
    assert DISTANCES_M[0] <= distance_m <= DISTANCES_M[1]
    assert found.words.endswith(text.replace("36cm", "36 cm"))


def test_a_step_without_sides_asks_for_the_eye() -> None:
    """The eye is then part of the text, and of the words."""
    assert words("acuity", "OU 6/6 corrected", None).startswith("both eyes: 20/20, 6/6")
    assert words("acuity", "left eye 6/6", None).startswith("left eye: ")
    assert faults("acuity", "6/6", None) == ("Which eye it was is missing; expected right, left or both.",)


IMPOSSIBLE: list[tuple[str, str, Side | None, tuple[str, ...]]] = [
    ("acuity", "0/20", "left", ("0/20 has 0 above",)),
    ("acuity", "20/0", "left", ("20/0 has 0 below; expected a number above 0",)),
    ("acuity", "20/-40", "left", ("20/-40 has -40 below",)),
    ("acuity", "0/0", "left", ("0/0 has 0 above", "0/0 has 0 below")),
    ("acuity", "40/20", "left", ("Are the two numbers swapped?",)),
    ("acuity", "logMAR 5", "left", ("logMAR 5.00 is beyond any chart",)),
    ("acuity", "20/4", "left", ("20/4 is logMAR -0.70, which is beyond any chart",)),
    ("acuity", "decimal 0", "left", ("decimal 0 came; expected a number above 0",)),
    ("acuity", "decimal -1", "left", ("decimal -1 came",)),
    ("acuity", "0.5", "left", ("0.5 can be decimal (6/12) or logMAR (6/19)",)),
    ("acuity", "7", "left", ("7 alone says no acuity",)),
    ("acuity", "20/40 -7", "left", ("-7 letters came; expected -4 to +4",)),
    ("acuity", "20/40 -1 +2", "left", ("expected one count of letters",)),
    ("acuity", "20/40 6/12", "left", ("20/40 and 6/12 came; expected one acuity",)),
    ("acuity", "6/6 at 0 m", "left", ("A chart 0 m away came; expected 0.1 to 10 m",)),
    ("acuity", "6/6 at 600 m", "left", ("A chart 600 m away",)),
    ("acuity", "6/6 with glasses unaided", "left", ("expected one thing worn",)),
    ("acuity", "6/6 right", "left", ("right came on the step's left side",)),
    ("acuity", "6/6 blurred", "left", ("'blurred' was not understood",)),
    ("acuity", "with glasses", "left", ("The acuity is missing",)),
    ("acuity", "  ", "left", ("The entry is empty",)),
    ("acuity", "6" * 201, "left", ("The entry has 201 characters; expected at most 200",)),
    ("whisper", "4 of 3", "left", ("4 of 3 came; expected 0 to 3 right",)),
    ("whisper", "7 of 6", "left", ("7 of 6 came; expected 0 to 6 right",)),
    ("whisper", "-1 of 3", "left", ("-1 of 3 came",)),
    ("whisper", "2 of 5", "left", ("2 of 5 came; expected counts of 3 (one set) or 6 (both)",)),
    ("whisper", "3 of 3 then 2 of 3", "left", ("a second set is whispered only if the first was not all right",)),
    ("whisper", "6 of 6", "left", ("a second set is whispered only",)),
    ("whisper", "2 of 3 then 1 of 6", "left", ("expected 2 to 5 in all",)),
    ("whisper", "3 of 6 then 1 of 3", "left", ("expected the first set, of 3",)),
    ("whisper", "1 of 3, 1 of 3, 1 of 3", "left", ("3 sets came",)),
    ("whisper", "3", "left", ("3 of how many is not said",)),
    ("whisper", "heard", "left", ("The count is missing", "'heard' was not understood")),
    ("whisper", "3 of 3", None, ("Which ear it was is missing; expected right or left",)),
    ("reflex", "6 on 0 to 4+", "left", ("Grade 6 came; expected a whole number from 0 to 4 on 0 to 4+",)),
    ("reflex", "5 on NINDS", "left", ("Grade 5 came; expected a whole number from 0 to 4 on NINDS",)),
    ("reflex", "6 on 0 to 5+", "left", ("Grade 6 came",)),
    ("reflex", "-1 on NINDS", "left", ("Grade -1 came",)),
    ("reflex", "2.5 on NINDS", "left", ("Grade 2.5 came",)),
    ("reflex", "2", "left", ("The scale's name is missing: 2 is lower half of the normal range on NINDS; normal on",)),
    ("reflex", "9", "left", ("The scale's name is missing", "Grade 9 came")),
    ("reflex", "NINDS", "left", ("The grade is missing",)),
    ("reflex", "2 on NINDS 0-4", "left", ("expected one scale",)),
    ("weber", "left and right", None, ("expected one place", "'and' was not understood")),
    ("weber", "weber", None, ("Where it was heard is missing",)),
    ("rinne", "air -3 s, bone 2 s", "left", ("air -3 s came; expected more than 0",)),
    ("rinne", "air 10 s, bone 0 s", "left", ("bone 0 s came",)),
    ("rinne", "air 400 s, bone 20 s", "left", ("air 400 s came; expected more than 0 and at most 300 s",)),
    ("rinne", "bone longer, air 40 s, bone 20 s", "left", ("came with air 40 s and bone 20 s",)),
    ("rinne", "air, bone", "left", ("expected one word for what was heard longer",)),
    ("rinne", "air 30 s", "left", ("What was heard longer is missing",)),
]


@pytest.mark.parametrize(
    ("kind", "text", "side", "told"), IMPOSSIBLE, ids=[f"{kind} {text[:30]}" for kind, text, *_ in IMPOSSIBLE]
)
def test_what_cannot_be_is_refused_in_words(kind: str, text: str, side: Side | None, told: tuple[str, ...]) -> None:
    """Each impossible entry has one clear fault for each thing that is wrong, and no more."""
    found = faults(kind, text, side)
    assert len(found) == len(told), found
    for words in told:
        assert any(words in fault for fault in found), (words, found)


def test_all_faults_of_an_entry_come_at_once() -> None:
    """Eye, distance, letters, what was worn and the line are each told."""
    found = faults("acuity", "OS 0/20 -9 with glasses unaided at 0 m", "right")
    assert len(found) == 5


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("3 of 3", "3 of 3 right: counts as heard (rule: all 3)"),
        ("2/3", "2 of 3 right: the rule asks for a second set"),
        ("2 of 3, then 1 of 3", "2 of 3, then 3 of 6 in all right: counts as heard (rule: at least 3 of 6)"),
        ("2 of 3 then 4 out of 6", "2 of 3, then 4 of 6 in all right: counts as heard (rule: at least 3 of 6)"),
        ("2 of 3 then 0 of 3", "2 of 3, then 2 of 6 in all right: does not count as heard (rule: at least 3 of 6)"),
        ("2 of 6", "2 of 6 right: does not count as heard (rule: at least 3 of 6)"),
        ("5 of 6", "5 of 6 right: counts as heard (rule: at least 3 of 6)"),
    ],
)
def test_whisper_counts_by_the_rule_of_the_test(text: str, said: str) -> None:
    """Three of three, else at least three of six (Pirozzo et al. 2003, BMJ 327:967)."""
    assert words("whisper", text, "right") == said


@given(first=st.integers(0, 3), second=st.integers(0, 3))
def test_a_second_set_follows_only_a_first_with_a_miss(first: int, second: int) -> None:
    """Any two sets are either refused because the first was all right, or count as the sum says."""
    text = f"{first} of 3 then {second} of 3"
    if first == 3:
        assert "only if the first was not all right" in faults("whisper", text, "left")[0]
    else:
        heard = "counts as heard" in words("whisper", text, "left")
        assert heard is (first + second >= 3)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2+ NINDS", "2 on NINDS: lower half of the normal range"),
        ("3 on ninds scale", "3 on NINDS: upper half of the normal range"),
        ("2+ on 0-4", "2 on 0 to 4+: normal"),
        ("3 on 0 to 4+", "3 on 0 to 4+: brisk"),
        ("5 on 0 to 5+", "5 on 0 to 5+: clonus that goes on"),
        ("0 NINDS", "0 on NINDS: absent; reinforcement not said"),
        ("0 NINDS with reinforcement", "0 on NINDS: absent; with reinforcement"),
        ("+1 on 0 to 5+ reinforced", "1 on 0 to 5+: trace, or only with reinforcement; with reinforcement"),
    ],
)
def test_a_grade_is_said_with_its_scale(text: str, said: str) -> None:
    """The same number means other things on other scales, so the scale's name stands beside it."""
    assert words("reflex", text, "left") == said


@given(grade=st.integers(-3, 9), name=st.sampled_from(sorted(SCALES)))
def test_a_grade_is_taken_if_and_only_if_its_scale_has_it(grade: int, name: str) -> None:
    """Grades inside the scale are kept with its name; all others are refused."""
    text = f"{grade} on {name}"
    if 0 <= grade < len(SCALES[name].levels):
        fields = fields_of(read_entry("reflex", text, "right"))
        assert (fields["grade"], fields["scale"]) == (grade, name)
    else:
        assert len(faults("reflex", text, "right")) == 1


def test_scales_disagree_about_three_and_have_sources() -> None:
    """Three is within the normal range on one scale and brisk on another; every scale says where it is from."""
    assert SCALES["NINDS"].levels[3] == "upper half of the normal range"
    assert SCALES["0 to 4+"].levels[3] == "brisk"
    assert all(scale.source for scale in SCALES.values())
    assert kind_named("reflex").scales == tuple(SCALES)


def test_an_unknown_scale_or_kind_is_answered_with_the_known_ones() -> None:
    """A wrong name is told with the right ones."""
    with pytest.raises(NotFound, match="0 to 4"):
        scale_named("0 to 9+")
    with pytest.raises(NotFound, match="Known: acuity, reflex, rinne, weber, whisper"):
        kind_named("fork")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("middle", "heard in the middle"),
        ("the same in both", "heard in the middle"),
        ("Left", "heard more in the left ear"),
        ("louder in the right ear", "heard more in the right ear"),
    ],
)
def test_weber_says_where_it_was_heard(text: str, said: str) -> None:
    """Middle, left or right, and nothing more; the words can be entered again."""
    assert words("weber", text, None) == words("weber", said, None) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("air", "air longer than bone"),
        ("AC>BC", "air longer than bone"),
        ("bone longer", "bone longer than air"),
        ("same", "air and bone the same"),
        ("air 40 s, bone 20 s", "air longer than bone (air 40 s, bone 20 s from the strike)"),
        ("bone longer, air 10,5 s bone 20 s", "bone longer than air (air 10.5 s, bone 20 s from the strike)"),
        ("air longer, air 30 s", "air longer than bone (air 30 s from the strike)"),
    ],
)
def test_rinne_says_what_was_heard_longer(text: str, said: str) -> None:
    """Air, bone or the same, in words or by the seconds from the strike."""
    assert words("rinne", text, "left") == said


@given(
    kind=st.sampled_from(sorted(KINDS)),
    side=st.sampled_from(["left", "right", None]),
    text=st.text(st.sampled_from("0123456789/+-.,;: ofthensairboneNINDSlogMARleftright\u2212\u0663"), max_size=40)
    | st.text(max_size=40),
)
def test_any_text_is_read_or_refused(kind: str, side: Side | None, text: str) -> None:
    """Whatever is typed gives a result with words and plain fields, or faults in words; nothing else goes wrong."""
    told: tuple[str, ...] = ()
    try:
        told = (words(kind, text, side),)
    except EntryFaulty as refused:
        told = refused.faults
    assert all(told)
    assert not any("pass" in one.replace(text, "") for one in told)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_examples_can_be_entered(kind: str) -> None:
    """What a field shows while it is empty is a good entry."""
    of = KINDS[kind]
    text = of.example + (f" on {of.scales[0]}" if of.scales else "")
    assert words(kind, text, "left")
