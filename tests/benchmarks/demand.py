"""A marked attempt, analysed on demand: how long until all its values are there, and whether they are the same.

Run: ``python -m tests.benchmarks.demand FILM [--json]``

The film is added twice. One is marked with every step of the packaged screening sheet, one after the other over the
whole film, each as long as the sheet allows within its share; its analysis looks closely at the marked steps only, and
the time until all values of all marks are computed is taken, with as many processes as there are cores. The other is
looked at in full. Of each value that both give, it is asked whether the one from demand lies within the interval of
the full one, or the full one within its own.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from itertools import chain
from pathlib import Path

from review.actions import marks
from review.actions.recordings import add
from review.domain.model import Person, Recording, Value
from review.pipeline.analyse import analyse
from review.pipeline.values import marked_values
from review.store.home import Home
from review.store.repository import reading, repository
from tests.homes import learners_home

LONGEST_S = 20.0


def figures(film: Path) -> dict[str, float]:
    """Measure a film."""
    with tempfile.TemporaryDirectory(prefix="demand") as folder:
        (marked, person), (whole, other) = (learners_home(Path(folder) / name) for name in ("marked", "whole"))
        recording, twin = add(marked, person, film), add(whole, other, film)
        mark_all(marked, person, recording)
        began = time.perf_counter()
        values = _values(marked, recording)
        took = time.perf_counter() - began
        print(f"all values after {took:.0f} s; now all frames are looked at", file=sys.stderr, flush=True)
        analyse(whole, twin)
        mark_all(whole, other, twin)
        full = _values(whole, twin)
    pairs = [(one, other) for one, other in zip(values, full, strict=True) if _number(one) and _number(other)]
    within = [_agree(one, full_one) for one, full_one in pairs]
    for (one, other), good in zip(pairs, within, strict=True):
        if not good:
            print("apart:", one.step_id, one.step_side, one.measure, one.estimate, other.estimate)
    return {
        "marked_s": took,
        "marked_share_of_length": took / recording.duration_s,
        "values": float(len(values)),
        "values_with_number": float(len(pairs)),
        "values_within": sum(within) / max(1, len(within)),
    }


def mark_all(home: Home, person: Person, recording: Recording, every: int = 1) -> None:
    """Mark every step and side in the sheet's order, evenly over the film; or one of so many of them."""
    with repository(home) as repo:
        sheet = repo.checklist(recording.checklist_id or "", recording.checklist_version)
        places = list(chain.from_iterable(((step, side) for side in step.places) for step in sheet.steps()))
        share = recording.duration_s / len(places)
        for number, (step, side) in list(enumerate(places))[::every]:
            onset_s = number * share
            offset_s = min(onset_s + min(0.9 * share, LONGEST_S), recording.duration_s)
            marks.place(repo, person, recording, step.id, side, onset_s, offset_s)


def _values(home: Home, recording: Recording) -> tuple[Value, ...]:
    tracks = analyse(home, recording)
    with reading(home) as repo:
        sheet = repo.checklist(recording.checklist_id or "", recording.checklist_version)
        return marked_values(tracks, sheet, sorted(repo.marks(recording.id), key=lambda one: one.interval.onset_s))


def _number(value: Value) -> bool:
    return value.estimate.value is not None


def _agree(one: Value, other: Value) -> bool:
    return _holds(one, other) or _holds(other, one)


def _holds(wide: Value, value: Value) -> bool:
    low, high, found = wide.estimate.low, wide.estimate.high, value.estimate.value
    return low is not None and high is not None and found is not None and low <= found <= high


def main() -> None:
    """Print the figures of one film."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("film", type=Path)
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    found = {name: round(number, 3) for name, number in figures(args.film).items()}
    print(json.dumps(found) if args.json else "\n".join(f"{name:>24}  {value:g}" for name, value in found.items()))


if __name__ == "__main__":
    main()
