"""Courses and accounts, consents, who was asked to grade, who looked, what was erased."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables; a home that has none of this goes on without accounts."""
    op.create_table("settings", _key("name"), _text("value"))
    op.create_table(
        "courses",
        _key("id"),
        _word("title"),
        _moment("created_at"),
        sa.Column("retention_days", sa.Integer(), nullable=True),
        sa.Column("second_share", sa.Float(53), nullable=False),
    )
    _people_of_courses()
    _sharing()
    _traces()
    _accounts()


def _people_of_courses() -> None:
    op.create_table(
        "memberships",
        _key("course_id", _courses(ondelete="CASCADE")),
        _key("person_id", _people(ondelete="CASCADE")),
        _word("role"),
        _word("group_name"),
    )
    op.create_index("ix_memberships_person_id", "memberships", ["person_id"])


def _sharing() -> None:
    op.create_table(
        "shares",
        _key("recording_id", _recordings()),
        _word("course_id", _courses()),
        _moment("handed_in_at", nullable=True),
    )
    op.create_index("ix_shares_course_id", "shares", ["course_id"])
    op.create_table(
        "requests",
        _key("recording_id", _recordings()),
        _key("person_id", _people()),
        _word("purpose"),
        _word("asked_by", _people()),
        _moment("at"),
    )
    op.create_index("ix_requests_person_id", "requests", ["person_id"])
    op.create_table(
        "consents",
        _key("recording_id", _recordings()),
        sa.Column("version", sa.Integer(), primary_key=True, autoincrement=False),
        sa.Column("audiences", sa.JSON(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        _word("bystanders"),
        _word("partner"),
        _word("noted_by", _people()),
        _moment("at"),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
    )


def _traces() -> None:
    op.create_table(
        "looks",
        sa.Column("id", sa.Integer(), primary_key=True),
        _word("recording_id", nullable=True),
        _word("person_id", nullable=True),
        _word("deed"),
        _word("what"),
        _moment("at"),
        sa.Column("allowed", sa.Boolean(), nullable=False),
    )
    op.create_index("ix_looks_recording_id", "looks", ["recording_id"])
    op.create_index("ix_looks_person_id", "looks", ["person_id"])
    op.create_table(
        "receipts",
        _key("id"),
        _word("recording_id"),
        _word("person_id", nullable=True),
        _word("course_id", nullable=True),
        _moment("at"),
        _word("why"),
        sa.Column("contents", sa.JSON(), nullable=False),
    )
    op.create_index("ix_receipts_recording_id", "receipts", ["recording_id"])
    op.create_index("ix_receipts_course_id", "receipts", ["course_id"])


def _accounts() -> None:
    op.create_table(
        "accounts",
        _key("person_id", _people(ondelete="CASCADE")),
        _word("password", nullable=True),
        _word("issuer", nullable=True),
        _word("subject", nullable=True),
        sa.Column("failures", sa.Integer(), nullable=False),
        _moment("locked_until", nullable=True),
        _moment("closed_at", nullable=True),
        _moment("changed_at"),
    )
    op.create_index("ix_accounts_subject", "accounts", ["subject"])
    op.create_table(
        "invitations",
        _key("digest"),
        _word("course_id", _courses(ondelete="CASCADE")),
        _word("role"),
        _word("group_name"),
        _word("code"),
        _word("made_by", nullable=True),
        _moment("made_at"),
        _moment("expires_at"),
        _moment("used_at", nullable=True),
    )
    op.create_index("ix_invitations_course_id", "invitations", ["course_id"])
    op.create_table(
        "logins",
        _key("digest"),
        _word("person_id", _people(ondelete="CASCADE")),
        _moment("made_at"),
        _moment("seen_at"),
        _moment("expires_at"),
    )
    op.create_index("ix_logins_person_id", "logins", ["person_id"])


def _key(name: str, *refers: sa.ForeignKey) -> sa.Column[Any]:
    return sa.Column(name, sa.String(), *refers, primary_key=True)


def _word(name: str, *refers: sa.ForeignKey, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.String(), *refers, nullable=nullable)


def _text(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Text(), nullable=False)


def _moment(name: str, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.String(40), nullable=nullable)


def _recordings() -> sa.ForeignKey:
    return sa.ForeignKey("recordings.id", ondelete="CASCADE")


def _people(ondelete: str | None = None) -> sa.ForeignKey:
    return sa.ForeignKey("people.id", ondelete=ondelete)


def _courses(ondelete: str | None = None) -> sa.ForeignKey:
    return sa.ForeignKey("courses.id", ondelete=ondelete)
