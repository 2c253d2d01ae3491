"""Who is examined, as people pointed it out, and the queue of units of work; tracks are computed anew."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def _recording(key: bool) -> sa.Column[str]:
    parent = sa.ForeignKey("recordings.id", ondelete="CASCADE")
    return sa.Column("recording_id", sa.String(), parent, nullable=False, index=not key, primary_key=key)


def upgrade() -> None:
    """Add pointings and leases, tell more of every analysis, and say that each is to be done again."""
    op.create_table(
        "pointings",
        sa.Column("id", sa.String(), primary_key=True),
        _recording(key=False),
        *(sa.Column(name, sa.Float(53), nullable=False) for name in ("time_s", "x", "y")),
        sa.Column("person_id", sa.String(), sa.ForeignKey("people.id"), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
    )
    op.create_table(
        "leases",
        _recording(key=True),
        sa.Column("unit", sa.String(), primary_key=True),
        sa.Column("holder", sa.String(), nullable=False),
        sa.Column("until", sa.String(40), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
    )
    op.add_column("jobs", sa.Column("stage", sa.String(), nullable=False, server_default=""))
    op.add_column("jobs", sa.Column("left_s", sa.Float(53), nullable=True))
    op.add_column("jobs", sa.Column("served", sa.String(40), nullable=True))
    op.execute(
        "UPDATE jobs SET state = 'stopped', done = 0, "
        "message = 'Analysed by an earlier version of Runthrough; analyse again.'"
    )
