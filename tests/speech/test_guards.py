"""What nobody said is not written down, however sure the recogniser pretends to be."""

import pytest

from review.domain.transcript import Word, said
from review.speech.guards import Passage, believed


def _passage(text: str, sure: float = 0.9, silent: float = 0.0, likely: float = -0.3, alike: float = 1.2) -> Passage:
    words = tuple(Word(word, 1 + 0.4 * at, 1.3 + 0.4 * at, sure) for at, word in enumerate(text.split()))
    return Passage(words, silent, likely, alike)


def _kept(passage: Passage, speech: tuple[float, float] = (0.0, 60.0)) -> str:
    return said(believed([passage], [speech]))


def test_what_was_said_is_kept_word_by_word() -> None:
    """A likely passage inside of speech stays as it is, with its times."""
    passage = _passage("Pupils equal and round.")
    assert tuple(believed([passage], [(0.0, 9.0)])) == passage.words


@pytest.mark.parametrize(
    "passage",
    [
        _passage("Thank you for watching.", sure=0.5),
        _passage("Thank you.", sure=0.4),
        _passage("[Music]"),
        _passage("(door closes)"),
        _passage("the tongue is midline", likely=-1.3),
        _passage("the tongue is midline", silent=0.9, likely=-0.8),
        _passage("and and and and", alike=3.1),
        _passage("the tongue is midline", sure=0.1),
    ],
    ids=["made up", "made up, short", "a note", "a note in brackets", "unlikely", "silent", "repeating", "unsure"],
)
def test_what_was_guessed_is_dropped(passage: Passage) -> None:
    """Each sign that a passage was made up out of noise is enough."""
    assert _kept(passage) == ""


def test_a_courtesy_that_was_surely_said_is_kept() -> None:
    """A learner does thank the partner at the end."""
    assert _kept(_passage("Thank you.", sure=0.95)) == "Thank you."


def test_a_word_that_the_recogniser_cannot_leave_is_kept_three_times() -> None:
    """Three times may be said; twelve times is the model's own fault."""
    assert _kept(_passage("no " * 12 + "nystagmus")) == "no no no nystagmus"


def test_words_outside_of_speech_are_dropped() -> None:
    """Nothing is said while nobody speaks: of five words from 1 s on, two lie before 1.7 s."""
    assert _kept(_passage("one two three four five"), (0.0, 1.7)) == "one two"
