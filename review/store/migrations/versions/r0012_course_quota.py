"""How much the films of a course may take."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; courses that are there have no limit."""
    op.add_column("courses", sa.Column("quota_bytes", sa.BigInteger()))
