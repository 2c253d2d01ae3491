"""Everything of one person as one ZIP file, given piece by piece, so that no size is too large."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from review.access import Deed, may
from review.domain.model import Person, Recording
from review.exchange import csv_text, timed_text, web_annotation
from review.exchange.columns import CODEBOOK, TABLES, codebook
from review.report.captions import captions
from review.report.consents import consent_told
from review.report.privacy import looks_at
from review.report.receipts import receipts
from review.report.recordings import facts
from review.report.tables import rows_of
from review.report.told import said, told
from review.store.home import Home
from review.store.repository import reading
from review.store.vault import at_hand
from review.store.words import WordStore

MEDIA_TYPE: Final = "application/zip"
_PIECE: Final = 1024 * 1024
_README: Final = """\
All of {code} in Runthrough, made on {day}.

person.json              the code, the role, the courses, how one signs in; no secret
rows.json                every row that {code} made, by table and with every revision: marks, grades, comments, results,
                         phrases and others; of recordings that {code} may see
receipts.json            what was erased of {code}, or by {code}
codebook.csv             what each column of the tables means
recordings/ID/           each recording that {code} added:
  original.*             the film as it came
  recording.json         its facts
  *.csv                  grades, marks, comments, results and values as tables
  annotations.jsonld     marks, comments and grades (W3C Web Annotation)
  marks.vtt              the same, as WebVTT
  consents.json          what the examined person agreed to, each version
  looks.json             who looked at it
  words.json             what was heard in it, word by word, if it was listened to
  captions.vtt           what is said in it as captions, as people corrected them

What others said is here as far as it is uncovered for {code}. Recordings whose examined person took the consent back
are not here: {left_out}. Film, pictures and numbers show another person: keep this file as you would keep the film.
"""


@dataclass(slots=True)
class _Sink:
    """Takes what the packer writes until it is fetched; it cannot be gone back in."""

    pieces: list[bytes] = field(default_factory=list)

    def write(self, piece: bytes) -> int:
        self.pieces.append(bytes(piece))
        return len(piece)

    def flush(self) -> None:
        """Do nothing: there is nothing behind."""

    def fetch(self) -> bytes:
        taken, self.pieces = b"".join(self.pieces), []
        return taken


def own_recordings(home: Home, person: Person) -> tuple[list[Recording], int]:
    """Return the recordings that a person added and may see, newest first, and how many cannot be given out."""
    with reading(home) as repo:
        mine = [one for one in repo.recordings() if one.added_by == person.id]
    seen = [one for one in mine if may(person, Deed.SEE, one)]
    return seen, len(mine) - len(seen)


def pack(home: Home, person: Person) -> Iterator[bytes]:
    """Yield the bytes of the ZIP file; whoever stops asking has it stop.

    Each recording is looked at again when it is its turn: one whose consent is taken back meanwhile is left out.
    """
    sink = _Sink()
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as archive:  # type: ignore[call-overload]
        for name, content in _contents(home, person):
            if isinstance(content, bytes):
                archive.writestr(name, content)
                yield sink.fetch()
                continue
            with archive.open(zipfile.ZipInfo(name), "w", force_zip64=True) as entry, content.open("rb") as film:
                while piece := film.read(_PIECE):
                    entry.write(piece)
                    yield sink.fetch()
    yield sink.fetch()


def _contents(home: Home, person: Person) -> Iterator[tuple[str, bytes | Path]]:
    mine, left_out = own_recordings(home, person)
    words = {"code": person.code, "day": f"{datetime.now(UTC):%Y-%m-%d}", "left_out": left_out}
    yield "README.txt", _README.format(**words).encode()
    courses = {course: str(role) for course, role in (person.courses or {}).items()}
    facts_of = {"code": person.code, "role": str(person.role), "courses": courses, "account": _account(home, person)}
    yield "person.json", _json(facts_of)
    yield "rows.json", _json(_rows(home, person))
    yield "receipts.json", _json(receipts(home, person))
    yield "codebook.csv", csv_text.write_csv(CODEBOOK, codebook()).encode()
    for one in mine:
        with reading(home) as repo:
            now = repo.recording(one.id)
        if may(person, Deed.SEE, now):
            yield from _recording(home, person, now)


def _account(home: Home, person: Person) -> dict[str, Any] | None:
    """Tell how a person signs in, without any secret; None where nobody does, or this one cannot."""
    with reading(home) as repo:
        found = repo.accounts().of(person.id)
    if found is None:
        return None
    return {"password": found.password is not None, "school": found.issuer, "changed_at": found.changed_at}


def _rows(home: Home, person: Person) -> dict[str, list[dict[str, Any]]]:
    """Return the rows of a person, those of recordings that the person may not see left out."""
    with reading(home) as repo:
        seen = {one.id for one in repo.recordings() if may(person, Deed.SEE, one)} | {None}
        rows = repo.belongings().of_person(person.id)
    return {name: [row for row in found if row.get("recording_id") in seen] for name, found in rows.items()}


def _recording(home: Home, person: Person, recording: Recording) -> Iterator[tuple[str, bytes | Path]]:
    folder = f"recordings/{recording.id}"
    original = at_hand(home, recording.original)
    if original.is_file():
        yield f"{folder}/original{original.suffix}", original
    attempt = told(home, person, recording)
    yield f"{folder}/recording.json", _json(facts(recording))
    rows = rows_of(home, attempt)
    for name, table in TABLES.items():
        yield f"{folder}/{name}.csv", csv_text.write_csv(table, rows[name]).encode()
    heard = said(attempt)
    yield f"{folder}/annotations.jsonld", web_annotation.collection(heard, datetime.now(UTC)).encode()
    yield f"{folder}/marks.vtt", timed_text.metadata_track(heard).encode()
    if may(person, Deed.NOTE_CONSENT, recording):
        yield f"{folder}/consents.json", _json(consent_told(home, person, recording.id)["history"])
    if may(person, Deed.SEE_LOOKS, recording):
        yield f"{folder}/looks.json", _json(looks_at(home, person, recording.id))
    words = WordStore(home, recording.id).transcript()
    if words is not None:
        yield f"{folder}/words.json", _json([asdict(word) for word in words])
    yield f"{folder}/captions.vtt", captions(home, person, recording.id).encode()


def _json(value: object) -> bytes:
    return json.dumps(value, ensure_ascii=False, indent=1, default=str).encode()
