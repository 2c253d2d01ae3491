"""What examined persons agreed to, in plain words: of one recording, and of all that a person may note it for."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any, Final

from review.access import Deed, allowed, may
from review.domain.model import Person, Recording
from review.domain.sharing import Audience, Bystanders, Consent
from review.report.consent_text import paragraphs
from review.store.database import Database
from review.store.home import Home
from review.store.repository import Repository, reading

NONE_NOTED: Final = "no consent noted"
BARE: Final = "consent taken back: erase it, or note consent anew"


def consent_words(consent: Consent | None, day: date | None = None) -> str:
    """Say in plain words what was agreed to, as it counts on a day; today in UTC unless given."""
    if consent is None:
        return NONE_NOTED
    if consent.withdrawn:
        return f"consent taken back on {consent.at:%Y-%m-%d}"
    whom = _whom(consent, day or datetime.now(UTC).date())
    return f"{whom}; {consent.bystanders.words}" if consent.bystanders != Bystanders.NOBODY else whom


def _whom(consent: Consent, day: date) -> str:
    names = [one.words for one in Audience if one in consent.audiences]
    if not names:
        return "may be shown to nobody else"
    until = "" if consent.until is None else f", until {consent.until}"
    if consent.until is not None and consent.until < day:
        return f"could be shown until {consent.until}; that day has passed, so nobody else sees it"
    if consent.bystanders == Bystanders.UNASKED:
        return "shown to nobody else before the others in it were asked"
    return f"may be shown to {_joined(names)}{until}"


def _joined(names: list[str]) -> str:
    """Join names as a sentence does; semicolons part them, since a name may hold a comma."""
    return "; and ".join(["; ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def consent_told(home: Home | Database, person: Person, recording_id: str) -> dict[str, Any]:
    """Return what the Consent dialog shows of one recording, as plain JSON values.

    Returns
    -------
    dict
        Keys ``recording, title, words, withdrawn, terms`` (what is noted now, or None), ``history`` (oldest first),
        ``text`` (to be read to the examined person), ``audiences`` and ``bystanders`` (choices), ``today``.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.NOTE_CONSENT, recording_id)
        versions = repo.sharings().consents(recording.id)
        codes = {one.id: one.code for one in repo.people()}
    newest = versions[-1] if versions else None
    running = newest if newest is not None and not newest.withdrawn else None
    return {
        "recording": recording.id,
        "title": title_of(recording),
        "words": consent_words(newest),
        "withdrawn": recording.sharing.withdrawn,
        "terms": None if running is None else terms_json(running),
        "history": [_version(one, codes) for one in versions],
        "text": paragraphs(),
        "audiences": [{"key": str(one), "words": one.words} for one in Audience],
        "bystanders": [{"key": str(one), "words": one.words} for one in Bystanders],
        "today": datetime.now(UTC).date().isoformat(),
    }


def title_of(recording: Recording) -> str:
    """Return what a recording is called; without its name once the consent was taken back."""
    if recording.sharing.withdrawn:
        return f"Attempt {recording.attempt}, added on {recording.added_at:%Y-%m-%d}"
    return f"{recording.name}, attempt {recording.attempt}"


def terms_json(consent: Consent) -> dict[str, Any]:
    """Return what was agreed to as plain JSON values."""
    return {
        "audiences": [str(one) for one in Audience if one in consent.audiences],
        "until": consent.until.isoformat() if consent.until else "",
        "bystanders": str(consent.bystanders),
        "partner": consent.partner,
    }


def _version(consent: Consent, codes: Mapping[str, str]) -> dict[str, Any]:
    """Tell of one version as it was noted, whatever the day."""
    partner = f", said by {consent.partner}" if consent.partner and not consent.withdrawn else ""
    return {
        "version": consent.version,
        "at": consent.at.isoformat(timespec="minutes"),
        "by": codes.get(consent.noted_by, "somebody"),
        "words": consent_words(consent, consent.at.date()) + partner,
    }


def noted(repo: Repository, person: Person) -> dict[str, dict[str, str]]:
    """Tell of the consent to each recording that the person may note it for, by the recording's id.

    Returns
    -------
    dict
        Each with ``consent`` (what was agreed to, in plain words) and ``unconsented`` (what is to be known before a
        file made of it is handed on; empty for nothing).
    """
    mine = [one for one in repo.recordings() if may(person, Deed.NOTE_CONSENT, one)]
    return {one.id: {"consent": consent_words(one.sharing.consent), "unconsented": unconsented(one)} for one in mine}


def unconsented(recording: Recording, day: date | None = None) -> str:
    """Say that the examined person's consent does not cover handing on what shows them; nothing where it does."""
    consent, today = recording.sharing.consent, day or datetime.now(UTC).date()
    if consent is not None and any(consent.covers(audience, today) for audience in Audience):
        return ""
    return (
        f"Examined person: {consent_words(consent, today)}. The reports hold pictures, and every file tells of the "
        "examined person: ask before you hand one on."
    )


def taken_back(repo: Repository, person: Person) -> list[dict[str, Any]]:
    """Return a bare row for each recording whose consent was taken back and that the person may erase.

    Returns
    -------
    list of dict
        Keys ``id, attempt, added, words``, newest first; no name, no stills.
    """
    gone = [one for one in repo.recordings() if one.sharing.withdrawn and may(person, Deed.ERASE_RECORDING, one)]
    return [
        {
            "id": one.id,
            "attempt": one.attempt,
            "added": one.added_at.isoformat(timespec="minutes"),
            "words": BARE,
        }
        for one in sorted(gone, key=lambda one: one.added_at, reverse=True)
    ]
