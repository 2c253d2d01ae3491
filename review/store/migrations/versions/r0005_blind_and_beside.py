"""Comments that draw and are settled, quick phrases, exemplars, and who saw what before grading."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def _recording(key: bool) -> sa.Column[str]:
    parent = sa.ForeignKey("recordings.id", ondelete="CASCADE")
    return sa.Column("recording_id", sa.String(), parent, nullable=False, index=not key, primary_key=key)


def _person(key: bool = False, index: bool = False) -> sa.Column[str]:
    parent = sa.ForeignKey("people.id")
    return sa.Column("person_id", sa.String(), parent, nullable=False, index=index, primary_key=key)


def upgrade() -> None:
    """Add columns and tables; who had graded a step had seen what was covered of it."""
    op.add_column("comments", sa.Column("shape", sa.JSON(), nullable=True))
    op.add_column("comments", sa.Column("resolved_by", sa.String(), nullable=True))
    op.add_column("comments", sa.Column("resolved_at", sa.String(40), nullable=True))
    op.add_column("grades", sa.Column("after_reveal", sa.Boolean(), nullable=True))
    op.create_table(
        "phrases",
        sa.Column("id", sa.String(), primary_key=True),
        _person(index=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
    )
    op.create_table(
        "exemplars",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("checklist_id", sa.String(), nullable=False, index=True),
        sa.Column("step_id", sa.String(), nullable=False),
        sa.Column("side", sa.String()),
        _recording(key=False),
        *(sa.Column(name, sa.Float(53), nullable=False) for name in ("onset_s", "offset_s")),
        _person(),
        sa.Column("at", sa.String(40), nullable=False),
    )
    op.create_table(
        "uncoverings",
        _recording(key=True),
        _person(key=True),
        *(sa.Column(name, sa.String(), primary_key=True) for name in ("step_id", "side")),
        sa.Column("at", sa.String(40), nullable=False),
    )
    op.execute(
        "INSERT INTO uncoverings (recording_id, person_id, step_id, side, at) "
        "SELECT recording_id, person_id, step_id, COALESCE(side, ''), MIN(at) FROM grades "
        "WHERE criterion_id IS NULL GROUP BY recording_id, person_id, step_id, side"
    )
