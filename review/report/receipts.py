"""Receipts of erasures: which a person may read, in plain words, and as a page to print."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from importlib.resources import files
from typing import Any, Final

from review.access import demand_receipt, may_read_receipt
from review.domain.model import Person
from review.domain.receipt import Proof, Receipt
from review.domain.wording import counted
from review.store.database import Database
from review.store.home import Home
from review.store.repository import reading

OUTSIDE: Final = (
    "Not reached: files that people made of it before (exports, copies with covered faces that were stored elsewhere), "
    "backups, the film on the phone or in a watched folder. On a solid-state disk, or one with snapshots, blocks of "
    "erased files may outlive them."
)
NOT_PROVED: Final = (
    "Not looked again: the process ended before that. What it left is cleared away, and looked for, at the next start."
)
_WORDS: Final[Mapping[str, str]] = {"computed_values": "values", "jobs": "progress", "shares": "handing in"}


def receipts(home: Home | Database, person: Person) -> list[dict[str, Any]]:
    """Return the receipts that a person may read, newest first, as `told` gives them."""
    with reading(home) as repo:
        codes = {one.id: one.code for one in repo.people()}
        return [told(one, codes) for one in repo.receipts().all() if may_read_receipt(person, one)]


def receipt(home: Home | Database, person: Person, receipt_id: str) -> dict[str, Any]:
    """Return one receipt by its id or that of its recording; raises NotFound and NotAllowed."""
    with reading(home) as repo:
        found = repo.receipts().get(receipt_id)
        demand_receipt(person, found)
        return told(found, {one.id: one.code for one in repo.people()})


def told(found: Receipt, codes: Mapping[str, str]) -> dict[str, Any]:
    """Return a receipt as plain JSON values.

    Returns
    -------
    dict
        Keys ``id, recording, at, why, by, of`` (codes), ``files`` (path, size, SHA-256), ``rows``, ``kept``, ``notes``,
        ``proof`` (None where it was cut short), ``holds``, ``lines`` (all of it in plain words).
    """
    by = codes.get(found.erased_by or "", "the date that was set")
    of = codes.get(found.made_by, "somebody")
    return {
        "id": found.id,
        "recording": found.recording_id,
        "at": found.at.isoformat(timespec="seconds"),
        "why": found.why,
        "by": by,
        "of": of,
        "files": [{"path": one.path, "size_bytes": one.size_bytes, "sha256": one.sha256} for one in found.files],
        "rows": dict(found.rows),
        "kept": dict(found.kept),
        "notes": list(found.notes),
        "holds": found.proof is not None and found.proof.holds,
        "lines": _lines(found, by, of),
    }


def _lines(found: Receipt, by: str, of: str) -> list[str]:
    rows = [f"{count} in {_WORDS.get(name, name.replace('_', ' '))}" for name, count in found.rows.items()]
    kept = found.kept.get("looks", 0) + 1
    return [
        f"Recording {found.recording_id} of {of}, erased by {by} on {found.at:%Y-%m-%d %H:%M} UTC: {found.why}",
        f"{counted(len(found.files), 'file')}, {size_words(found.size_bytes)}: film, what was made of it, tracks",
        f"rows of the database, each revision one: {', '.join(rows)}",
        *found.notes,
        f"kept: {counted(kept, 'line')} of the trail (who saw it, and who erased it), and this receipt",
        *proof_lines(found.proof),
        OUTSIDE,
    ]


def proof_lines(proof: Proof | None) -> list[str]:
    """Say what the second look found."""
    if proof is None:
        return [NOT_PROVED]
    looked = _searched(proof)
    left_out = f"; {counted(proof.left_out, 'film')} of other recordings not searched" if proof.left_out else ""
    if proof.holds:
        return [f"Looked again: none of its files is there, no row{looked and f', and none of {looked}'}{left_out}"]
    rows = [f"{count} rows in {name}" for name, count in proof.rows_left.items()]
    still = [*proof.files_left, *rows, *(f"bytes or words of it in {place}" for place in proof.traces_left)]
    again = looked and f" for {looked}"
    return [
        f"NOT ALL IS GONE, as looking again{again} showed. Still there: {'; '.join(still)}{left_out}. Stop what else "
        "works on this home and erase again, or remove these yourself."
    ]


def _searched(proof: Proof) -> str:
    """Say what was searched for where; empty where nothing was."""
    if not proof.probes + proof.texts:
        return ""
    return (
        f"{counted(proof.probes, 'stretch', 'stretches')} of 64 bytes from its files and "
        f"{counted(proof.texts, 'text')} written about it, in {counted(proof.searched_files, 'file')} "
        f"({size_words(proof.searched_bytes)})"
    )


def size_words(size_bytes: int) -> str:
    """Write a size as people read it.

    Examples
    --------
    >>> size_words(812), size_words(1_250_000)
    ('812 bytes', '1.2 MB')
    """
    return f"{size_bytes} bytes" if size_bytes < 10_000 else f"{size_bytes / 1e6:.1f} MB"


def receipt_page(found: Mapping[str, Any]) -> str:
    """Return a receipt as a page to print, with every file."""
    style = files("review.report").joinpath("paper.css").read_text("utf-8")
    lines = "".join(f"<li>{escape(line)}</li>" for line in found["lines"])
    rows = "".join(
        f'<tr><td>{escape(one["path"])}</td><td class="points">{one["size_bytes"]}</td><td>{one["sha256"]}</td></tr>'
        for one in found["files"]
    )
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<title>Receipt</title><style>{style}</style></head><body><main class="receipt">'
        f"<header><h1>Receipt of an erasure</h1></header><ul>{lines}</ul>"
        '<table><caption>Files</caption><thead><tr><th scope="col">Place</th><th scope="col" class="points">Bytes</th>'
        f'<th scope="col">SHA-256</th></tr></thead><tbody>{rows}</tbody></table></main></body></html>'
    )
