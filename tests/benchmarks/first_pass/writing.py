"""Writing the table of what was learned."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import review.pipeline.first_pass
from review.pipeline.first_pass.habits import Habits

TABLE = Path(review.pipeline.first_pass.__file__).with_name("learned.toml")

_HEAD = """\
# Weights of the first pass, and how sure it may be; see docs/first-pass.md.
# Written by: python -m tests.benchmarks.first_pass FOLDER --learn
"""


def write(habits: Habits, names: Sequence[str], path: Path = TABLE) -> None:
    """Write what was learned from the attempts named; a weight that nothing spoke for is 0."""
    lines = [_HEAD, f"learned_from = {len(names)}", "", "[confidence]"]
    lines += [f"slope = {habits.slope:.3f}", f"offset = {habits.offset:.3f}", f"least = {habits.least:.2f}"]
    group = ""
    for name, value in habits.weights.items():
        begun, _, rest = name.partition(".")
        if begun != group:
            lines += ["", f"[weights.{begun}]"]
            group = begun
        lines.append(f'"{rest}" = {value:g}' if "." in rest or rest.isdigit() else f"{rest} = {value:g}")
    path.write_text("\n".join(lines) + "\n", "utf-8")
