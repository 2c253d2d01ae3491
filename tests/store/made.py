"""Small invented things to store: a sheet, people, a recording, marks."""

from __future__ import annotations

from datetime import UTC, datetime

from review.domain.checklist_file import parse_checklist
from review.domain.entries import Entry
from review.domain.model import Comment, Grade, Interval, Mark, Person, Recording, Role
from review.domain.sharing import Audience, Bystanders, Consent
from review.store.repository import Repository

WHEN = datetime(2026, 3, 2, 18, 30, 0, 123456, tzinfo=UTC)
LEARNER = Person("p-learner", "L-07", Role.LEARNER)
OTHER_LEARNER = Person("p-other", "L-12", Role.LEARNER)
PEER = Person("p-peer", "P-03", Role.PEER)
INSTRUCTOR = Person("p-instructor", "I-01", Role.INSTRUCTOR)
PEOPLE = (LEARNER, OTHER_LEARNER, PEER, INSTRUCTOR)

SHEET = """
id = "short_sheet"
version = 1
title = "Short sheet"
summary = "Two steps."
notice = "Practice feedback, not a diagnosis."

[scale]
name = "Two levels"
not_assessable = "cannot be judged"
levels = [
    { key = "yes", word = "yes", share = 1 },
    { key = "not_yet", word = "not yet", share = 0 },
]

[[section]]
id = "all"
title = "All"

[[section.step]]
id = "romberg"
title = "Romberg"
action = "Stand with the feet together."
expected = "No step."
caution = "Stand guard."
points = 2
critical = true
criteria = [{ id = "guard", text = "The examiner stands guard." }]

[[section.step]]
id = "knee"
title = "Knee reflex"
action = "Tap the tendon below the kneecap."
expected = "The lower leg kicks."
caution = "Tap the tendon, not the bone."
points = 2
sides = ["right", "left"]
entry = "reflex"
"""


def recording(identity: str = "a1b2c3", **facts: object) -> Recording:
    """Make a recording of 20 s whose film's SHA-256 follows from its id."""
    usual: dict[str, object] = {
        "id": identity,
        "sha256": identity.ljust(64, "0"),
        "name": "attempt.mp4",
        "added_at": WHEN,
        "added_by": LEARNER.id,
        "duration_s": 20.0,
        "frames": 600,
        "width_px": 1280,
        "height_px": 720,
        "rotation_deg": 0,
        "codec": "h264",
        "bit_depth": 8,
        "has_sound": True,
        "size_bytes": 1_000_000,
        "checklist_id": "short_sheet",
        "checklist_version": 1,
        "notes": ("the film starts late",),
    }
    return Recording(**{**usual, **facts})


def mark(identity: str = "m1", revision: int = 1, onset_s: float = 1.0, **facts: object) -> Mark:
    """Make a mark of the learner, three seconds long."""
    usual: dict[str, object] = {
        "recording_id": "a1b2c3",
        "step_id": "romberg",
        "side": None,
        "person_id": LEARNER.id,
        "at": WHEN,
    }
    return Mark(id=identity, revision=revision, interval=Interval(onset_s, onset_s + 3), **{**usual, **facts})


def grade(identity: str = "g1", revision: int = 1, **facts: object) -> Grade:
    """Make a grade of the learner."""
    usual: dict[str, object] = {
        "recording_id": "a1b2c3",
        "step_id": "knee",
        "side": "left",
        "criterion_id": None,
        "level": "yes",
        "confidence": 80,
        "person_id": LEARNER.id,
        "at": WHEN,
    }
    return Grade(id=identity, revision=revision, **{**usual, **facts})


def comment(identity: str = "c1", revision: int = 1, **facts: object) -> Comment:
    """Make a comment of the learner."""
    usual: dict[str, object] = {
        "recording_id": "a1b2c3",
        "interval": Interval(4.0, 4.0),
        "text": "Arms drift.",
        "person_id": LEARNER.id,
        "at": WHEN,
    }
    return Comment(id=identity, revision=revision, **{**usual, **facts})


def entry(identity: str = "e1", revision: int = 1, **facts: object) -> Entry:
    """Make an entry of the learner."""
    usual: dict[str, object] = {
        "recording_id": "a1b2c3",
        "step_id": "knee",
        "side": "left",
        "kind": "reflex",
        "text": "2+ on NINDS",
        "fields": {"side": "left", "grade": 2, "scale": "NINDS", "reinforced": None},
        "person_id": LEARNER.id,
        "at": WHEN,
    }
    return Entry(id=identity, revision=revision, **{**usual, **facts})


def consent(version: int = 1, **facts: object) -> Consent:
    """Make a consent to everything, noted by the learner."""
    usual: dict[str, object] = {
        "recording_id": "a1b2c3",
        "audiences": frozenset(Audience),
        "until": None,
        "bystanders": Bystanders.NOBODY,
        "partner": "K.M.",
        "noted_by": LEARNER.id,
        "at": WHEN,
    }
    return Consent(version=version, **{**usual, **facts})


def fill(repo: Repository) -> None:
    """Store the people, the sheet and the recording."""
    for person in PEOPLE:
        repo.put_person(person)
    repo.put_checklist(parse_checklist(SHEET, "short"), SHEET)
    repo.add_recording(recording())
