"""Proposals that people refused."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table."""
    recording = sa.ForeignKey("recordings.id", ondelete="CASCADE")
    op.create_table(
        "refusals",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("recording_id", sa.String(), recording, nullable=False, index=True),
        sa.Column("step_id", sa.String(), nullable=False),
        sa.Column("side", sa.String()),
        *(sa.Column(name, sa.Float(53), nullable=False) for name in ("onset_s", "offset_s")),
        sa.Column("person_id", sa.String(), sa.ForeignKey("people.id"), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
    )
