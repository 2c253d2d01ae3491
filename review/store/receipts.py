"""Receipts of erasures."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from review.domain.errors import NotFound
from review.domain.receipt import ErasedFile, Proof, Receipt
from review.store.class_tables import ReceiptRow


class Receipts:
    """The table of receipts, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def all(self) -> tuple[Receipt, ...]:
        """Return all receipts, newest first."""
        asked = select(ReceiptRow).order_by(ReceiptRow.at.desc(), ReceiptRow.id)
        return tuple(_read(row) for row in self._session.scalars(asked))

    def get(self, receipt_id: str) -> Receipt:
        """Return the receipt with this id, or of the recording with this id.

        Raises
        ------
        NotFound
            If there is none.
        """
        row = ReceiptRow
        either = (row.id == receipt_id) | (row.recording_id == receipt_id)
        found = self._session.scalars(select(row).where(either).order_by(row.at.desc(), row.id)).first()
        if found is None:
            raise NotFound(f"There is no receipt {receipt_id[:40]!r}. All of them are listed by: runthrough receipts")
        return _read(found)

    def put(self, receipt: Receipt) -> None:
        """Store a receipt, new or with its proof."""
        kept = {
            "made_by": receipt.made_by,
            "files": [asdict(one) for one in receipt.files],
            "rows": dict(receipt.rows),
            "kept": dict(receipt.kept),
            "notes": list(receipt.notes),
            "proof": None if receipt.proof is None else _proof_json(receipt.proof),
        }
        self._session.merge(
            ReceiptRow(
                id=receipt.id,
                recording_id=receipt.recording_id,
                person_id=receipt.erased_by,
                course_id=receipt.course_id,
                at=receipt.at,
                why=receipt.why,
                contents=kept,
            )
        )
        self._session.flush()


def _proof_json(proof: Proof) -> dict[str, Any]:
    return {**asdict(proof), "at": proof.at.isoformat(), "rows_left": dict(proof.rows_left)}


def _read(row: ReceiptRow) -> Receipt:
    kept = row.contents
    return Receipt(
        id=row.id,
        recording_id=row.recording_id,
        course_id=row.course_id,
        made_by=kept["made_by"],
        erased_by=row.person_id,
        at=row.at,
        why=row.why,
        files=tuple(ErasedFile(**one) for one in kept["files"]),
        rows=kept["rows"],
        kept=kept["kept"],
        notes=tuple(kept["notes"]),
        proof=None if kept["proof"] is None else _read_proof(kept["proof"]),
    )


def _read_proof(kept: dict[str, Any]) -> Proof:
    lists = {name: tuple(kept[name]) for name in ("files_left", "traces_left")}
    return Proof(**{**kept, **lists, "at": datetime.fromisoformat(kept["at"])})
