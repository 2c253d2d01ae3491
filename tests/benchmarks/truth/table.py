"""The table: per measure bias, spread, coverage, refusals and reach, and coverage by group."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from tests.benchmarks.truth.reach import REACH, Reach
from tests.benchmarks.truth.rows import Row
from tests.benchmarks.truth.whose import Whose

GROUPS = ("build", "skin", "light", "view", "age", "phone")
HELD_GROUPS = ("build", "skin", "light")
LEAST_IN_GROUP = 8


def coverage(rows: Iterable[Row]) -> tuple[float | None, int]:
    """Return the share of intervals that hold the truth, and how many there are."""
    known = [row.inside for row in rows if row.inside is not None]
    return (float(np.mean(known)) if known else None), len(known)


def groups(rows: Sequence[Row], names: Sequence[str] = GROUPS) -> list[dict[str, Any]]:
    """Return the coverage of each group that has enough rows."""
    found = []
    for name in names:
        for kind in sorted({row.about.get(name, "") for row in rows}):
            share, count = coverage(row for row in rows if row.about.get(name, "") == kind)
            if share is not None and count >= LEAST_IN_GROUP:
                found.append({"group": f"{name} {kind}", "coverage": share, "intervals": count})
    return found


def by_measure(rows: Sequence[Row]) -> list[dict[str, Any]]:
    """Return a line for each measure."""
    return [_line(name, [row for row in rows if row.measure == name]) for name in sorted({row.measure for row in rows})]


def _line(name: str, rows: Sequence[Row]) -> dict[str, Any]:
    answered = [row for row in rows if row.error is not None]
    errors = np.array([row.error for row in answered], float)
    asked, refusable = [row for row in rows if row.truth is not None], [row for row in rows if row.truth is None]
    reach, off = REACH.get(name), [abs(off) for row in rows for off in row.events.off_s]
    return {
        "measure": name,
        "asked": len(asked),
        "answered": len(answered),
        "bias": float(errors.mean()) if len(errors) else None,
        "rms": float(np.sqrt(np.mean(errors**2))) if len(errors) else None,
        "coverage": coverage(rows)[0],
        "reach": reach.words if reach else "",
        "reached": _reached(reach, rows),
        "refused_rightly": _count(refusable, lambda row: row.value is None),
        "answered_wrongly": _count(refusable, lambda row: row.value is not None),
        "events_known": sum(row.events.known for row in rows),
        "events_found": sum(row.events.found for row in rows),
        "events_invented": sum(row.events.invented for row in rows),
        "onset_off_s": float(np.median(off)) if off else None,
    }


def _reached(reach: Reach | None, rows: Iterable[Row]) -> float | None:
    met = [reach.met(row) for row in rows if reach.asks(row)] if reach else []
    return float(np.mean(met)) if met else None


def _count(rows: Iterable[Row], which: Callable[[Row], bool]) -> int:
    return sum(1 for row in rows if which(row))


def summary(rows: Sequence[Row], clips: int, people: Sequence[Whose] = ()) -> dict[str, Any]:
    """Return all of it as one object of plain values; `people` are the films in which somebody else is about."""
    by_group, lines = groups(rows), by_measure(rows)
    held = [one["coverage"] for one in by_group if one["group"].split()[0] in HELD_GROUPS]
    return {
        "clips": clips,
        "coverage": coverage(rows)[0],
        "worst_group_coverage": min(held) if held else None,
        "answered_wrongly": sum(line["answered_wrongly"] for line in lines),
        "pairs": {
            "clips": len(people),
            "frames": sum(one.taken for one in people),
            "of_another": sum(one.wrong for one in people),
        },
        "measures": lines,
        "groups": by_group,
        "rows": [asdict(row) | {"error": row.error, "inside": row.inside} for row in rows],
    }


def said(found: dict[str, Any]) -> str:
    """Return the object as a text for people."""
    head = (
        f"{'measure':20} {'asked':>5} {'said':>5} {'bias':>8} {'rms':>8} {'cover':>6} {'reached':>7}  {'refused':>7} "
    )
    lines = [f"{head}{'wrongly':>7} {'events':>9} {'more':>4} {'onset':>6}  reach"]
    for one in found["measures"]:
        numbers = f"{one['asked']:5} {one['answered']:5} {_text(one['bias'], 8)} {_text(one['rms'], 8)} "
        shares = f"{_percent(one['coverage'])} {_percent(one['reached']):>7}  {one['refused_rightly']:7} "
        events = f"{one['events_found']:4}/{one['events_known']:<4} {one['events_invented']:4} "
        events += _text(one["onset_off_s"], 6)
        lines.append(f"{one['measure']:20} {numbers}{shares}{one['answered_wrongly']:7} {events}  {one['reach']}")
    lines += ["", *(f"{one['group']:20} {_percent(one['coverage'])} of {one['intervals']}" for one in found["groups"])]
    lines += [
        "",
        f"clips {found['clips']}, coverage {_percent(found['coverage'])}, worst group of build, skin and light",
    ]
    lines[-1] += f" {_percent(found['worst_group_coverage'])}, answered wrongly {found['answered_wrongly']}"
    pairs = found["pairs"]
    lines.append(f"two people in {pairs['clips']} clips: {pairs['of_another']} of {pairs['frames']} frames of another")
    return "\n".join(lines)


def _text(number: float | None, width: int) -> str:
    return f"{number:{width}.3f}" if number is not None else " " * (width - 1) + "-"


def _percent(share: float | None) -> str:
    return f"{100 * share:4.0f} %" if share is not None else "     -"
