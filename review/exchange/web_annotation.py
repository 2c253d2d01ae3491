"""Marks, comments and grades as Web Annotations (JSON-LD), each at its seconds of the film.

What other programs can show stands in the terms of the standard; what only Runthrough needs to read a mark or comment
back stands as JSON in a textual body of its own, so that no vocabulary of our own is needed.

References
----------
W3C, Web Annotation Data Model, Recommendation of 23 February 2017: sections 3.1 (annotations), 3.2.4 (textual
bodies), 3.3.1 and 3.3.5 (provenance, motivation), 4.2.1 and 4.2.7 (fragment and SVG selectors), 5 (collections).
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any, Final

from review.domain.model import Shape, Side
from review.exchange.digests import film_uri
from review.exchange.media_fragments import CONFORMS_TO, write_fragment
from review.exchange.said import SCHEMA_VERSION, Author, Said, SaidComment, SaidGrade, SaidMark, moment_text
from review.exchange.svg import drawing

CONTEXT: Final = "http://www.w3.org/ns/anno.jsonld"
MEDIA_TYPE: Final = 'application/ld+json; profile="http://www.w3.org/ns/anno.jsonld"'
OWN_FORMAT: Final = "application/json"
"""Media type of the body that is read back."""

Annotation = dict[str, Any]


def annotated(said: Said) -> Iterator[tuple[int, int, Annotation]]:
    """Go through marks, comments and grades as annotations, each with its onset and offset in milliseconds.

    A grade is about the seconds that its rater marked for the step; without such a mark it is about the whole film.
    """
    for mark in said.marks:
        yield mark.onset_ms, mark.offset_ms, _mark(said, mark)
    for comment in said.comments:
        yield comment.onset_ms, comment.offset_ms, _comment(said, comment)
    for grade in said.grades:
        onset_ms = 0 if grade.onset_ms is None else grade.onset_ms
        offset_ms = said.duration_ms if grade.offset_ms is None else grade.offset_ms
        yield onset_ms, offset_ms, _grade(said, grade)


def collection(said: Said, made_at: datetime) -> str:
    """Return all annotations of an attempt as one collection with a single page, as the text of a JSON-LD file."""
    items = [annotation for _, _, annotation in annotated(said)]
    name = film_uri(said.film_sha256)
    page = {
        "id": f"{name}?page=1",
        "type": "AnnotationPage",
        "startIndex": 0,
        "items": items,
    }
    whole = {
        "@context": CONTEXT,
        "id": f"{name}?annotations",
        "type": "AnnotationCollection",
        "label": f"{said.name}: marks, comments and grades",
        "generator": _GENERATOR,
        "generated": moment_text(made_at),
        "total": len(items),
        "first": page if items else None,
    }
    return json.dumps({key: value for key, value in whole.items() if value is not None}, indent=1, ensure_ascii=False)


_GENERATOR: Final = {"type": "Software", "name": "Runthrough"}


def _mark(said: Said, mark: SaidMark) -> Annotation:
    words = {"type": "TextualBody", "purpose": "tagging", "value": _title(said, mark.step, mark.side)}
    own = {"kind": "mark", "step": mark.step, "side": mark.side}
    return _annotation(said, mark.id, "tagging", mark.by, mark.at, (words, own), (mark.onset_ms, mark.offset_ms))


def _comment(said: Said, comment: SaidComment) -> Annotation:
    purpose = "replying" if comment.reply_to else "commenting"
    words = {"type": "TextualBody", "purpose": purpose, "value": comment.text, "format": "text/plain"}
    own = {
        "kind": "comment",
        "step": comment.step,
        "side": comment.side,
        "reply_to": comment.reply_to,
        "settled": comment.settled,
        "shape": comment.shape,
    }
    span = (comment.onset_ms, comment.offset_ms)
    made = _annotation(said, comment.id, purpose, comment.by, comment.at, (words, own), span)
    if comment.shape is not None:
        svg = drawing(Shape(**comment.shape), said.width_px, said.height_px)
        made["target"]["selector"]["refinedBy"] = {"type": "SvgSelector", "value": svg}
    return made


def _grade(said: Said, grade: SaidGrade) -> Annotation:
    title = _title(said, grade.step, grade.side)
    what = f"{title}, {grade.criterion}" if grade.criterion else title
    words = {"type": "TextualBody", "purpose": "assessing", "value": f"{what}: {grade.word}", "format": "text/plain"}
    own = {
        "kind": "grade",
        "step": grade.step,
        "side": grade.side,
        "criterion": grade.criterion,
        "level": grade.level,
        "confidence": grade.confidence,
        "given": grade.given,
    }
    span = None if grade.onset_ms is None or grade.offset_ms is None else (grade.onset_ms, grade.offset_ms)
    return _annotation(said, grade.id, "assessing", grade.by, grade.at, (words, own), span)


def _annotation(
    said: Said,
    ident: str,
    motivation: str,
    by: Author,
    at: datetime,
    bodies: tuple[dict[str, Any], dict[str, Any]],
    span: tuple[int, int] | None,
) -> Annotation:
    words, own = bodies
    sheet = {"checklist": said.checklist, "checklist_version": said.checklist_version, "role": by.role}
    fields = json.dumps({"schema_version": SCHEMA_VERSION, **own, **sheet}, ensure_ascii=False)
    return {
        "@context": CONTEXT,
        "id": f"urn:uuid:{ident}",
        "type": "Annotation",
        "motivation": motivation,
        "creator": {"type": "Person", "nickname": by.code},
        "created": moment_text(at),
        "generator": _GENERATOR,
        "body": [words, {"type": "TextualBody", "purpose": "describing", "format": OWN_FORMAT, "value": fields}],
        "target": film_uri(said.film_sha256) if span is None else _target(said, span),
    }


def _target(said: Said, span: tuple[int, int]) -> dict[str, Any]:
    selector = {"type": "FragmentSelector", "conformsTo": CONFORMS_TO, "value": write_fragment(*span)}
    return {"type": "SpecificResource", "source": film_uri(said.film_sha256), "selector": selector}


def _title(said: Said, step: str, side: Side | None) -> str:
    title = said.titles.get(step, step)
    return f"{title}, {side}" if side else title
