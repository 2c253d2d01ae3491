"""An invented attempt for tests of files: two marks, three comments, a grade."""

from __future__ import annotations

from datetime import UTC, datetime

from review.exchange.said import Author, Said, SaidComment, SaidGrade, SaidMark

AT = datetime(2026, 5, 4, 10, 0, 0, 123456, tzinfo=UTC)
SUM = "0a76915bd1f0d7ae695b7b4ec5ffc314a3248fa2a13b3d37dfb4e2fb40879964"
LEARNER, INSTRUCTOR = Author("L-07", "learner"), Author("I-02", "instructor")
CIRCLE = {"kind": "circle", "x": 0.5, "y": 0.25, "x2": 0.6, "y2": 0.25}


def uuid(number: int) -> str:
    """Return a UUID that says its number."""
    return f"00000000-0000-4000-8000-{number:012d}"


MARKS = (
    SaidMark(uuid(1), "eyes_open", None, 5200, 24200, LEARNER, AT),
    SaidMark(uuid(2), "knee", "left", 24300, 24300, LEARNER, AT),
)
COMMENTS = (
    SaidComment(
        uuid(11), "eyes_open", None, 6000, 6000, 'a --> b\n\n<b>&amp; \u2192 "x"', INSTRUCTOR, AT, shape=CIRCLE
    ),
    SaidComment(uuid(12), "eyes_open", None, 6000, 6000, "Yes.", LEARNER, AT, reply_to=uuid(11), settled=True),
    SaidComment(uuid(13), None, None, 46300, 47000, "=HYPERLINK(1)", LEARNER, AT),
)
GRADES = (SaidGrade(uuid(21), "eyes_open", None, None, "yes", "yes", 2, "before", LEARNER, AT, 5200, 24200),)

SAID = Said(
    film_sha256=SUM,
    name="Fenwick Shore, balance lab",
    width_px=1280,
    height_px=720,
    duration_ms=48000,
    checklist="balance_only",
    checklist_version=1,
    titles={"eyes_open": "Eyes open", "knee": "Knee jerk"},
    marks=MARKS,
    comments=COMMENTS,
    grades=GRADES,
)
