"""The tables of classes: courses, accounts, consents, who was asked, who looked, what was erased."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import BigInteger, Date, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from review.store.tables import Base, Prose


class SettingRow(Base):
    """A setting of the home, such as whether people sign in."""

    __tablename__ = "settings"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str] = mapped_column(Prose)


class CourseRow(Base):
    """A course."""

    __tablename__ = "courses"

    id: Mapped[str] = mapped_column(primary_key=True)
    title: Mapped[str]
    created_at: Mapped[datetime]
    retention_days: Mapped[int | None]
    second_share: Mapped[float]
    quota_bytes: Mapped[int | None] = mapped_column(BigInteger)


class MembershipRow(Base):
    """That a person belongs to a course."""

    __tablename__ = "memberships"

    course_id: Mapped[str] = mapped_column(ForeignKey("courses.id", ondelete="CASCADE"), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"), primary_key=True, index=True)
    role: Mapped[str]
    group: Mapped[str] = mapped_column("group_name")


class ShareRow(Base):
    """Which course a recording belongs to, and when it was handed in."""

    __tablename__ = "shares"

    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True)
    course_id: Mapped[str] = mapped_column(ForeignKey("courses.id"), index=True)
    handed_in_at: Mapped[datetime | None]


class RequestRow(Base):
    """That a person is asked to grade an attempt."""

    __tablename__ = "requests"

    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"), primary_key=True, index=True)
    purpose: Mapped[str]
    asked_by: Mapped[str] = mapped_column(ForeignKey("people.id"))
    at: Mapped[datetime]


class ConsentRow(Base):
    """One version of what the examined person of a recording agreed to."""

    __tablename__ = "consents"

    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True)
    version: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    audiences: Mapped[list[str]]
    until: Mapped[date | None] = mapped_column(Date)
    bystanders: Mapped[str]
    partner: Mapped[str]
    noted_by: Mapped[str] = mapped_column(ForeignKey("people.id"))
    at: Mapped[datetime]
    withdrawn: Mapped[bool]


class LookRow(Base):
    """That somebody saw, changed or was refused something; it refers to no other row, so that it outlives them."""

    __tablename__ = "looks"

    id: Mapped[int] = mapped_column(primary_key=True)
    recording_id: Mapped[str | None] = mapped_column(index=True)
    person_id: Mapped[str | None] = mapped_column(index=True)
    deed: Mapped[str]
    what: Mapped[str]
    at: Mapped[datetime]
    allowed: Mapped[bool]


class ReceiptRow(Base):
    """What was erased, when, by whom and why, and how it was shown to be gone."""

    __tablename__ = "receipts"

    id: Mapped[str] = mapped_column(primary_key=True)
    recording_id: Mapped[str] = mapped_column(index=True)
    person_id: Mapped[str | None]
    course_id: Mapped[str | None] = mapped_column(index=True)
    at: Mapped[datetime]
    why: Mapped[str]
    contents: Mapped[dict[str, Any]]


class AccountRow(Base):
    """How a person signs in: with a password, through the school's OpenID Connect, or both."""

    __tablename__ = "accounts"

    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"), primary_key=True)
    password: Mapped[str | None]
    issuer: Mapped[str | None]
    subject: Mapped[str | None] = mapped_column(index=True)
    failures: Mapped[int]
    locked_until: Mapped[datetime | None]
    closed_at: Mapped[datetime | None]
    changed_at: Mapped[datetime]


class InvitationRow(Base):
    """A place in a course that somebody may take with a secret; only the secret's SHA-256 is kept."""

    __tablename__ = "invitations"

    digest: Mapped[str] = mapped_column(primary_key=True)
    course_id: Mapped[str] = mapped_column(ForeignKey("courses.id", ondelete="CASCADE"), index=True)
    role: Mapped[str]
    group: Mapped[str] = mapped_column("group_name")
    code: Mapped[str]
    made_by: Mapped[str | None]
    made_at: Mapped[datetime]
    expires_at: Mapped[datetime]
    used_at: Mapped[datetime | None]


class LoginRow(Base):
    """That a browser is signed in; only the SHA-256 of its cookie is kept."""

    __tablename__ = "logins"

    digest: Mapped[str] = mapped_column(primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"), index=True)
    made_at: Mapped[datetime]
    seen_at: Mapped[datetime]
    expires_at: Mapped[datetime]


class OverallRow(Base):
    """An instructor's overall rating of an attempt."""

    __tablename__ = "overall_ratings"

    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"), primary_key=True)
    rating: Mapped[int]
    at: Mapped[datetime]


class ExpectationRow(Base):
    """The chance that an instructor gives a borderline learner at a step; no course and no side are empty texts."""

    __tablename__ = "expectations"

    course_id: Mapped[str] = mapped_column(primary_key=True)
    checklist_id: Mapped[str] = mapped_column(primary_key=True)
    step_id: Mapped[str] = mapped_column(primary_key=True)
    side: Mapped[str] = mapped_column(primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"), primary_key=True)
    chance: Mapped[float]
    at: Mapped[datetime]
