"""The files that can be made of one attempt: which there are, and making one for a person."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any, Final

from review.access import Deed, allowed
from review.capture.models import MODEL_SUMS
from review.domain.errors import NotFound
from review.domain.model import Person, Recording
from review.exchange import columnar, csv_text, print_page, timed_text, typesetting, web_annotation
from review.exchange.columns import CODEBOOK, TABLES, codebook
from review.report.captions import captions
from review.report.chapters import chapters
from review.report.comment_track import comment_track
from review.report.document import document
from review.report.tables import rows_of
from review.report.told import said, told
from review.report.tracks import tracks_of
from review.store.home import Home
from review.store.repository import reading

WEB_VTT: Final = "text/vtt; charset=utf-8"
ADDRESS: Final = "http://127.0.0.1:8610"
"""Where the pages are served unless another port is asked for."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a file is made of: an attempt, for whom, when, and where the pages are."""

    home: Home
    person: Person
    recording: Recording
    address: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class Export:
    """A kind of file.

    Parameters
    ----------
    ending
        What the file's name ends with.
    media_type
        Its media type.
    words
        What it is, for a menu.
    make
        Makes its bytes.
    """

    ending: str
    media_type: str
    words: str
    make: Callable[[Asked], bytes]


@dataclass(frozen=True, slots=True)
class File:
    """A file that was made: a name for it, its media type and its bytes."""

    name: str
    media_type: str
    body: bytes


def export(home: Home, person: Person, recording: Recording, kind: str, address: str = ADDRESS) -> File:
    """Make one of the `EXPORTS` of an attempt; what is covered for the person is not in it.

    Parameters
    ----------
    address
        Where the pages are served; links to seconds begin so.

    Raises
    ------
    NotFound
        If there is no such kind, or the film was not analysed and the file needs that.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording.id)
    if kind not in EXPORTS:
        raise NotFound.among("export", kind, EXPORTS)
    of = EXPORTS[kind]
    body = of.make(Asked(home, person, recording, address, datetime.now(UTC)))
    return File(f"{_plain(recording.name)}-{recording.attempt}{of.ending}", of.media_type, body)


def _plain(name: str) -> str:
    """Return a name as every system takes it in a file's name."""
    stem = re.sub(r"\.[A-Za-z0-9]{2,4}$", "", name)
    return re.sub(r"[^A-Za-z0-9]+", "-", stem).strip("-")[:60].lower() or "attempt"


def _captions(asked: Asked) -> bytes:
    return captions(asked.home, asked.person, asked.recording.id).encode()


def _comments(asked: Asked) -> bytes:
    return comment_track(asked.home, asked.person, asked.recording.id).encode()


def _chapters(asked: Asked) -> bytes:
    return chapters(asked.home, asked.person, asked.recording).encode()


def _metadata(asked: Asked) -> bytes:
    return timed_text.metadata_track(said(told(asked.home, asked.person, asked.recording))).encode()


def _annotations(asked: Asked) -> bytes:
    heard = said(told(asked.home, asked.person, asked.recording))
    return web_annotation.collection(heard, asked.made_at).encode()


def _tables(asked: Asked) -> bytes:
    """Pack all tables and their codebook, each as a CSV file, into one ZIP file."""
    rows = rows_of(asked.home, told(asked.home, asked.person, asked.recording))
    texts = {name: csv_text.write_csv(table, rows[name]) for name, table in TABLES.items()}
    texts[CODEBOOK.name] = csv_text.write_csv(CODEBOOK, codebook())
    paper = io.BytesIO()
    with zipfile.ZipFile(paper, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, text in texts.items():
            pack.writestr(f"{name}.csv", text.encode())
    return paper.getvalue()


def _values(asked: Asked) -> bytes:
    rows = rows_of(asked.home, told(asked.home, asked.person, asked.recording))["values"]
    return columnar.write_table(TABLES["values"], rows, _facts(asked.recording))


def _tracks(asked: Asked) -> bytes:
    tracks = tracks_of(asked.home, asked.recording.id)
    if tracks is None:
        name = asked.recording.name
        raise NotFound(f"{name} has no tracks yet: it was not analysed. Run: runthrough analyse {asked.recording.id}")
    return columnar.write_tracks(tracks, _facts(asked.recording))


def _facts(film: Recording) -> dict[str, Any]:
    """Return what a file of numbers tells of the film they come from."""
    return {
        "film_sha256": film.sha256,
        "frames": film.frames,
        "frames_a_second": film.frames / film.duration_s if film.duration_s else None,
        "width_px": film.width_px,
        "height_px": film.height_px,
        "mirrored": film.mirrored,
        "models": dict(MODEL_SUMS),
    }


def _report(asked: Asked) -> bytes:
    made = document(asked.home, asked.person, asked.recording, asked.address, asked.made_at)
    return typesetting.typeset(made.contents, made.pictures, asked.made_at)


def _print(asked: Asked) -> bytes:
    made = document(asked.home, asked.person, asked.recording, asked.address, asked.made_at)
    return print_page.print_page(made.contents, made.pictures).encode()


EXPORTS: Final[Mapping[str, Export]] = MappingProxyType(
    {
        "report": Export(".pdf", typesetting.MEDIA_TYPE, "Report to print, PDF", _report),
        "print": Export(".html", print_page.MEDIA_TYPE, "Report as a page, HTML", _print),
        "tables": Export("-tables.zip", "application/zip", "Tables with codebook, CSV", _tables),
        "marks": Export("-marks.vtt", WEB_VTT, "Marks, comments and grades, WebVTT", _metadata),
        "annotations": Export(
            ".jsonld", web_annotation.MEDIA_TYPE, "Marks, comments and grades, JSON-LD", _annotations
        ),
        "captions": Export("-captions.vtt", WEB_VTT, "What is said as captions, WebVTT", _captions),
        "comments": Export("-comments.vtt", WEB_VTT, "Comments at their seconds, WebVTT", _comments),
        "chapters": Export("-chapters.vtt", WEB_VTT, "My marks as chapters, WebVTT", _chapters),
        "values": Export("-values.parquet", columnar.MEDIA_TYPE, "Values, Parquet", _values),
        "tracks": Export("-tracks.parquet", columnar.MEDIA_TYPE, "Landmark tracks, Parquet", _tracks),
    }
)
"""All kinds of files by name, those that people ask for most first."""
