"""Quick phrases: sentences of a person's own that go into comments by a key."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Final

from review.access import Deed, demand
from review.actions.checks import check_id
from review.domain.errors import EntryRefused
from review.domain.model import Person, Phrase
from review.domain.text import check_text
from review.store.repository import Repository

MOST_CHARACTERS: Final = 200
"""Length above which a phrase is refused."""

MOST_PHRASES: Final = 40
"""How many phrases a person can keep."""


def keep(repo: Repository, person: Person, phrase_id: str, text: str) -> Phrase:
    """Keep a phrase, or change one of one's own; its place among the others stays.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Whose it is.
    phrase_id
        A UUID made by the caller.
    text
        What; blanks around it are taken off, and line ends within it become blanks.

    Raises
    ------
    EntryRefused
        If the text is empty or longer than `MOST_CHARACTERS`, or there are `MOST_PHRASES` already.
    NotAllowed
        If the phrase is somebody else's.
    """
    known = repo.phrases().find(check_id(phrase_id))
    demand(person, Deed.KEEP_PHRASE, owner=known.person_id if known else person.id)
    line = " ".join(text.split())
    if not 1 <= len(line) <= MOST_CHARACTERS:
        raise EntryRefused(
            f"A phrase of {len(line)} characters came; expected 1 to {MOST_CHARACTERS}. Nothing was changed."
        )
    if known is None and len(repo.phrases().of(person.id)) >= MOST_PHRASES:
        raise EntryRefused(f"There are {MOST_PHRASES} phrases already. Nothing was changed; drop one first.")
    phrase = Phrase(check_id(phrase_id), person.id, check_text(line), known.at if known else datetime.now(UTC))
    repo.phrases().put(phrase)
    return phrase


def drop(repo: Repository, person: Person, phrase_id: str) -> None:
    """Forget a phrase of one's own; comments that it was put into stay.

    Raises
    ------
    EntryRefused
        If there is no such phrase.
    NotAllowed
        If it is somebody else's.
    """
    known = repo.phrases().find(check_id(phrase_id))
    if known is None:
        raise EntryRefused("This phrase was dropped already. Nothing was changed.")
    demand(person, Deed.KEEP_PHRASE, owner=known.person_id)
    repo.phrases().drop(known.id)
