"""One small checklist: what is read from it, and what is said of each fault put into it."""

from __future__ import annotations

import pytest

from review.domain.checklist_file import parse_checklist
from review.domain.errors import ChecklistRefused, Fault

KNOWN = {"stance_width": "1", "hold_time": "s"}

GOOD = """\
id = "small"
version = 3
title = "Small sheet"
summary = "Two steps."
notice = "Practice feedback."

[scale]
name = "Three levels"
levels = [
    { key = "full", word = "fully", share = 1 },
    { key = "half", word = "half", share = 0.5 },
    { key = "none", word = "none", share = 0 },
]

[[section]]
id = "first"
title = "First section"

[[section.step]]
id = "feet"
title = "Feet together"
action = "Ask for feet together."
expected = "Feet touch."
finding = ["feet together"]
equipment = ["chair"]
caution = "Stand within reach."
points = 2
critical = true
sides = ["right", "left"]
view = ["feet"]
entry = "acuity"
criteria = [
    { id = "close", text = "Stands close" },
    { id = "ready", text = "Hands ready" },
]
targets = [
    { measure = "stance_width", low = 0.1, high = 0.45, unit = "1", source = "our course" },
    { measure = "hold_time", low = 20, unit = "s", source = "our course" },
]

[[section]]
id = "second"
title = "Second section"

[[section.step]]
id = "thanks"
title = "Thanks"
action = "Thank the partner."
expected = "Thanks are given."
caution = "Let them sit first."
points = 0.5
"""


def faults_of(text: str, known: dict[str, str] | None = KNOWN) -> tuple[Fault, ...]:
    """Return the faults of a text that must be refused."""
    with pytest.raises(ChecklistRefused) as refused:
        parse_checklist(text, "small.toml", known)
    return refused.value.faults


def line_with(text: str, part: str) -> int:
    """Return the only line that holds `part`, counted from 1."""
    found = [number for number, line in enumerate(text.split("\n"), 1) if part in line]
    assert len(found) == 1, (part, found)
    return found[0]


def test_a_good_file_becomes_the_checklist_it_describes() -> None:
    """Everything written is read, and what may be left out is empty."""
    sheet = parse_checklist(GOOD, "small.toml", KNOWN)
    feet, thanks = sheet.steps()
    assert (sheet.id, sheet.version, sheet.title, sheet.summary) == ("small", 3, "Small sheet", "Two steps.")
    assert [section.id for section in sheet.sections] == ["first", "second"]
    assert (feet.finding, feet.equipment, feet.critical, feet.points) == (("feet together",), ("chair",), True, 2.0)
    assert (feet.sides, feet.places, feet.view) == (("right", "left"), ("right", "left"), ("feet",))
    assert (feet.entry, thanks.entry) == ("acuity", None)
    assert [(part.id, part.text) for part in feet.criteria] == [("close", "Stands close"), ("ready", "Hands ready")]
    assert [(target.measure, target.low, target.high) for target in feet.targets] == [
        ("stance_width", 0.1, 0.45),
        ("hold_time", 20.0, None),
    ]
    assert (thanks.finding, thanks.equipment, thanks.critical, thanks.sides, thanks.view) == ((), (), False, (), ())
    assert (thanks.criteria, thanks.targets, thanks.places) == ((), (), (None,))


def test_every_scale_ends_with_not_assessable_without_a_share() -> None:
    """The level is added by itself, last, and carries no points."""
    levels = parse_checklist(GOOD, "small.toml").scale.levels
    assert [(level.key, level.share) for level in levels] == [
        ("full", 1.0),
        ("half", 0.5),
        ("none", 0.0),
        ("not_assessable", None),
    ]
    assert levels[-1].word == "not assessable"


def test_the_word_for_not_assessable_is_the_authors_but_not_its_key() -> None:
    """A course may call the level as it likes; stored grades keep its key."""
    text = GOOD.replace('name = "Three levels"', 'name = "Three levels"\nnot_assessable = "not on film"')
    last = parse_checklist(text, "small.toml").scale.levels[-1]
    assert (last.key, last.word) == ("not_assessable", "not on film")


def test_lines_of_a_long_text_are_joined_and_paragraphs_kept() -> None:
    """A text written over several lines reads as running text."""
    text = GOOD.replace('"Thank the partner."', '"""\nThank\n  the partner.\n\nAsk again.\n"""')
    assert parse_checklist(text, "small.toml").step("thanks").action == "Thank the partner.\n\nAsk again."


LEVELS = GOOD[GOOD.index("levels = [") : GOOD.index("[[section]]")]
SECTIONS = GOOD[GOOD.index("[[section]]") :]
SECOND_STEP = GOOD[GOOD.rindex("[[section.step]]") :]
HOLD = 'measure = "hold_time", low = 20, unit = "s"'
ONE_LEVEL, SEVEN_LEVELS = (
    ", ".join(f'{{ key = "k{i}", word = "w{i}", share = {1 - i / 10} }}' for i in range(count)) for count in (1, 7)
)

CASES = {
    # What is wrong: written in GOOD, written instead, place of the fault, part of the message.
    "unknown key at the top": ("version = 3", 'version = 3\nauthr = "me"', "authr", "key of a checklist is called"),
    "unknown key in a step": ("critical = true", "critcal = true", "critcal", "Did you mean critical"),
    "unknown key in a section": ('title = "First', 'sumary = "x"\ntitle = "First', "sumary", "key of a section"),
    "unknown key in the scale": ('name = "Three', 'hue = "x"\nname = "Three', "hue", "key of a scale"),
    "unknown key in a level": ("share = 0.5 }", "share = 0.5, hue = 1 }", "hue", "key of a level"),
    "unknown key in a criterion": ('= "Stands close" }', '= "x", hue = 1 }', "hue = 1", "key of a criterion"),
    "unknown key in a target": ("low = 20, unit", "lo = 1, low = 20, unit", "lo = 1", "Did you mean low"),
    "no title of the checklist": ('title = "Small sheet"\n', "", 'id = "small"', "this checklist has no title"),
    "no notice": ('notice = "Practice feedback."\n', "", 'id = "small"', "this checklist has no notice"),
    "no scale": ('[scale]\nname = "Three levels"\n' + LEVELS, "", 'id = "small"', "this checklist has no scale"),
    "no levels": (LEVELS, "", "[scale]", "this scale has no level"),
    "no word of a level": ('word = "half", ', "", '"half"', "this level has no word"),
    "no title of a section": ('title = "Second section"\n', "", "[[section]]:2", "this section has no title"),
    "no action": ('action = "Thank the partner."\n', "", "[[section.step]]:2", "this step has no action"),
    "no points": ("points = 0.5\n", "", "[[section.step]]:2", "this step has no points"),
    "no caution": ('caution = "Let them sit first."\n', "", "[[section.step]]:2", "this step has no caution; say"),
    "no source of a target": ('"s", source = "our course"', '"s"', "hold_time", "this target has no source"),
    "no unit of a target": ('low = 20, unit = "s"', "low = 20", "hold_time", "this target has no unit"),
    "no measure of a target": ('measure = "hold_time", ', "", "low = 20", "this target has no measure"),
    "no text of a criterion": (', text = "Hands ready"', "", '"ready"', "this criterion has no text"),
    "section without steps": (SECOND_STEP, "", "[[section]]:2", "this section has no step"),
    "no sections": (SECTIONS, "", 'id = "small"', "this checklist has no section"),
    "empty caution": ('"Let them sit first."', '" \\n "', "\\n", "caution is empty"),
    "empty finding": ('["feet together"]', '["feet together",\n""]', '""', "finding is empty"),
    "number for text": ('title = "Thanks"', "title = 5", "title = 5", "title is the number 5; expected text"),
    "date for text": ('title = "Thanks"', "title = 2026-01-02", "2026", "title is the date or time 2026-01-02"),
    "list for text": ('title = "Thanks"', 'title = ["x"]', 'title = ["x"]', "title is a list"),
    "table for text": ('title = "Thanks"', 'title = { a = "x" }', "title = {", "title is a table"),
    "text for a list": ('equipment = ["chair"]', 'equipment = "chair"', "equipment", "expected a list of texts"),
    "text for a number": ("points = 0.5", 'points = "half"', 'points = "half"', "points is the text 'half'"),
    "switch for a number": ("points = 0.5", "points = true", "points = true", "points is the switch true"),
    "text for a switch": ("critical = true", 'critical = "yes"', "critical", "expected true or false"),
    "number among texts": ('["feet together"]', '["feet together",\n7]', "7]", "finding is the number 7"),
    "text among tables": ('{ id = "ready", text = "Hands ready" }', '"ready"', '"ready"', "describes a criterion"),
    "scale in double brackets": ("[scale]", "[[scale]]", "[[scale]]", "scale is a list; expected a table"),
    "step in single brackets": (
        '[[section.step]]\nid = "thanks',
        '[section.step]\nid = "thanks',
        "[section.step]:2",
        "step is one table; expected a list of tables",
    ),
    "id with a capital": ('id = "thanks"', 'id = "Thanks"', 'id = "Thanks"', "id is 'Thanks'; expected small letters"),
    "id with a space": ('id = "second"', 'id = "second part"', "second part", "expected small letters"),
    "id with a digit first": ('id = "small"', 'id = "5small"', "5small", "expected small letters"),
    "criterion id with a dash": ('id = "close"', 'id = "close-by"', "close-by", "expected small letters"),
    "level key with a capital": ('key = "half"', 'key = "Half"', '"Half"', "key is 'Half'; expected small letters"),
    "step id taken": ('id = "thanks"', 'id = "feet"', 'id = "feet":2', "id 'feet' of this step is taken on line 20"),
    "section id taken": ('id = "second"', 'id = "first"', 'id = "first":2', "id 'first' of this section is taken"),
    "criterion id taken": ('id = "ready"', 'id = "close"', "Hands ready", "id 'close' of this criterion is taken"),
    "level key taken": ('key = "half"', 'key = "full"', '"half"', "key 'full' of this level is taken on line 10"),
    "level word taken": ('word = "half"', 'word = "fully"', '"half"', "word 'fully' of this level is taken"),
    "measure taken": (HOLD, 'measure = "stance_width", low = 2, unit = "1"', "low = 2,", "of this target is taken"),
    "unknown side": ('["right", "left"]', '["right",\n"lft"]', "lft", "No side is called 'lft'. Did you mean left?"),
    "side twice": ('["right", "left"]', '["right",\n"right"]', '"right"]', "sides names 'right' twice"),
    "unknown view": ('["feet"]', '["feat"]', "feat", "No view is called 'feat'. Did you mean feet"),
    "unknown kind of entry": ('"acuity"', '"acuty"', "acuty", "called 'acuty'. Did you mean acuity?"),
    "kind of entry far off": ('"acuity"', '"xyz"', "xyz", "Known: acuity, reflex, rinne, weber, whisper."),
    "number for a kind of entry": ('"acuity"', "3", "entry = 3", "entry is the number 3; expected text"),
    "points below 0": ("points = 0.5", "points = -1", "points = -1", "points is the number -1; expected a number of 0"),
    "points without end": ("points = 0.5", "points = inf", "points = inf", "points is the number inf"),
    "points not a number": ("points = 0.5", "points = nan", "points = nan", "points is the number nan"),
    "version 0": ("version = 3", "version = 0", "version", "expected a whole number of 1 or more"),
    "version not whole": ("version = 3", "version = 1.5", "version", "version is the number 1.5; expected a whole"),
    "version a switch": ("version = 3", "version = true", "version", "version is the switch true"),
    "low above high": ("low = 0.1", "low = 0.5", "low = 0.5", "low is 0.5, above high, 0.45"),
    "target without an end": ("low = 20, ", "", "hold_time", "this target has no end"),
    "end that is text": ("low = 20", 'low = "20"', "hold_time", "low is the text '20'; expected a number."),
    "unknown measure shown": (
        "points = 0.5",
        'points = 0.5\nmeasures = ["hold_tme"]',
        "hold_tme",
        "Did you mean hold_time?",
    ),
    "measure shown beside its target": (
        'view = ["feet"]',
        'view = ["feet"]\nmeasures = ["hold_time"]',
        'measures = ["hold_time"]',
        "hold_time has a target on this step already",
    ),
    "unknown measure": ('"hold_time"', '"hold_tme"', "hold_tme", "called 'hold_tme'. Did you mean hold_time?"),
    "unit of another measure": ('unit = "s"', 'unit = "ms"', "hold_time", "unit is 'ms'; expected 's'"),
    "one level": (LEVELS, f"levels = [{ONE_LEVEL}]\n", "levels =", "levels has 1; expected 2 to 6"),
    "seven levels": (LEVELS, f"levels = [{SEVEN_LEVELS}]\n", "levels =", "levels has 7; expected 2 to 6"),
    "share above 1": (
        "share = 0.5",
        "share = 50",
        "share = 50",
        "share is the number 50; expected a number from 0 to 1",
    ),
    "share below 0": ("share = 0.5", "share = -0.5", "share = -0.5", "share is the number -0.5"),
    "no full share": ("share = 1 ", "share = 0.9 ", "levels = [", "no level has the share 1"),
    "worse level first": ("share = 0 ", "share = 0.7 ", "levels = [", "the shares go 1, 0.5, 0.7; expected the best"),
    "not assessable as a level": ('key = "none"', 'key = "not_assessable"', '"none"', "is always there"),
    "empty word for it": ('name = "Three', 'not_assessable = ""\nname = "Three', "not_as", "not_assessable is empty"),
}


def line_at(text: str, place: str) -> int:
    """Return the line of `place`: a part of the only line with it, or "part:n" for the nth line with the part."""
    part, _, nth = place.rpartition(":")
    found = [number for number, line in enumerate(text.split("\n"), 1) if (part or place) in line]
    return found[int(nth) - 1] if part else line_with(text, place)


@pytest.mark.parametrize(
    ("written", "instead", "place", "message"), [pytest.param(*case, id=name) for name, case in CASES.items()]
)
def test_one_fault_is_named_on_its_line(written: str, instead: str, place: str, message: str) -> None:
    """One thing is changed in a good file: that thing is named, on its line, and nothing else."""
    assert GOOD.count(written) == 1
    text = GOOD.replace(written, instead)
    assert [(fault.line, message in fault.text) for fault in faults_of(text)] == [(line_at(text, place), True)]


TOGETHER = """
version 0; unknown key in a level; level key taken; worse level first; empty finding; text for a list;
text for a switch; unknown side; unknown view; criterion id taken; low above high; end that is text;
unit of another measure; id with a space; id with a capital; number for text; no action; no caution; points below 0
"""


def test_all_faults_of_a_file_come_at_once_in_the_order_of_its_lines() -> None:
    """Nineteen things wrong in one file are nineteen faults, each on its own line."""
    chosen = [CASES[" ".join(name.split())] for name in TOGETHER.split(";")]
    text = GOOD
    for written, instead, _, _ in chosen:
        assert text.count(written) == 1
        text = text.replace(written, instead)
    found = faults_of(text)
    assert [fault.line for fault in found] == sorted(line_at(text, place) for _, _, place, _ in chosen)
    for _, _, place, message in chosen:
        assert sum(fault.line == line_at(text, place) and message in fault.text for fault in found) == 1


def test_the_message_counts_the_faults_and_lists_them_with_their_lines() -> None:
    """What a person reads has the name of the file, the number of faults, and a line for each."""
    with pytest.raises(ChecklistRefused) as refused:
        parse_checklist(GOOD.replace("points = 0.5", "points = -1").replace("version = 3", "version = 0"), "my.toml")
    assert str(refused.value).split("\n") == [
        "my.toml: 2 faults in this checklist; mend them and try again.",
        "  line 2: version is the number 0; expected a whole number of 1 or more.",
        "  line 51: points is the number -1; expected a number of 0 or more.",
    ]


def test_measures_and_units_are_not_judged_when_none_are_known() -> None:
    """Without a list of measures a target may name any."""
    text = GOOD.replace('"hold_time"', '"hold_tme"').replace('unit = "s"', 'unit = "ms"')
    target = parse_checklist(text, "small.toml").step("feet").targets[1]
    assert (target.measure, target.unit) == ("hold_tme", "ms")


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        pytest.param('id = "a"\ntitle = \n', 2, "column 9: Invalid value", id="no value"),
        pytest.param('id = "a"\n\nid = "b"\n', 3, "Cannot overwrite a value", id="a key twice"),
        pytest.param("[scale]\n\n[scale]\n", 3, "Cannot declare", id="a table twice"),
        pytest.param('id = "a"\ntitle = """no end\n\n', 2, "end of the file", id="a text without end"),
        pytest.param("points = [1,\n2", 2, "end of the file", id="a list without end"),
        pytest.param("day = 2026-02-30\n", 1, "date", id="a day that is none"),
        pytest.param("a = " + "[" * 5000 + "]" * 5000, 0, "too deep", id="lists without measure"),
        pytest.param("a = 1" + "0" * 5000, 0, "not TOML", id="a number without measure"),
    ],
)
def test_text_that_is_not_toml_is_one_fault_on_its_line(text: str, line: int, message: str) -> None:
    """Nothing behind the place can be read, so that place alone is named."""
    (fault,) = faults_of(text)
    assert (fault.line, message in fault.text) == (line, True), fault.text
