"""Noting what the examined person of a recording agreed to, and taking it back."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from typing import Any, Final, NamedTuple

from review.access import Deed, allowed
from review.domain.errors import EntryRefused
from review.domain.model import Person
from review.domain.sharing import Audience, Bystanders, Consent
from review.pipeline.jobs import take_from_queue
from review.store.home import Home
from review.store.repository import Repository, repository

_PARTNER: Final = re.compile(r"(?:[^\W\d_]\.?[ -]?){1,3}|[^\W\d_]{1,4}-[0-9]{1,4}")
TAKEN_BACK: Final = "consent taken back"
NOTED: Final = "consent noted"


class Terms(NamedTuple):
    """What somebody agreed to: to whom a film may be shown, until when, who else is in it, and who agreed."""

    audiences: frozenset[Audience]
    until: date | None = None
    bystanders: Bystanders = Bystanders.NOBODY
    partner: str = ""


def read_terms(audiences: Iterable[str], until: str = "", bystanders: str = "nobody", partner: str = "") -> Terms:
    """Read terms from words that came from outside; nothing is stored.

    Parameters
    ----------
    audiences
        Any of the values of `Audience`; none if it may be shown to nobody else.
    until
        Last day, as 2026-12-31; empty for none.
    bystanders
        One of the values of `Bystanders`.
    partner
        Initials or a code of the examined person, or empty.

    Raises
    ------
    EntryRefused
        Naming all that is wrong at once.
    """
    said = list(audiences)
    faults = [
        f"{one!r} is nobody a film is shown to; expected {_listed(Audience)}"
        for one in said
        if one not in set(Audience)
    ]
    if bystanders not in set(Bystanders):
        faults.append(f"{bystanders[:40]!r} says nothing about others in the film; expected {_listed(Bystanders)}")
    day = None
    try:
        day = date.fromisoformat(until) if until else None
    except ValueError:
        faults.append(f"{until[:40]!r} is no day; expected one such as 2027-01-31, or nothing")
    faults += _faults(day, partner.strip())
    if faults:
        raise EntryRefused(f"{'; '.join(faults)}. Nothing was noted.")
    return Terms(frozenset(map(Audience, said)), day, Bystanders(bystanders), partner.strip())


def terms_of(said: Mapping[str, Any]) -> Terms:
    """Read terms from the JSON object that a page sends; raises EntryRefused as `read_terms` does."""
    audiences = said.get("audiences")
    words = {name: said.get(name) or "" for name in ("until", "bystanders", "partner")}
    if not isinstance(audiences, list) or not all(isinstance(one, str) for one in (*audiences, *words.values())):
        raise EntryRefused("A list of whom the film may be shown to, and texts, were expected. Reload the page.")
    return read_terms(audiences, words["until"], words["bystanders"] or Bystanders.NOBODY, words["partner"])


def _listed(choices: Iterable[str]) -> str:
    return ", ".join(str(one) for one in choices)


def _faults(until: date | None, partner: str) -> list[str]:
    today = datetime.now(UTC).date()
    faults = [] if until is None or until >= today else [f"{until} has passed; expected {today} or a later day"]
    if partner and not (_PARTNER.fullmatch(partner) and partner == partner.upper()):
        faults.append(
            f"{partner[:40]!r} came for the examined person; expected up to three initials such as K.M., or a code "
            "such as P-12, and no name"
        )
    return faults


def note(
    home: Home,
    person: Person,
    recording_id: str,
    audiences: Iterable[Audience],
    until: date | None = None,
    bystanders: Bystanders = Bystanders.NOBODY,
    partner: str = "",
) -> Consent:
    """Note what the examined person agreed to, as the next version; what was noted before stays in the history.

    The same terms once more change nothing.

    Parameters
    ----------
    audiences, until, bystanders, partner
        As in `Terms`.

    Raises
    ------
    EntryRefused
        If the last day has passed, or `partner` is more than initials or a code.
    """
    terms = Terms(frozenset(audiences), until, bystanders, partner.strip())
    faults = _faults(terms.until, terms.partner)
    if faults:
        raise EntryRefused(f"{'; '.join(faults)}. Nothing was noted.")
    with repository(home) as repo:
        recording = allowed(repo, person, Deed.NOTE_CONSENT, recording_id)
        known = recording.sharing.consent
        if known is not None and not known.withdrawn and _terms(known) == terms:
            return known
        return _put(repo, person, recording.id, known, terms)


def withdraw(home: Home, person: Person, recording_id: str) -> Consent:
    """Note that the examined person took the consent back; from now on nobody sees the film any more.

    Whoever may note it may do this without any consent noted before. What waits for analysis is taken out of the queue.
    The recording stays until it is erased.
    """
    with repository(home) as repo:
        recording = allowed(repo, person, Deed.NOTE_CONSENT, recording_id)
        known = recording.sharing.consent
        if known is not None and known.withdrawn:
            return known
        partner, bystanders = ("", Bystanders.NOBODY) if known is None else (known.partner, known.bystanders)
        terms = Terms(frozenset(), None, bystanders, partner)
        taken = _put(repo, person, recording.id, known, terms, withdrawn=True)
        take_from_queue(repo, recording.id)
        return taken


def _terms(consent: Consent) -> Terms:
    return Terms(consent.audiences, consent.until, consent.bystanders, consent.partner)


def _put(
    repo: Repository, person: Person, recording_id: str, known: Consent | None, terms: Terms, withdrawn: bool = False
) -> Consent:
    """Store the next version, and a line of the trail."""
    version, now = 1 + (known.version if known else 0), datetime.now(UTC)
    consent = Consent(recording_id, version, *terms, noted_by=person.id, at=now, withdrawn=withdrawn)
    repo.sharings().put_consent(consent)
    what = TAKEN_BACK if withdrawn else NOTED
    repo.looks().note(person.id, recording_id, Deed.NOTE_CONSENT, what, True, now)
    return consent
