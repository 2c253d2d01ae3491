"""Signing in with a password, and what a login is good for.

Whoever does not get in is told the same, after the same work, whether the account is there or not. The delays after
wrong passwords grow; after a hundred in a row only a new invitation helps (NIST SP 800-63B-4, section 3.2.2: at most
100 consecutive failures). A login ends an hour after it was last used and a day after it was made (the figures of
section 2.2.3 for authentication assurance level 2).
"""

from __future__ import annotations

import threading
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Final

from review.domain.account import Account, Login
from review.domain.errors import EntryRefused, NotAllowed, NotFound
from review.domain.model import Person
from review.identity import password as passwords
from review.identity import secret as secrets
from review.store.database import Database
from review.store.home import Home
from review.store.repository import Repository, reading, repository

LONGEST: Final = timedelta(days=1)
IDLE: Final = timedelta(hours=1)
FREE_TRIES: Final = 5
MOST_TRIES: Final = 100
_FIRST_DELAY: Final = timedelta(seconds=30)
_LONGEST_DELAY: Final = timedelta(hours=1)
_BETWEEN_NOTES: Final = timedelta(minutes=1)
SIGN_IN: Final = "sign in"

REFUSED: Final = (
    "This code and this password do not open an account now. Check both and try again. After several wrong tries an "
    "account waits for a while, longer each time; whoever invited you can send you a new link."
)

_ONE_BY_ONE: Final = threading.Lock()
"""Tries are looked at one after the other, so that many at once count like many in a row."""


def sign_in(home: Home | Database, code: str, password: str, now: datetime | None = None) -> str:
    """Sign a person in and return the secret of the new login.

    Raises
    ------
    NotAllowed
        If code and password do not open an account now; the message is the same for all reasons.
    """
    with _ONE_BY_ONE:
        at = now or datetime.now(UTC)
        with reading(home) as repo:
            account = _account_of(repo, code)
        if _proven(home, account, password, at) and account is not None:
            with repository(home) as repo:
                return open_login(repo, account.person_id, at)
    raise NotAllowed(REFUSED)


def change_password(
    home: Home | Database, person: Person, old: str, new: str, staying: str, now: datetime | None = None
) -> None:
    """Take another password; all other logins of the person end.

    Parameters
    ----------
    old, new
        The password so far, and the one from now on.
    staying
        Secret of the login that stays.

    Raises
    ------
    NotAllowed
        If the password so far is another.
    EntryRefused
        If the new one cannot be used.
    """
    passwords.check_password(new, person.code)
    with _ONE_BY_ONE:
        at = now or datetime.now(UTC)
        with reading(home) as repo:
            account = repo.accounts().of(person.id)
        if not _proven(home, account, old, at):
            raise NotAllowed(
                "The password so far is another, or too many wrong ones came; wait a little. Nothing was changed."
            )
    kept = passwords.kept(new)
    with repository(home) as repo:
        known = repo.accounts().of(person.id)
        if known is not None:
            repo.accounts().put(replace(known, password=kept, changed_at=at, failures=0, locked_until=None))
        repo.accounts().end_all(person.id, but=secrets.digest(staying))
        repo.looks().note(person.id, None, "change the password", "", True, at)


def _account_of(repo: Repository, code: str) -> Account | None:
    with suppress(NotFound):
        return repo.accounts().of(repo.person(code.strip().upper()).id)
    return None


def _proven(home: Home | Database, account: Account | None, password: str, at: datetime) -> bool:
    """Tell whether a password opens an account, and note the outcome; takes as long where there is no account."""
    known = account.password if account is not None and _tried_now(account, at) else None
    fits = passwords.fits(password, known)
    with repository(home) as repo:
        if account is not None and known is not None:
            repo.accounts().put(_kept_anew(account, password) if fits else _failed(account, at))
        repo.looks().note(account.person_id if account else None, None, SIGN_IN, "password", fits, at)
    return fits


def _tried_now(account: Account, at: datetime) -> bool:
    waiting = account.locked_until is not None and at < account.locked_until
    return account.closed_at is None and not waiting and account.failures < MOST_TRIES


def _failed(account: Account, at: datetime) -> Account:
    failures = account.failures + 1
    if failures < FREE_TRIES:
        return replace(account, failures=failures)
    delay = min(_FIRST_DELAY * 2 ** min(failures - FREE_TRIES, 16), _LONGEST_DELAY)
    return replace(account, failures=failures, locked_until=at + delay)


def _kept_anew(account: Account, password: str) -> Account:
    """Forget the wrong tries; keep the password with the parameters of today where those of its time were others."""
    old = account.password is not None and passwords.outdated(account.password)
    kept = passwords.kept(password) if old else account.password
    return replace(account, password=kept, failures=0, locked_until=None)


def open_login(repo: Repository, person_id: str, at: datetime) -> str:
    """Make a login for a person who has shown who it is, and return its secret."""
    secret = secrets.fresh()
    digest = secrets.digest(secret)
    if digest is None:
        raise EntryRefused("No login could be made. Try again.")
    repo.accounts().sweep(at)
    repo.accounts().put_login(Login(digest, person_id, at, at, at + LONGEST))
    return secret


def sign_in_as_subject(home: Home | Database, issuer: str, subject: str, now: datetime | None = None) -> str:
    """Sign in whom the school's OpenID Connect names, if an invitation was bound to that; return the login's secret.

    Raises
    ------
    NotAllowed
        If nobody here is known by that.
    """
    at = now or datetime.now(UTC)
    with repository(home) as repo:
        account = repo.accounts().of_subject(issuer, subject)
        known = account is not None and account.closed_at is None
        repo.looks().note(account.person_id if account else None, None, SIGN_IN, "school", known, at)
        secret = open_login(repo, account.person_id, at) if account is not None and known else None
    if secret is None:
        raise NotAllowed(
            "The school knows you, and nobody here goes by that. Open the link of your invitation first, and sign in "
            "with the school's account from there."
        )
    return secret


def signed_in(home: Home | Database, secret: str | None, now: datetime | None = None) -> tuple[Person, Login] | None:
    """Return who is signed in with a cookie's secret, and the login; None if nobody is (any more)."""
    at = now or datetime.now(UTC)
    with reading(home) as repo:
        found = holder(repo, secret, at)
    if found is not None:
        note_use(home, found[1], at)
    return found


def holder(repo: Repository, secret: str | None, at: datetime) -> tuple[Person, Login] | None:
    """Return within a transaction what `signed_in` does; `note_use` is to be called after it."""
    digest = secrets.digest(secret or "")
    login = repo.accounts().login(digest) if digest is not None else None
    if login is None or at >= min(login.expires_at, login.seen_at + IDLE):
        return None
    account = repo.accounts().of(login.person_id)
    if account is None or account.closed_at is not None:
        return None
    return repo.person(login.person_id), login


def note_use(home: Home | Database, login: Login, at: datetime) -> None:
    """Note when a login was last used, now and then."""
    if at - login.seen_at >= _BETWEEN_NOTES:
        with repository(home) as repo:
            repo.accounts().see(login.digest, at)


def sign_out(home: Home | Database, secret: str) -> None:
    """End the login of a cookie's secret."""
    digest = secrets.digest(secret)
    if digest is not None:
        with repository(home) as repo:
            repo.accounts().end(digest)


def end_login(home: Home | Database, person: Person, digest: str) -> None:
    """End a login of one's own.

    Raises
    ------
    NotFound
        If the person has no such login.
    """
    with repository(home) as repo:
        if digest not in {login.digest for login in repo.accounts().logins(person.id)}:
            raise NotFound("This login ended already, or it is not yours. Reload the page.")
        repo.accounts().end(digest)


def end_other_logins(home: Home | Database, person: Person, staying: str) -> None:
    """End all logins of a person but the one of this secret."""
    with repository(home) as repo:
        repo.accounts().end_all(person.id, but=secrets.digest(staying))
