"""What the grades of each rater of an attempt come to, for the Review page."""

from __future__ import annotations

from typing import Any

from review.domain.model import Person, Recording
from review.domain.result import Result, percent
from review.report.outcome_words import result_words, rule_words
from review.report.results import AddedUp, added_up, raters
from review.store.repository import Repository


def outcomes(repo: Repository, person: Person, recording: Recording) -> dict[str, Any]:
    """Return what grades come to as plain JSON values: one's own first, then those of others that are wholly uncovered.

    Keys are ``rule`` (what the sheet asks for), ``raters`` and ``covered``, which tells whether anybody else's is kept
    back because a grade of it is covered. A rater has ``person``, ``role``, ``mine``, ``outcome``, ``words`` and
    ``reasons``, and ``sections``, each with its title, points won and points possible.
    """
    own = added_up(repo, person, recording, person)
    others = [added_up(repo, person, recording, one) for one in raters(repo, person, recording) if one.id != person.id]
    shown = [own, *(one for one in others if one.result is not None)]
    return {
        "rule": rule_words(own.sheet),
        "raters": [_rater(one, one.result, person) for one in shown if one.result is not None],
        "covered": len(shown) <= len(others),
    }


def _rater(graded: AddedUp, result: Result, me: Person) -> dict[str, Any]:
    return {
        "person": graded.rater.code,
        "role": str(graded.rater.role),
        "mine": graded.rater.id == me.id,
        "outcome": result.outcome,
        "share": None if result.share is None else percent(result.share),
        "words": result_words(result),
        "reasons": list(result.reasons),
        "sections": [
            {
                "title": section.title,
                "won": f"{result.sections[section.id].won:g}",
                "possible": f"{result.sections[section.id].possible:g}",
            }
            for section in graded.sheet.sections
        ],
    }
