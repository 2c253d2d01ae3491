"""Quick phrases belong to one person."""

from __future__ import annotations

from uuid import uuid4

import pytest

from review.actions import phrases
from review.domain.errors import EntryRefused, NotAllowed
from review.store.repository import Repository
from tests.store import made

FIRST, SECOND = str(uuid4()), str(uuid4())


def _texts(repo: Repository) -> list[str]:
    return [phrase.text for phrase in repo.phrases().of(made.LEARNER.id)]


def test_phrases_keep_their_order_when_changed(repo: Repository) -> None:
    """A changed phrase stays where it was, so that its key stays the same."""
    phrases.keep(repo, made.LEARNER, FIRST, "Feet together.")
    phrases.keep(repo, made.LEARNER, SECOND, "Say the finding.")
    phrases.keep(repo, made.LEARNER, FIRST, "Feet  closer.")
    assert _texts(repo) == ["Feet closer.", "Say the finding."]
    phrases.drop(repo, made.LEARNER, FIRST)
    assert _texts(repo) == ["Say the finding."]
    assert repo.phrases().of(made.INSTRUCTOR.id) == ()


def test_phrases_of_others_are_out_of_reach(repo: Repository) -> None:
    """An id of somebody else's phrase neither changes nor drops it."""
    phrases.keep(repo, made.LEARNER, FIRST, "Feet together.")
    with pytest.raises(NotAllowed):
        phrases.keep(repo, made.INSTRUCTOR, FIRST, "Mine now.")
    with pytest.raises(NotAllowed):
        phrases.drop(repo, made.INSTRUCTOR, FIRST)
    assert _texts(repo) == ["Feet together."]


def test_there_is_an_end_to_phrases(repo: Repository) -> None:
    """One more than the limit is refused; a change of a known one is not."""
    names = [str(uuid4()) for _ in range(phrases.MOST_PHRASES)]
    for name in names:
        phrases.keep(repo, made.LEARNER, name, "Again.")
    with pytest.raises(EntryRefused, match="drop one first"):
        phrases.keep(repo, made.LEARNER, FIRST, "One more.")
    phrases.keep(repo, made.LEARNER, names[0], "Changed.")
    assert sorted(set(_texts(repo))) == ["Again.", "Changed."]
