"""Mutated films in numbers: how many are taken, which refusals they meet, and whether anything breaks.

Run: ``python -m tests.benchmarks.fuzz [COUNT] [--seed NUMBER] [--processes NUMBER] [--words]``
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.fuzz import run, seeds


def main() -> int:
    """Run the films through, print the counts, and return 1 if anything was amiss."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int, nargs="?", default=2000)
    parser.add_argument("--seed", type=int, default=20_261)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--words", action="store_true", help="print what is said of each film that is not taken")
    args = parser.parse_args()
    answers: Counter[str] = Counter()
    amiss = 0
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for outcome in run(seeds(folder), folder, args.count, args.seed, args.processes):
            answers[str(outcome.answer)] += 1
            if args.words and outcome.words:
                print(f"{outcome.number} {outcome.film}: {outcome.answer}. {outcome.words}")
            if outcome.faults:
                amiss += 1
                print(f"{outcome.number} {outcome.film}: {'; '.join(outcome.faults)}. {outcome.words}", flush=True)
    for answer, count in answers.most_common():
        print(f"{count:6d}  {answer}")
    print(f"{args.count} films in {time.perf_counter() - began:.0f} s, {amiss} amiss")
    return 1 if amiss else 0


if __name__ == "__main__":
    sys.exit(main())
