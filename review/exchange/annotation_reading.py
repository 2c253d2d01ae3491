"""Reading our own Web Annotations back: marks and comments out of a collection, a page, a list or a single one."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from review.domain.model import Side
from review.exchange.digests import film_sha256
from review.exchange.media_fragments import read_fragment
from review.exchange.said import SCHEMA_VERSION, Author, Heard, SaidComment, SaidMark, read_moment, read_side, whole_ms
from review.exchange.web_annotation import OWN_FORMAT

MOMENT_MS: Final = 1
"""Length that a moment has in the file."""


def read_annotations(text: str) -> Heard:
    """Read a JSON-LD file of ours; what is wrong with it stands in the answer's faults, all at once."""
    heard = Heard()
    try:
        top = json.loads(text)
    except (ValueError, RecursionError) as error:
        heard.faults.append(f"this is no JSON that can be read: {error}")
        return heard
    found = _items(top)
    if found is None:
        heard.faults.append("no annotations are in it; expected an Annotation, an AnnotationPage or a collection")
        return heard
    for number, item in enumerate(found, 1):
        hear(heard, f"annotation {number}", item)
    return heard


def _items(top: Any) -> list[Any] | None:
    if isinstance(top, list):
        return top
    if not isinstance(top, Mapping):
        return None
    kind = top.get("type")
    if kind == "Annotation":
        return [top]
    if kind == "AnnotationPage":
        items = top.get("items")
        return items if isinstance(items, list) else None
    if kind == "AnnotationCollection":
        return [] if top.get("total") == 0 else _items(top.get("first"))
    return None


def hear(heard: Heard, where: str, item: Any) -> None:
    """Take one annotation into what was heard; its faults, each with `where`, if it cannot be read."""
    try:
        own = _own_fields(item)
        kind = own.get("kind")
        heard.films.add(_film(item["target"]))
        if kind == "mark":
            heard.marks.append((where, _mark(item, own)))
        elif kind == "comment":
            heard.comments.append((where, _comment(item, own)))
        elif kind == "grade":
            heard.pass_over("grade")
        else:
            raise ValueError(f"its kind is {str(kind)[:20]!r}; expected mark, comment or grade")
    except KeyError as error:
        heard.faults.append(f"{where}: {error.args[0]!r} is missing")
    except (ValueError, TypeError, AttributeError, RecursionError) as error:
        heard.faults.append(f"{where}: {error}")


def _own_fields(item: Any) -> Mapping[str, Any]:
    if not isinstance(item, Mapping) or item.get("type") != "Annotation":
        raise ValueError("this is no annotation; expected an object of the type Annotation")
    for body in _list(item.get("body")):
        if isinstance(body, Mapping) and body.get("format") == OWN_FORMAT:
            own = json.loads(str(body["value"]))
            if not isinstance(own, Mapping):
                break
            if own.get("schema_version") != SCHEMA_VERSION:
                told = str(own.get("schema_version"))[:20]
                raise ValueError(f"it is of version {told}; expected {SCHEMA_VERSION}: export it anew")
            return own
    raise ValueError(f"it was not written by Runthrough: it has no body of the format {OWN_FORMAT}")


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _film(target: Any) -> str:
    source = target if isinstance(target, str) else target["source"]
    film = film_sha256(str(source))
    if film is None:
        raise ValueError(f"its target is {str(source)[:60]!r}; expected a film by its SHA-256, ni:///sha-256;...")
    return film


def _mark(item: Mapping[str, Any], own: Mapping[str, Any]) -> SaidMark:
    onset_ms, offset_ms = _span(item)
    return SaidMark(_id(item), _step(own), _side(own), onset_ms, offset_ms, _by(item, own), _at(item))


def _comment(item: Mapping[str, Any], own: Mapping[str, Any]) -> SaidComment:
    onset_ms, offset_ms = _span(item)
    step = None if own.get("step") is None else _step(own)
    answered = own.get("reply_to")
    return SaidComment(
        id=_id(item),
        step=step,
        side=_side(own),
        onset_ms=onset_ms,
        offset_ms=offset_ms,
        text=_words(item),
        by=_by(item, own),
        at=_at(item),
        reply_to=None if answered is None else str(UUID(str(answered))),
        shape=own.get("shape"),
        settled=bool(own.get("settled")),
    )


def _span(item: Mapping[str, Any]) -> tuple[int, int]:
    value = str(item["target"]["selector"]["value"])
    fragment = read_fragment(value)
    if fragment is None or fragment.offset_s is None:
        raise ValueError(f"its seconds are {value[:40]!r}; expected a start and a later end such as t=3.000,7.500")
    onset_ms, offset_ms = whole_ms(fragment.onset_s), whole_ms(fragment.offset_s)
    return onset_ms, onset_ms if offset_ms - onset_ms <= MOMENT_MS else offset_ms


def _id(item: Mapping[str, Any]) -> str:
    text = str(item["id"])
    try:
        return str(UUID(text.removeprefix("urn:uuid:")))
    except ValueError:
        raise ValueError(f"its id is {text[:60]!r}; expected urn:uuid: and a UUID") from None


def _step(own: Mapping[str, Any]) -> str:
    step = own["step"]
    if not isinstance(step, str) or not step:
        raise ValueError(f"its step is {str(step)[:20]!r}; expected the id of a step")
    return step


def _side(own: Mapping[str, Any]) -> Side | None:
    side = own.get("side")
    return read_side(None if side is None else str(side))


def _by(item: Mapping[str, Any], own: Mapping[str, Any]) -> Author:
    creator = item["creator"]
    return Author(str(creator["nickname"]), str(own.get("role", "")))


def _at(item: Mapping[str, Any]) -> datetime:
    return read_moment(str(item["created"]))


def _words(item: Mapping[str, Any]) -> str:
    for body in _list(item.get("body")):
        if isinstance(body, Mapping) and body.get("purpose") in ("commenting", "replying"):
            return str(body["value"])
    raise ValueError("it has no body with the words of the comment")
