from __future__ import annotations

from uuid import uuid4

import pytest

from review.actions import comments
from review.domain.errors import EntryRefused, NotAllowed, NotFound
from review.domain.model import Interval
from review.store.repository import Repository
from tests.store import made

RECORDING = made.recording()


def test_a_comment_at_a_moment_and_one_over_a_stretch(repo: Repository) -> None:
    """Without an end a comment is a moment; blanks around the text go."""
    moment = comments.write(repo, made.LEARNER, RECORDING, 4.5, None, "  Arms drift. \n")
    stretch = comments.write(repo, made.PEER, RECORDING, 5, 9, "Eyes open too soon?", step_id="knee", side="left")
    assert repo.comments(RECORDING.id) == (moment, stretch)
    assert (moment.interval, moment.text) == (Interval(4.5, 4.5), "Arms drift.")
    assert (stretch.interval, stretch.step_id, stretch.side) == (Interval(5, 9), "knee", "left")


def test_an_answer_takes_the_moment_and_the_step(repo: Repository) -> None:
    """A reply stands where the comment stands that it answers."""
    asked = comments.write(repo, made.LEARNER, RECORDING, 5, 9, "Was this right?", step_id="knee", side="left")
    answer = comments.reply(repo, made.INSTRUCTOR, asked.id, "Tap the tendon, not the bone.")
    assert (answer.reply_to, answer.interval, answer.step_id, answer.side) == (asked.id, Interval(5, 9), "knee", "left")
    assert repo.comments(RECORDING.id) == (asked, answer)


def test_a_changed_comment_keeps_its_old_text(repo: Repository) -> None:
    """The text changes as a new revision; the moment stays."""
    comment = comments.write(repo, made.LEARNER, RECORDING, 4, None, "Old.")
    comments.change(repo, made.LEARNER, comment.id, " New. ")
    assert [entry.text for entry in repo.comment_history(comment.id)] == ["Old.", "New."]
    assert [entry.text for entry in repo.comments(RECORDING.id)] == ["New."]


def test_a_removed_comment_keeps_its_answers_but_takes_no_more(repo: Repository) -> None:
    """Removing takes one comment away; it can be neither answered nor changed nor removed again."""
    asked = comments.write(repo, made.LEARNER, RECORDING, 4, None, "Asked.")
    answer = comments.reply(repo, made.PEER, asked.id, "Answered.")
    comments.remove(repo, made.LEARNER, asked.id)
    assert repo.comments(RECORDING.id) == (answer,)
    with pytest.raises(EntryRefused, match="removed meanwhile"):
        comments.reply(repo, made.PEER, asked.id, "More.")
    with pytest.raises(EntryRefused, match="removed already"):
        comments.change(repo, made.LEARNER, asked.id, "x")
    with pytest.raises(EntryRefused, match="removed already"):
        comments.remove(repo, made.LEARNER, asked.id)


def test_nobody_changes_anothers_words(repo: Repository) -> None:
    """Neither text nor presence of a comment is anybody's but its author's."""
    comment = comments.write(repo, made.LEARNER, RECORDING, 4, None, "Mine.")
    with pytest.raises(NotAllowed, match="somebody else's"):
        comments.change(repo, made.INSTRUCTOR, comment.id, "Yours.")
    with pytest.raises(NotAllowed, match="somebody else's"):
        comments.remove(repo, made.PEER, comment.id)
    assert repo.comments(RECORDING.id) == (comment,)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "0 characters"),
        (" \n\t ", "0 characters"),
        ("x" * 2001, "2001 characters came; expected 1 to 2000"),
        ("cut \ud83d", "half a character at place 5"),
        ("nul \0.", "the character NUL at place 5"),
    ],
    ids=["empty", "blank", "too long", "half a character", "NUL"],
)
def test_text_that_says_nothing_or_too_much_is_refused(repo: Repository, text: str, words: str) -> None:
    """A comment has 1 to 2000 characters besides the blanks around it."""
    with pytest.raises(EntryRefused, match=words):
        comments.write(repo, made.LEARNER, RECORDING, 4, None, text)
    kept = comments.write(repo, made.LEARNER, RECORDING, 4, None, " " + "x" * 2000 + " ")
    with pytest.raises(EntryRefused, match=words):
        comments.change(repo, made.LEARNER, kept.id, text)
    with pytest.raises(EntryRefused, match=words):
        comments.reply(repo, made.LEARNER, kept.id, text)
    assert repo.comments(RECORDING.id) == (kept,)


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"onset_s": 20.5}, "start is 20.5 s"),
        ({"offset_s": 30.0}, "end is 30.0 s"),
        ({"side": "left"}, "without a step"),
        ({"step_id": "romberg", "side": "left"}, "expected no side"),
        ({"step_id": "rombergg"}, "Did you mean romberg"),
        ({"comment_id": "c1"}, "expected a UUID"),
    ],
    ids=["start behind", "end behind", "side alone", "side too many", "unknown step", "no UUID"],
)
def test_a_comment_stands_in_the_film_and_the_sheet(repo: Repository, facts: dict[str, object], words: str) -> None:
    """Times, steps, sides and ids are checked before anything is stored."""
    usual: dict[str, object] = {"onset_s": 4.0, "offset_s": None, "text": "Here."}
    with pytest.raises((EntryRefused, NotFound), match=words):
        comments.write(repo, made.LEARNER, RECORDING, **{**usual, **facts})
    assert repo.comments(RECORDING.id) == ()


def test_a_taken_id_is_not_written_over(repo: Repository) -> None:
    """A second new comment under the same id is refused."""
    identity = str(uuid4())
    comments.write(repo, made.LEARNER, RECORDING, 4, None, "One.", comment_id=identity)
    with pytest.raises(EntryRefused, match="changed meanwhile"):
        comments.write(repo, made.LEARNER, RECORDING, 5, None, "Two.", comment_id=identity)


def test_anybody_settles_a_comment_and_its_author_stays(repo: Repository) -> None:
    """Who said it, and when, stays; who settled it, and when, stands beside it; it can be opened again."""
    said = comments.write(repo, made.INSTRUCTOR, RECORDING, 4, None, "Stand nearer.")
    settled = comments.resolve(repo, made.LEARNER, said.id, True)
    assert (settled.person_id, settled.at, settled.text) == (made.INSTRUCTOR.id, said.at, said.text)
    assert settled.resolved_by == made.LEARNER.id
    assert settled.resolved_at is not None
    assert settled.resolved_at >= said.at
    opened = comments.resolve(repo, made.INSTRUCTOR, said.id, False)
    assert (opened.resolved_by, opened.resolved_at) == (None, None)
    assert repo.comments(RECORDING.id) == (opened,)


def test_an_answer_and_what_is_gone_are_not_settled(repo: Repository) -> None:
    """What is settled is the comment that the answer speaks to, and only while it is there."""
    said = comments.write(repo, made.INSTRUCTOR, RECORDING, 4, None, "Stand nearer.")
    answer = comments.reply(repo, made.LEARNER, said.id, "I will.")
    with pytest.raises(EntryRefused, match="expected the comment it answers"):
        comments.resolve(repo, made.LEARNER, answer.id, True)
    comments.remove(repo, made.INSTRUCTOR, said.id)
    with pytest.raises(EntryRefused, match="removed already"):
        comments.resolve(repo, made.LEARNER, said.id, True)
