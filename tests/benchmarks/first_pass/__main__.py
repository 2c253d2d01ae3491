"""How many steps of whole attempts are proposed rightly, room by room; with ``--learn``, learning from them.

    python -m tests.benchmarks.first_pass FOLDER [--json]
    python -m tests.benchmarks.first_pass FOLDER --learn [--folds 4] [--written 16]

The folder holds attempts of ``python -m sample_clips.recipe.mock``, as sound or film, each with its truth. What is
heard in each is kept beside it (``NAME.heard.json``), so that it is listened to only once. A step counts as right where
it is proposed on its side with its onset within 2 s of the true one.

With ``--learn`` the table `review/pipeline/first_pass/learned.toml` is written anew. The figures printed are then
those of cross-validation: each attempt is proposed with weights of the others, all its rooms left out together.
Attempts that are only written, and cost no voice, are learned from besides and never counted.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from review.domain.proposal import Proposal
from review.pipeline.first_pass.habits import Habits, learned
from review.pipeline.first_pass.proposing import propose
from tests.benchmarks.first_pass.attempts import Attempt, attempts
from tests.benchmarks.first_pass.learning import Lesson, learn, lesson, platt
from tests.benchmarks.first_pass.scoring import Count, calibration, matched
from tests.benchmarks.first_pass.writing import write
from tests.benchmarks.first_pass.written import written

LEAST = 0.35
"""Confidence below which nothing is proposed: author's choice, by the table of skipped steps."""


def first_pass_figures(folder: Path) -> dict[str, Any]:
    """Return for each room of a folder the share of steps that are proposed rightly, and under ``first_pass`` all."""
    counts: dict[str, Count] = {}
    for attempt, proposals in _proposed(list(attempts(folder)), learned()):
        counts.setdefault(attempt.room, Count()).add(attempt, proposals)
    rooms = {room: count.figures() for room, count in sorted(counts.items())}
    return {**{f"first_pass_{room}": figures["right"] for room, figures in rooms.items()}, "first_pass": rooms}


def _proposed(found: Sequence[Attempt], habits: Habits) -> list[tuple[Attempt, tuple[Proposal, ...]]]:
    return [(attempt, propose(attempt.evidence, attempt.sheet, habits)) for attempt in found]


def _told(proposed: Sequence[tuple[Attempt, tuple[Proposal, ...]]]) -> None:
    counts: dict[str, Count] = {}
    for attempt, proposals in proposed:
        counts.setdefault(attempt.room, Count()).add(attempt, proposals)
    for room, count in sorted(counts.items()):
        print(f"{room:8}" + "  ".join(f"{name} {value}" for name, value in count.figures().items()))
    print("confidence  proposals  mean  right")
    for name, many, mean, right in calibration(one for count in counts.values() for one in count.sure):
        print(f"{name:11} {many:9} {mean:5.2f} {right:6.2f}")


def _learn(found: Sequence[Attempt], folds: int, besides: Sequence[Attempt]) -> None:
    lessons = {attempt.name: lesson(attempt) for attempt in (*found, *besides)}
    known = [attempt for attempt in (*found, *besides) if lessons[attempt.name] is not None]
    print(f"{len(known)} of {len(lessons)} attempts can be learned from", flush=True)
    seeds = sorted({attempt.seed for attempt in found})
    plain = Habits({}, 1.0, 0.0, 0.0)
    proposed: list[tuple[Attempt, tuple[Proposal, ...]]] = []
    weights: Mapping[str, float] = learned().weights
    for fold in range(folds):
        held_out = set(seeds[fold::folds])
        weights = learn(_lessons(known, lessons, held_out), weights)
        proposed += _proposed([one for one in found if one.seed in held_out], replace(plain, weights=weights))
        print(f"fold {fold + 1} of {folds}", flush=True)
    sure = [(one.confidence, right) for attempt, mine in proposed for one, right in matched(attempt, mine)]
    slope, offset = platt(sure)
    habits = Habits(learn(_lessons(known, lessons, set()), weights), slope, offset, LEAST)
    write(habits, [attempt.name for attempt in known])
    told = [
        (attempt, tuple(replace(one, confidence=habits.confidence(one.confidence)) for one in mine))
        for attempt, mine in proposed
    ]
    _told([(attempt, tuple(one for one in mine if one.confidence >= LEAST)) for attempt, mine in told])


def _lessons(known: Sequence[Attempt], lessons: Mapping[str, Lesson | None], without: set[int]) -> list[Lesson]:
    found = (lessons[one.name] for one in known if one.room == "written" or one.seed not in without)
    return [one for one in found if one is not None]


def main() -> None:
    """Print the figures of a folder, or learn from it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--learn", action="store_true", help="write learned.toml anew; print cross-validated figures")
    parser.add_argument("--folds", type=int, default=4, help="parts of the cross-validation (default: %(default)s)")
    parser.add_argument("--written", type=int, default=0, help="attempts without sound to learn from besides")
    args = parser.parse_args()
    if args.json:
        print(json.dumps(first_pass_figures(args.folder)))
        return
    found = list(attempts(args.folder))
    if args.learn:
        _learn(found, args.folds, list(written(args.written)))
    else:
        _told(_proposed(found, learned()))


if __name__ == "__main__":
    main()
