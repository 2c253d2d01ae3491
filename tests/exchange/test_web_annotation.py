"""Web Annotations: the model's MUSTs hold for what is written, and what is read back is what was said."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any
from urllib.parse import urlparse

import pytest

from review.exchange.annotation_reading import read_annotations
from review.exchange.media_fragments import read_fragment
from review.exchange.web_annotation import annotated, collection
from tests.exchange.said import AT, COMMENTS, GRADES, MARKS, SAID, SUM

CONTEXT = "http://www.w3.org/ns/anno.jsonld"

# W3C, Web Annotation Data Model, section 3.3.5: the motivations.
MOTIVATIONS = {
    *("assessing", "bookmarking", "classifying", "commenting", "describing", "editing", "highlighting"),
    *("identifying", "linking", "moderating", "questioning", "replying", "tagging"),
}

# Examples of the standard's own (working group's repository, model/wd2/examples/correct): a selector on a video, a body
# given as text, and the complete example with a choice and refined selectors.
VIDEO = {
    "@context": CONTEXT,
    "id": "http://example.org/anno19",
    "type": "Annotation",
    "body": {
        "source": "http://example.org/video1",
        "purpose": "describing",
        "selector": {
            "type": "FragmentSelector",
            "conformsTo": "http://www.w3.org/TR/media-frags/",
            "value": "t=30,60",
        },
    },
    "target": "http://example.org/image1",
}
TEXT = {
    "@context": CONTEXT,
    "id": "http://example.org/anno42",
    "type": "Annotation",
    "bodyValue": "Comment text",
    "target": "http://example.org/target1",
}
WHOLE = {
    "@context": CONTEXT,
    "id": "http://example.org/anno41",
    "type": "Annotation",
    "motivation": "commenting",
    "creator": {"id": "http://example.org/user1", "type": "Person", "name": "A. Person", "account": "user1"},
    "created": "2015-10-13T13:00:00Z",
    "body": [{"type": "TextualBody", "purpose": "tagging", "value": "love"}],
    "target": {
        "type": "SpecificResource",
        "source": "http://example.com/document1",
        "selector": {
            "type": "FragmentSelector",
            "value": "xpointer(/doc/body/section[2]/para[1])",
            "refinedBy": {"type": "TextPositionSelector", "start": 6, "end": 27},
        },
    },
}


def is_iri(text: Any) -> bool:
    """Tell whether something is an absolute IRI."""
    return isinstance(text, str) and bool(urlparse(text).scheme) and " " not in text


def many(value: Any) -> list[Any]:
    """Return a value that may be one or several as a list."""
    return value if isinstance(value, list) else [value]


def zoned(annotation: dict[str, Any]) -> bool:
    """Tell whether all moments of an annotation have a zone."""
    told = (annotation.get(name) for name in ("created", "modified", "generated"))
    return all(datetime.fromisoformat(text).tzinfo is not None for text in told if text is not None)


RULES = {
    "3.1: the context": lambda one: CONTEXT in many(one.get("@context")),
    "3.1: exactly one IRI as its id": lambda one: is_iri(one.get("id")),
    "3.1: the type Annotation": lambda one: "Annotation" in many(one.get("type")),
    "3.1: one or more targets": lambda one: bool(one.get("target")),
    "3.2.5: not both body and bodyValue": lambda one: not {"body", "bodyValue"} <= one.keys(),
    "3.3.5: a motivation of the list": lambda one: {*many(one.get("motivation", []))} <= MOTIVATIONS,
    "3.3.1: moments with a zone": zoned,
}


def broken(annotation: dict[str, Any]) -> Iterator[str]:
    """Name the MUSTs of the Web Annotation Data Model (23 February 2017) that an annotation breaks."""
    yield from (rule for rule, holds in RULES.items() if not holds(annotation))
    for part in (*many(annotation.get("body", [])), *many(annotation.get("target") or [])):
        yield from broken_part(part)


def broken_part(part: Any) -> Iterator[str]:
    """Name the MUSTs that a body or a target breaks."""
    if isinstance(part, str):
        if not is_iri(part):
            yield "3.2.1: an IRI"
        return
    if part.get("type") == "TextualBody" and not isinstance(part.get("value"), str):
        yield "3.2.4: exactly one value of a textual body"
    if "purpose" in part and part["purpose"] not in MOTIVATIONS:
        yield "3.3.5: a purpose of the list"
    if "selector" in part:
        if not is_iri(part.get("source")):
            yield "4: exactly one source of a specific resource"
        yield from broken_selector(part["selector"])


def broken_selector(selector: dict[str, Any]) -> Iterator[str]:
    """Name the MUSTs that a selector breaks."""
    if selector["type"] in ("FragmentSelector", "SvgSelector") and not isinstance(selector.get("value"), str):
        yield "4.2.1, 4.2.7: exactly one value"
    if selector.get("conformsTo") == "http://www.w3.org/TR/media-frags/" and read_fragment(selector["value"]) is None:
        yield "4.2.1: a value by the specification that it names"
    if selector["type"] == "SvgSelector":
        ET.fromstring(selector["value"])
    if "refinedBy" in selector:
        yield from broken_selector(selector["refinedBy"])


@pytest.mark.parametrize("annotation", [VIDEO, TEXT, WHOLE], ids=["anno19", "anno42", "anno41"])
def test_the_rules_take_the_examples_of_the_standard(annotation: dict[str, Any]) -> None:
    """The rules that ours are held to accept the standard's own examples."""
    assert list(broken(annotation)) == []


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"target": None}, "3.1: one or more targets"),
        ({"id": "anno41"}, "3.1: exactly one IRI"),
        ({"@context": "http://example.org"}, "3.1: the context"),
        ({"motivation": "grading"}, "3.3.5: a motivation"),
        ({"bodyValue": "x"}, "3.2.5"),
        ({"created": "2015-10-13T13:00:00"}, "3.3.1"),
        ({"body": [{"type": "TextualBody"}]}, "3.2.4"),
        (
            {"target": {**VIDEO["body"], "selector": {**VIDEO["body"]["selector"], "value": "t=60,30"}}},
            "4.2.1: a value",
        ),
    ],
    ids=["no target", "no IRI", "no context", "motivation", "two bodies", "no zone", "no value", "backwards"],
)
def test_the_rules_refuse_what_breaks_them(change: dict[str, Any], rule: str) -> None:
    """Each rule fails for an example that breaks it, so that the test below can fail."""
    assert [one for one in broken({**WHOLE, **change}) if one.startswith(rule)]


def test_ours_keep_the_rules() -> None:
    """Marks, comments and grades keep every MUST; grades are assessments, answers are replies, drawings are SVG."""
    made = [annotation for _, _, annotation in annotated(SAID)]
    assert [fault for one in made for fault in broken(one)] == []
    assert [one["motivation"] for one in made] == ["tagging"] * 2 + [
        "commenting",
        "replying",
        "commenting",
        "assessing",
    ]
    selector = made[2]["target"]["selector"]
    assert (selector["conformsTo"], selector["value"]) == ("http://www.w3.org/TR/media-frags/", "t=6.000,6.001")
    drawn = ET.fromstring(selector["refinedBy"]["value"])
    circle = drawn.find("{http://www.w3.org/2000/svg}circle")
    assert circle is not None
    assert (drawn.get("viewBox"), circle.get("cx"), circle.get("cy"), circle.get("r")) == (
        "0 0 1280 720",
        "640",
        "180",
        "128",
    )


def test_a_grade_of_an_unmarked_step_is_about_the_whole_film() -> None:
    """It has the film itself for its target, and no seconds."""
    unmarked = replace(GRADES[0], onset_ms=None, offset_ms=None)
    ((_, _, made),) = annotated(replace(SAID, marks=(), comments=(), grades=(unmarked,)))
    assert made["target"].startswith("ni:///sha-256;")
    assert list(broken(made)) == []


def test_the_collection_is_one_page() -> None:
    """Section 5: a collection with its total and an embedded first page of items; it names its maker and its date."""
    whole = json.loads(collection(SAID, AT))
    assert (whole["@context"], whole["type"], whole["total"]) == (CONTEXT, "AnnotationCollection", 6)
    assert is_iri(whole["id"])
    assert (whole["first"]["type"], len(whole["first"]["items"])) == ("AnnotationPage", 6)
    assert is_iri(whole["first"]["id"])
    assert whole["generated"] == "2026-05-04T10:00:00.123456Z"


def test_what_is_written_is_read_back() -> None:
    """Marks and comments come back as they were, drawings, answers and moments with them; grades are counted."""
    heard = read_annotations(collection(SAID, AT))
    assert heard.faults == []
    assert [one for _, one in heard.marks] == list(MARKS)
    assert [one for _, one in heard.comments] == list(COMMENTS)
    assert (heard.films, heard.passed_over) == ({SUM}, {"grade": 1})


def test_all_faults_are_told_at_once() -> None:
    """Each annotation that cannot be read is one fault with its number; the others are read."""
    items = json.loads(collection(SAID, AT))["first"]["items"]
    del items[0]["created"]
    items[1]["target"]["selector"]["value"] = "t=9,3"
    items[2]["creator"] = None
    items[3]["target"]["source"] = "http://example.org/film"
    items[4]["id"] = "http://example.org/anno1"
    heard = read_annotations(json.dumps([*items, WHOLE, 7]))
    assert [fault.partition(":")[0] for fault in heard.faults] == [f"annotation {n}" for n in (1, 2, 3, 4, 5, 7, 8)]
    assert "'created' is missing" in heard.faults[0]
    assert "expected a start and a later end" in heard.faults[1]
    assert "was not written by Runthrough" in heard.faults[5]


@pytest.mark.parametrize(
    "text", ["", "{", "[" * 100_000, '{"type": "Annotation"}', "7", '{"type": "AnnotationPage"}', "null"]
)
def test_anything_else_is_a_fault(text: str) -> None:
    """No text makes the reader fail otherwise than with a fault in words."""
    assert len(read_annotations(text).faults) == 1
