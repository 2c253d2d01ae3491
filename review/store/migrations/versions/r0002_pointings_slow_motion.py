"""Who is examined, as people pointed it out, and films that play slower than life."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table of pointings and how much slower a film plays; tracks are to be computed anew."""
    op.execute(
        "UPDATE jobs SET state = 'stopped', done = 0, "
        "message = 'Analysed by an earlier version of Runthrough; analyse again.'"
    )
    op.add_column("recordings", sa.Column("slow_motion", sa.Float(53), nullable=False, server_default="1"))
    op.create_table(
        "pointings",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column(
            "recording_id", sa.String(), sa.ForeignKey("recordings.id", ondelete="CASCADE"), nullable=False, index=True
        ),
        *(sa.Column(name, sa.Float(53), nullable=False) for name in ("time_s", "x", "y")),
        sa.Column("person_id", sa.String(), sa.ForeignKey("people.id"), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
    )
