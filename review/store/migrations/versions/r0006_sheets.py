"""Who stored which version of a sheet and when, and which sheets are retired."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add columns and a table; of sheets stored before it is not known who stored them."""
    op.add_column("checklists", sa.Column("saved_by", sa.String(), nullable=True))
    op.add_column("checklists", sa.Column("saved_at", sa.String(40), nullable=True))
    op.create_table(
        "retired_checklists",
        sa.Column("checklist_id", sa.String(), primary_key=True),
        sa.Column("person_id", sa.String(), sa.ForeignKey("people.id"), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
    )
