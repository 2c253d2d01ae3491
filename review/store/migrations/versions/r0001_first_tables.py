"""The first form: people, checklists, recordings, what people say of them, and what is computed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make all tables."""
    _make_sources()
    _make_entries()
    _make_derived()


def _make_sources() -> None:
    op.create_table(
        "people",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("code", sa.String(), nullable=False, unique=True),
        sa.Column("role", sa.String(), nullable=False),
    )
    op.create_table(
        "checklists",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("version", sa.Integer(), primary_key=True, autoincrement=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
    )
    op.create_table(
        "recordings",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("sha256", sa.String(), nullable=False, unique=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("added_at", sa.String(40), nullable=False),
        sa.Column("added_by", sa.String(), nullable=False),
        sa.Column("duration_s", sa.Float(53), nullable=False),
        *(sa.Column(name, sa.Integer(), nullable=False) for name in ("frames", "width_px", "height_px")),
        sa.Column("rotation_deg", sa.Integer(), nullable=False),
        sa.Column("codec", sa.String(), nullable=False),
        sa.Column("bit_depth", sa.Integer(), nullable=False),
        sa.Column("has_sound", sa.Boolean(), nullable=False),
        sa.Column("size_bytes", sa.BigInteger(), nullable=False),
        sa.Column("mirrored", sa.Boolean(), nullable=False),
        sa.Column("attempt", sa.Integer(), nullable=False),
        sa.Column("checklist_id", sa.String()),
        sa.Column("checklist_version", sa.Integer()),
        sa.Column("partner_height_mm", sa.Float(53)),
        sa.Column("original", sa.String(), nullable=False),
        sa.Column("playback", sa.String(), nullable=False),
        sa.Column("notes", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["checklist_id", "checklist_version"], ["checklists.id", "checklists.version"]),
    )


def _entry_columns() -> list[sa.Column[object]]:
    return [
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("revision", sa.Integer(), primary_key=True, autoincrement=False),
        sa.Column(
            "recording_id", sa.String(), sa.ForeignKey("recordings.id", ondelete="CASCADE"), nullable=False, index=True
        ),
        sa.Column("person_id", sa.String(), sa.ForeignKey("people.id"), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
        sa.Column("side", sa.String()),
    ]


def _make_entries() -> None:
    op.create_table(
        "marks",
        *_entry_columns(),
        sa.Column("step_id", sa.String(), nullable=False),
        sa.Column("onset_s", sa.Float(53), nullable=False),
        sa.Column("offset_s", sa.Float(53), nullable=False),
    )
    op.create_table(
        "grades",
        *_entry_columns(),
        sa.Column("step_id", sa.String(), nullable=False),
        sa.Column("criterion_id", sa.String()),
        sa.Column("level", sa.String(), nullable=False),
        sa.Column("confidence", sa.Integer()),
    )
    op.create_table(
        "comments",
        *_entry_columns(),
        sa.Column("step_id", sa.String()),
        sa.Column("onset_s", sa.Float(53), nullable=False),
        sa.Column("offset_s", sa.Float(53), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("reply_to", sa.String()),
    )


def _make_derived() -> None:
    op.create_table(
        "computed_values",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "recording_id", sa.String(), sa.ForeignKey("recordings.id", ondelete="CASCADE"), nullable=False, index=True
        ),
        sa.Column("step_id", sa.String()),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("step_side", sa.String()),
        sa.Column("measure", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        *(sa.Column(name, sa.Float(53)) for name in ("value", "low", "high")),
        sa.Column("usable", sa.Float(53), nullable=False),
        sa.Column("reasons", sa.JSON(), nullable=False),
        sa.Column("evidence", sa.JSON(), nullable=False),
        sa.Column("side", sa.String()),
        sa.Column("events", sa.JSON(), nullable=False),
    )
    op.create_table(
        "clients",
        sa.Column("client", sa.String(), primary_key=True),
        sa.Column("applied", sa.Integer(), nullable=False),
    )
    op.create_table(
        "jobs",
        sa.Column("recording_id", sa.String(), sa.ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("done", sa.Integer(), nullable=False),
        sa.Column("total", sa.Integer(), nullable=False),
        sa.Column("message", sa.String(), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("pid", sa.Integer()),
    )
