"""What cut scores rest on: overall ratings of attempts, and expectations of a borderline learner."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add both tables."""
    op.create_table(
        "overall_ratings",
        sa.Column("recording_id", sa.String(), sa.ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True),
        sa.Column("person_id", sa.String(), sa.ForeignKey("people.id"), primary_key=True),
        sa.Column("rating", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
    )
    op.create_table(
        "expectations",
        sa.Column("course_id", sa.String(), primary_key=True),
        sa.Column("checklist_id", sa.String(), primary_key=True),
        sa.Column("step_id", sa.String(), primary_key=True),
        sa.Column("side", sa.String(), primary_key=True),
        sa.Column("person_id", sa.String(), sa.ForeignKey("people.id"), primary_key=True),
        sa.Column("chance", sa.Float(53), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
    )
