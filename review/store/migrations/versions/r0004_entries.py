"""Entries: results of tests that a film cannot show, typed in on a step."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table of entries, each with its history."""
    parent = sa.ForeignKey("recordings.id", ondelete="CASCADE")
    op.create_table(
        "entries",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("revision", sa.Integer(), primary_key=True, autoincrement=False),
        sa.Column("recording_id", sa.String(), parent, nullable=False, index=True),
        sa.Column("person_id", sa.String(), sa.ForeignKey("people.id"), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
        sa.Column("side", sa.String()),
        sa.Column("step_id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("fields", sa.JSON(), nullable=False),
    )
