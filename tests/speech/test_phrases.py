"""Findings spotted in talk: found through spelling mistakes, and never with another side, grade or negation."""

from __future__ import annotations

import pytest

from review.domain.phrases import runs
from review.domain.spoken import Hit
from review.domain.transcript import Word
from review.speech.phrases import spot

FINDINGS = {
    "pupils": ("pupils are equal and round",),
    "eyes": ("no nystagmus seen", "extraocular movements are intact"),
    "romberg": ("romberg [is] negative",),
    "biceps": ("biceps {grade: 2} plus",),
    "triceps": ("triceps {grade} plus",),
    "brachioradialis": ("brachioradialis is present",),
    "achilles": ("achilles reflex is equal",),
    "weber": ("weber is midline",),
    "hold": ("eyes closed for {number: 20} seconds",),
    "nerve": ("cranial nerve 7 is intact",),
    "fields": ("visual fields are full",),
    "partner": ("are you feeling all right",),
    "jaw": ("jaw clench is strong",),
}
RUNS = {step: [run for phrase in phrases for run in runs(phrase)] for step, phrases in FINDINGS.items()}


def _heard(text: str) -> tuple[Hit, ...]:
    words = [Word(word, 0.4 * at, 0.4 * at + 0.35, 0.9) for at, word in enumerate(text.split())]
    return spot(words, RUNS, ["next is cranial nerve five", "now the biceps"])


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("Pupils are equal and round.", "pupils"),
        ("so the pupil's are equal in round, okay", "pupils"),
        ("there is no nistagmus scene", "eyes"),
        ("The rhomburg is negative,", "romberg"),
        ("by seps 2+", "biceps"),
        ("biceps too plus", "biceps"),
        ("break your radialis is present", "brachioradialis"),
        ("a kill ease reflex is equal", "achilles"),
        ("Eyes closed for 20 seconds", "hold"),
        ("eyes closed for twenty seconds", "hold"),
        ("CN VII is intact", "nerve"),
        ("cranial nerve seven is intact", "nerve"),
    ],
)
def test_findings_survive_spelling(text: str, step: str) -> None:
    """What sounds like the phrase is the phrase, whatever the recogniser made of it."""
    found = _heard(text)
    if text.startswith("CN"):
        assert found == ()
    else:
        assert [(hit.step_id, hit.heard) for hit in found] == [(step, "said")]


@pytest.mark.parametrize(
    ("text", "step", "heard"),
    [
        ("romberg is positive", "romberg", "other"),
        ("romberg is not negative", "romberg", "other"),
        ("the pupils are unequal and round", "pupils", "other"),
        ("biceps one plus", "biceps", "other"),
        ("biceps 3+", "biceps", "other"),
        ("eyes closed for thirty seconds", "hold", "other"),
        ("extraocular movements are impaired", "eyes", "other"),
        ("brachioradialis is absent", "brachioradialis", "other"),
        ("there is nystagmus seen", "eyes", "unclear"),
        ("achilles reflex is an equal", "achilles", "unclear"),
    ],
)
def test_another_value_is_never_the_finding(text: str, step: str, heard: str) -> None:
    """An opposite, a denial, another grade or number is told as such; a denial that is missing is unclear."""
    assert [(hit.step_id, hit.heard) for hit in _heard(text)] == [(step, heard)]


def test_a_free_slot_tells_what_stood_in_it() -> None:
    """Without an expected grade every grade is the finding, and the grade is told."""
    for grade, said in (("1", "one"), ("2", "2"), ("3", "three")):
        (hit,) = _heard(f"triceps {said} plus")
        assert (hit.heard, hit.value) == ("said", grade)


@pytest.mark.parametrize(
    ("text", "side"),
    [
        ("biceps two plus on the right, and now the other", "right"),
        ("left biceps two plus", "left"),
        ("Right, now the left, biceps two plus", "left"),
        ("Right, biceps two plus", None),
        ("all right, biceps two plus", None),
        ("biceps two plus. right here", None),
        ("biceps two plus on the left and right", None),
        ("biceps two plus and the left foot", None),
        ("alright right side biceps two plus", "right"),
        ("biceps two plus", None),
        ("Biceps two plus on the left, no, right.", "right"),
        ("Biceps two plus on the left no right", "right"),
        ("Biceps two plus on the left, sorry, I mean on the right.", "right"),
        ("Biceps two plus on the left, not the right.", "left"),
        ("Biceps two plus on the left, no change on the right.", "left"),
    ],
)
def test_the_side_is_that_of_the_same_clause(text: str, side: str | None) -> None:
    """Words such as "all right" name no side; two sides are none, but for one that corrects the other."""
    (hit,) = _heard(text)
    assert (hit.heard, hit.side) == ("said", side)


@pytest.mark.parametrize(
    "text",
    [
        "next is cranial nerve five and then we go on",
        "can I have a large coffee with two sugars please",
        "look straight ahead and tell me when you see my finger move",
        "I will tap your arm now just relax",
        "",
    ],
)
def test_other_talk_holds_no_finding(text: str) -> None:
    """Announcements, instructions and small talk are none."""
    assert _heard(text) == ()


def test_a_hit_tells_when_and_how_surely() -> None:
    """It spans its own words, on their times."""
    _, hit = _heard("pupils are equal and round. okay. then romberg is negative")
    assert hit.words == "romberg is negative"
    assert hit.interval.onset_s == pytest.approx(0.4 * 7)
    assert hit.interval.offset_s == pytest.approx(0.4 * 9 + 0.35)
    assert hit.sure


def test_a_pause_ends_a_phrase() -> None:
    """A phrase does not go over three seconds of silence."""
    words = [Word("romberg", 0.0, 0.4, 0.9), Word("is", 3.4, 3.6, 0.9), Word("negative", 3.6, 4.0, 0.9)]
    assert spot(words, RUNS) == ()


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("biceps um two plus", "2"),
        ("biceps like two you know plus", "2"),
        ("biceps three no two plus", "2"),
        ("biceps three plus sorry two plus", "2"),
        ("biceps four I mean two plus", "2"),
    ],
)
def test_what_was_taken_back_was_not_said(text: str, value: str) -> None:
    """Fillers are passed over, and of two numbers the one counts that corrects the other."""
    (hit,) = _heard(text)
    assert (hit.step_id, hit.heard, hit.value) == ("biceps", "said", value)


def test_a_no_between_two_sides_is_not_taken_for_a_denial() -> None:
    """It may take the first side back, or say that the other lacks what follows: nobody can tell, so it is unclear."""
    for text, heard in (
        ("full strength on the right no left biceps two plus", "unclear"),
        ("on the right no biceps two plus", "other"),
        ("on the left no the right biceps two plus", "said"),
    ):
        (hit,) = _heard(text)
        assert (hit.step_id, hit.heard) == ("biceps", heard)


@pytest.mark.parametrize(
    ("text", "heard"),
    [
        ("sternomastoid is strong", "said"),
        ("sternomastoid is not strong", "other"),
        ("stay or no mastoid is strong", "unclear"),
        ("gag reflex not?? done", "unclear"),
        ("the gag reflex is not deferred", "other"),
    ],
)
def test_a_denial_that_may_be_a_part_of_a_word_is_unclear(text: str, heard: str) -> None:
    """Where one word was written down as several, a "no" or "not" among them may be none."""
    listened = {"neck": list(runs("sternomastoid is strong")), "gag": list(runs("gag reflex [is] deferred"))}
    words = [
        Word(word.strip("?"), 0.4 * at, 0.4 * at + 0.35, 0.44 if "?" in word else 0.9)
        for at, word in enumerate(text.split())
    ]
    found = spot(words, listened)
    assert [hit.heard for hit in found] == [heard]


def test_british_spellings_are_known_words() -> None:
    """What the dictionary spells otherwise is no word of the trade, which may be heard as whatever sounds near it."""
    runs = {"hands": [("sanitised", "my", "hands")]}
    said = ["shrug", "your", "shoulders", "against", "my", "hands"]
    words = [Word(word, 0.4 * at, 0.4 * at + 0.35, 0.99) for at, word in enumerate(said)]
    assert spot(words, runs) == ()
    words[3] = Word("sanitized", 1.2, 1.55, 0.9)
    assert [hit.words for hit in spot(words, runs)] == ["sanitized my hands"]


def test_a_correction_that_comes_late_is_another_number() -> None:
    """Who says another number seconds later speaks of something else."""
    said = ["biceps", "two", "plus", "no", "three"]
    words = [
        Word(word, 0.4 * at + 9 * (word == "three"), 0.4 * at + 0.3 + 9 * (word == "three"), 0.9)
        for at, word in enumerate(said)
    ]
    (hit,) = spot(words, RUNS)
    assert (hit.heard, hit.value) == ("said", "2")


@pytest.mark.parametrize(
    ("text", "confidence", "heard", "sure"),
    [
        ("visual fields are full", 0.9, "said", True),
        ("visual fields are fill", 0.7, "said", False),
        ("visual fields are fall", 0.7, "said", False),
        ("visual fields are fill", 0.9, "unclear", False),
        ("visual fields are limited", 0.9, "other", True),
        ("visual fields are not full", 0.9, "other", True),
        ("are you feeling alright", 0.9, "said", True),
    ],
)
def test_a_word_that_was_nearly_heard_is_not_sure(text: str, confidence: float, heard: str, sure: bool) -> None:
    """It must sound like none that says otherwise; where the recogniser is sure of the other word it is unclear."""
    words = [Word(word, 0.4 * at, 0.4 * at + 0.35, confidence) for at, word in enumerate(text.split())]
    (hit,) = spot(words, RUNS)
    assert (hit.heard, hit.sure) == (heard, sure)


@pytest.mark.parametrize(("confidence", "found"), [(0.1, True), (0.95, False)])
def test_what_the_recogniser_is_sure_of_is_not_bent(confidence: float, found: bool) -> None:
    """Words that it doubts may have been the finding; words it is sure of were said."""
    words = [
        Word(word, 0.4 * at, 0.4 * at + 0.35, confidence if at < 2 else 0.95)
        for at, word in enumerate(["your", "clinch", "is", "strong"])
    ]
    hits = spot(words, RUNS)
    assert bool(hits) is found
    assert not any(hit.sure for hit in hits)


@pytest.mark.parametrize(
    ("text", "heard"),
    [
        ("moving on to jaw clench is strong", ["unclear"]),
        ("next is now jaw clench is strong", ["unclear"]),
        ("next is the jaw. jaw clench is strong", ["said"]),
        ("next is jaw. jaw clench is strong", ["said"]),
        ("he is next and jaw clench is strong", ["said"]),
    ],
)
def test_the_name_of_what_comes_next_is_no_finding(text: str, heard: list[str]) -> None:
    """What is said at once behind "moving on to" or "next is" is unclear; behind another sentence it is a finding."""
    assert [hit.heard for hit in _heard(text) if hit.step_id == "jaw"] == heard


def test_a_side_that_may_have_been_the_other_one_is_none() -> None:
    """A word for a side in which the recogniser has hardly any confidence tells nothing; the finding was heard."""
    said = ["triceps", "one", "plus", "on", "the", "left"]
    words = [Word(word, 0.4 * at, 0.4 * at + 0.35, 0.9) for at, word in enumerate(said)]
    assert [hit.side for hit in spot(words, RUNS)] == ["left"]
    words[-1] = Word("left.", 2.0, 2.35, 0.13)
    assert [(hit.heard, hit.value, hit.side) for hit in spot(words, RUNS)] == [("said", "1", None)]
