"""Accounts, invitations and logins, as they are stored: of every secret only what cannot be turned back."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from review.domain.account import Account, Invitation, Login
from review.domain.course import CourseRole
from review.store.class_tables import AccountRow, InvitationRow, LoginRow


class Accounts:
    """The tables of accounts, invitations and logins, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(self, person_id: str) -> Account | None:
        """Return a person's account, or None."""
        row = self._session.get(AccountRow, person_id)
        return None if row is None else _account(row)

    def of_subject(self, issuer: str, subject: str) -> Account | None:
        """Return the account of whom a school's OpenID Connect names so, or None."""
        asked = select(AccountRow).where(AccountRow.issuer == issuer, AccountRow.subject == subject)
        row = self._session.scalars(asked.order_by(AccountRow.person_id)).first()
        return None if row is None else _account(row)

    def put(self, account: Account) -> None:
        """Store an account, new or changed."""
        self._session.merge(AccountRow(**asdict(account)))
        self._session.flush()

    def holders(self) -> frozenset[str]:
        """Return the ids of the people who can sign in."""
        asked = select(AccountRow.person_id).where(AccountRow.closed_at.is_(None)).order_by(AccountRow.person_id)
        return frozenset(self._session.scalars(asked))

    def invitation(self, digest: str) -> Invitation | None:
        """Return the invitation with the secret of this SHA-256, or None."""
        row = self._session.get(InvitationRow, digest)
        return None if row is None else _invitation(row)

    def invitations(self, course_id: str) -> tuple[Invitation, ...]:
        """Return the invitations to a course, oldest first."""
        row = InvitationRow
        asked = select(row).where(row.course_id == course_id).order_by(row.made_at, row.digest)
        return tuple(_invitation(found) for found in self._session.scalars(asked))

    def put_invitation(self, invitation: Invitation) -> None:
        """Store an invitation, new or changed."""
        self._session.merge(InvitationRow(**asdict(invitation)))
        self._session.flush()

    def drop_invitations(self, code: str, course_id: str | None = None) -> None:
        """Take back the invitations of a person's code that nobody took yet, to one course or to all."""
        row = InvitationRow
        asked = delete(row).where(row.code == code, row.used_at.is_(None))
        self._session.execute(asked if course_id is None else asked.where(row.course_id == course_id))

    def login(self, digest: str) -> Login | None:
        """Return the login with the cookie of this SHA-256, or None."""
        row = self._session.get(LoginRow, digest)
        return None if row is None else _login(row)

    def logins(self, person_id: str) -> tuple[Login, ...]:
        """Return a person's logins, the last seen first."""
        row = LoginRow
        asked = select(row).where(row.person_id == person_id).order_by(row.seen_at.desc(), row.digest)
        return tuple(_login(found) for found in self._session.scalars(asked))

    def put_login(self, login: Login) -> None:
        """Store a login, new or changed."""
        self._session.merge(LoginRow(**asdict(login)))
        self._session.flush()

    def see(self, digest: str, at: datetime) -> None:
        """Note when a login was last used; one that ended meanwhile stays ended."""
        self._session.execute(update(LoginRow).where(LoginRow.digest == digest).values(seen_at=at))

    def end(self, digest: str) -> None:
        """End a login."""
        self._session.execute(delete(LoginRow).where(LoginRow.digest == digest))

    def end_all(self, person_id: str, but: str | None = None) -> None:
        """End all logins of a person, but the one of this digest."""
        asked = delete(LoginRow).where(LoginRow.person_id == person_id)
        self._session.execute(asked if but is None else asked.where(LoginRow.digest != but))

    def sweep(self, now: datetime) -> None:
        """Forget the logins whose time is over."""
        self._session.execute(delete(LoginRow).where(LoginRow.expires_at <= now))


def _account(row: AccountRow) -> Account:
    return Account(
        person_id=row.person_id,
        changed_at=row.changed_at,
        password=row.password,
        issuer=row.issuer,
        subject=row.subject,
        failures=row.failures,
        locked_until=row.locked_until,
        closed_at=row.closed_at,
    )


def _invitation(row: InvitationRow) -> Invitation:
    return Invitation(
        digest=row.digest,
        course_id=row.course_id,
        role=CourseRole(row.role),
        group=row.group,
        code=row.code,
        made_by=row.made_by,
        made_at=row.made_at,
        expires_at=row.expires_at,
        used_at=row.used_at,
    )


def _login(row: LoginRow) -> Login:
    return Login(row.digest, row.person_id, row.made_at, row.seen_at, row.expires_at)
