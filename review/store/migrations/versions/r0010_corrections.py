"""What people wrote in the place of words that were heard."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "corrections",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("revision", sa.Integer(), primary_key=True, autoincrement=False),
        sa.Column("recording_id", sa.String(), sa.ForeignKey("recordings.id", ondelete="CASCADE"), nullable=False),
        sa.Column("person_id", sa.String(), sa.ForeignKey("people.id"), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
        sa.Column("onset_s", sa.Float(53), nullable=False),
        sa.Column("offset_s", sa.Float(53), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
    )
    op.create_index("ix_corrections_recording_id", "corrections", ["recording_id"])
