"""Command line of the benchmark, see the package."""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path

from review.measures.learned import learned_elsewhere
from review.store.home import find_home
from tests.benchmarks import truth
from tests.benchmarks.truth import samples
from tests.benchmarks.truth.clips import clips_in, with_tracks
from tests.benchmarks.truth.learning import biases, learned_from, readings_of
from tests.benchmarks.truth.rows import Row, rows_of
from tests.benchmarks.truth.table import said, summary
from tests.benchmarks.truth.whose import whose
from tests.benchmarks.truth.writing import write_learned


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=truth.__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--clips", type=Path, help="a folder made by the truth studio")
    parser.add_argument("--home", type=Path, help="a folder to keep the analysis in")
    parser.add_argument("--learn", action="store_true", help="write what is learned from all films")
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        home = args.home or Path(scratch)
        if args.clips is None:
            _samples(home, args.json)
        else:
            _studio(args.clips, home, args.learn, args.json)


def _samples(home: Path, as_json: bool) -> None:
    checks = samples.table(find_home(home))
    if as_json:
        print(json.dumps([{**asdict(check), "near": check.near, "inside": check.inside} for check in checks]))
    else:
        print(samples.as_text(checks))


def _studio(folder: Path, home: Path, learn: bool, as_json: bool) -> None:
    clips = clips_in(folder)
    if not clips:
        made = f"python -m sample_clips.recipe.studio --out {folder}"
        raise SystemExit(f"{folder} holds no film with a truth; make some: {made}")
    seen = with_tracks(find_home(home), clips)
    readings = [reading for clip, tracks in seen for reading in readings_of(clip, tracks)]
    rows: list[Row] = []
    for person in sorted({clip.person for clip in clips}):
        others = learned_from(reading for reading in readings if reading.person != person)
        with learned_elsewhere(biases(others)):
            rows += [row for clip, tracks in seen if clip.person == person for row in rows_of(clip, tracks)]
    found = summary(rows, len(clips), [one for clip, tracks in seen if (one := whose(clip, tracks))])
    print(json.dumps(found) if as_json else said(found))
    if learn:
        print(write_learned(learned_from(readings)), file=sys.stderr)


if __name__ == "__main__":
    main()
