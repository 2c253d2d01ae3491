from __future__ import annotations

import pytest

from review.actions import entries
from review.domain.errors import EntryFaulty, EntryRefused, NotFound
from review.store.repository import Repository
from tests.store import made

RECORDING = made.recording()


def test_a_second_entry_replaces_the_first_and_keeps_it(repo: Repository) -> None:
    """One person has one current entry for a place, as typed and as read; what it was before stays in its history."""
    first = entries.enter(repo, made.LEARNER, RECORDING, "knee", "left", " 2+ on NINDS ")
    second = entries.enter(repo, made.LEARNER, RECORDING, "knee", "left", "2 on 0 to 4+")
    assert repo.entries(RECORDING.id) == (second,)
    assert repo.entry_history(first.id) == (first, second)
    assert (first.kind, first.text, first.fields["scale"], first.fields["grade"]) == (
        "reflex",
        "2+ on NINDS",
        "NINDS",
        2,
    )
    assert (second.fields["scale"], second.revision) == ("0 to 4+", 2)


def test_each_person_and_side_has_an_entry_of_its_own(repo: Repository) -> None:
    """Entries of other people and sides do not touch one another."""
    entries.enter(repo, made.LEARNER, RECORDING, "knee", "left", "2 on NINDS")
    entries.enter(repo, made.LEARNER, RECORDING, "knee", "right", "3 on NINDS")
    entries.enter(repo, made.PEER, RECORDING, "knee", "left", "1 on NINDS")
    found = [(entry.person_id, entry.side, entry.fields["grade"]) for entry in repo.entries(RECORDING.id)]
    assert found == [("p-learner", "left", 2), ("p-learner", "right", 3), ("p-peer", "left", 1)]


def test_a_withdrawn_entry_can_be_made_again(repo: Repository) -> None:
    """Withdrawing takes the entry out of the current ones; the history shows all that was said."""
    made_first = entries.enter(repo, made.LEARNER, RECORDING, "knee", "left", "2 on NINDS")
    entries.withdraw(repo, made.LEARNER, RECORDING, "knee", "left")
    assert repo.entries(RECORDING.id) == ()
    with pytest.raises(NotFound, match="L-07 has entered nothing for knee left"):
        entries.withdraw(repo, made.LEARNER, RECORDING, "knee", "left")
    entries.enter(repo, made.LEARNER, RECORDING, "knee", "left", "3 on NINDS")
    assert [entry.removed for entry in repo.entry_history(made_first.id)] == [False, True, False]


def test_anothers_entry_cannot_be_withdrawn(repo: Repository) -> None:
    """What a peer withdraws is the peer's own entry, of which there is none."""
    entries.enter(repo, made.LEARNER, RECORDING, "knee", "left", "2 on NINDS")
    with pytest.raises(NotFound, match="P-03 has entered nothing"):
        entries.withdraw(repo, made.PEER, RECORDING, "knee", "left")
    assert len(repo.entries(RECORDING.id)) == 1


def test_what_cannot_be_is_refused_with_all_its_faults(repo: Repository) -> None:
    """A grade outside of every scale, without a scale's name, is two faults, and nothing is stored."""
    with pytest.raises(EntryFaulty, match="Nothing was changed") as refused:
        entries.enter(repo, made.LEARNER, RECORDING, "knee", "left", "9")
    assert len(refused.value.faults) == 2
    assert repo.entries(RECORDING.id) == ()


@pytest.mark.parametrize(
    ("step", "side", "words"),
    [
        ("romberg", None, "'Romberg' takes no entry; its checklist names none"),
        ("knee", None, "expected right or left"),
        ("nowhere", None, "No step is called 'nowhere'"),
    ],
    ids=["no entry", "no side", "no step"],
)
def test_a_place_without_a_field_is_refused(repo: Repository, step: str, side: None, words: str) -> None:
    """Only steps whose checklist asks for an entry take one, on their own sides."""
    with pytest.raises((EntryRefused, NotFound), match=words):
        entries.enter(repo, made.LEARNER, RECORDING, step, side, "2 on NINDS")
    assert repo.entries(RECORDING.id) == ()
