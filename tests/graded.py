"""A home in which a learner, a peer and two instructors graded several attempts, without any film."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Final

from review.actions import checklists, comments, grades, marks, people
from review.domain.model import Person, Recording, Role
from review.store.home import Home, find_home
from review.store.repository import Repository, repository
from tests.store.made import WHEN, recording

STEPS: Final = ("consent_safety", "place_ready", "position_guard", "eyes_open", "eyes_closed", "result")
CAST: Final = {"L-07": Role.LEARNER, "L-12": Role.PEER, "I-02": Role.INSTRUCTOR, "I-03": Role.INSTRUCTOR}
GIVEN: Final = {
    1: {"L-07": "yyyyyy", "L-12": "ynyyyn", "I-02": "nnnyyn"},
    2: {"L-07": "yyyyyy", "L-12": "yynyyy", "I-02": "ynnyyn", "I-03": "yynyyn"},
    3: {"L-07": "yyyy.y", "I-02": "yynyyy", "I-03": "yynyy-"},
}
"""Grades of the six steps by attempt and person: yes, not yet, - for not assessable, . for none."""

_LEVELS: Final = {"y": "yes", "n": "not_yet", "-": "not_assessable"}


def furnish(root: Path) -> tuple[Home, dict[str, Person], list[Recording]]:
    """Make the home: three attempts a week apart, every step marked, each person's grades given blind."""
    home = find_home(root)
    with repository(home) as repo:
        checklists.install_shipped(repo)
        cast = {code: people.ensure(repo, code, role) for code, role in CAST.items()}
        films = [_attempt(repo, cast, number) for number in GIVEN]
        said = "Stand within arm's reach before the feet come together."
        note = comments.write(repo, cast["I-02"], films[1], 9.0, None, said, "position_guard")
        comments.reply(repo, cast["L-07"], note.id, "I was behind the phone.")
        comments.write(repo, cast["L-12"], films[2], 17.5, None, "Count aloud.", "eyes_closed")
    return home, cast, films


def _attempt(repo: Repository, cast: dict[str, Person], number: int) -> Recording:
    film = recording(
        f"{number}a2b3c",
        name=f"Fenwick Shore, balance lab {number}",
        checklist_id="balance_only",
        checklist_version=1,
        added_by=cast["L-07"].id,
        added_at=WHEN + timedelta(days=7 * (number - 1)),
        attempt=number,
    )
    repo.add_recording(film)
    for place, step in enumerate(STEPS):
        marks.place(repo, cast["L-07"], film, step, None, 3.0 * place + 1, 3.0 * place + 3)
    for code, row in GIVEN[number].items():
        for step, level in zip(STEPS, row, strict=True):
            if level in _LEVELS:
                grades.give(repo, cast[code], film, step, None, _LEVELS[level], confidence=3 if level == "y" else 2)
    return film
