"""How soon the steps of a film are proposed, and how much memory listening to it takes until then.

Run: ``python -m tests.benchmarks.proposed FILM [--json]`` (Linux)

The film is taken into a fresh home and analysed as `runthrough analyse` does it. Every 2 s the proposals are asked for
as the Review page asks for them; the memory of the analysis with all its workers is read meanwhile, pages that several
of them hold counted once (PSS).
"""

from __future__ import annotations

import argparse
import json
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil

from review.actions.recordings import add
from review.domain.model import Person, Recording
from review.report.proposed import proposed
from review.store.home import Home
from tests.homes import learners_home

ASKED_S = 2.0
LOOKED_S = 0.5


def figures(film: Path) -> dict[str, float]:
    """Measure a film; memory in MB, times in seconds from the start of the analysis."""
    with tempfile.TemporaryDirectory(prefix="proposed") as folder:
        home, person = learners_home(Path(folder) / "home")
        recording = add(home, person, film)
        order = [sys.executable, "-m", "review", "analyse", recording.id, "--home", str(home.root)]
        with subprocess.Popen(order, stdout=subprocess.DEVNULL) as analysis:
            try:
                return _watched(home, person, recording, psutil.Process(analysis.pid))
            finally:
                analysis.terminate()


def _watched(home: Home, person: Person, recording: Recording, analysis: psutil.Process) -> dict[str, float]:
    began = asked = time.monotonic()
    together = largest = 0.0
    while analysis.is_running() and analysis.status() != psutil.STATUS_ZOMBIE:
        sizes = [_share_mb(process) for process in [analysis, *analysis.children(recursive=True)]]
        together, largest = max(together, sum(sizes)), max([largest, *sizes])
        if time.monotonic() - asked >= ASKED_S:
            asked = time.monotonic()
            count = len(proposed(home, person, recording.id)["proposals"])
            if count:
                passed_s = time.monotonic() - began
                return {"proposals": count, "after_s": passed_s, "together_mb": together, "largest_mb": largest}
        time.sleep(LOOKED_S)
    raise SystemExit("The analysis ended and nothing was proposed.")


def _share_mb(process: psutil.Process) -> float:
    try:
        return float(process.memory_full_info().pss) / 1e6
    except psutil.Error:  # it ended just now
        return 0.0


def main() -> None:
    """Print the figures of one film."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("film", type=Path)
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # the analysis is ended then too
    found = {name: round(number, 1) for name, number in figures(args.film).items()}
    print(json.dumps(found) if args.json else "\n".join(f"{name:>12}  {value:g}" for name, value in found.items()))


if __name__ == "__main__":
    main()
