"""Films that play slower than life; tracks laid out by the first form are computed anew."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add how much slower a film plays, and say of every analysis that it is to be done again."""
    op.add_column("recordings", sa.Column("slow_motion", sa.Float(53), nullable=False, server_default="1"))
    op.execute(
        "UPDATE jobs SET state = 'stopped', done = 0, "
        "message = 'Analysed by an earlier version of Runthrough; analyse again.'"
    )
