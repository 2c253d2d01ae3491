"""Figures of a server as text in the exposition format of Prometheus (version 0.0.4)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any, Final

from review.domain.errors import InputError

MEDIA_TYPE: Final = "text/plain; version=0.0.4; charset=utf-8"

GAUGES: Final[Mapping[str, str]] = {
    "recordings": "Films in the home.",
    "film_seconds": "Seconds that all films take together.",
    "film_bytes": "Bytes of all originals together.",
    "disk_free_bytes": "Bytes that are free where the home is.",
    "waiting_seconds": "Seconds that the analysis waits by now that was asked for first; 0 where none waits.",
}
"""What each gauge tells, by its name without the beginning."""


@dataclass(frozen=True, slots=True)
class Requests:
    """How requests were answered since the server started.

    Attributes
    ----------
    answers
        How many, by method, door and status.
    waits, waited_s
        By door: how many began to be answered within each class of seconds and in none of them, and the seconds they
        took together.
    bounds_s
        The classes' ends, rising.
    """

    answers: Mapping[tuple[str, str, int], int]
    waits: Mapping[str, Sequence[int]]
    waited_s: Mapping[str, float]
    bounds_s: Sequence[float]


def prometheus_text(gauges: Mapping[str, float], jobs: Mapping[str, int], requests: Requests) -> str:
    """Return the figures as text, with those of the process (memory, processor, open files).

    Parameters
    ----------
    gauges
        A number for each name of `GAUGES`.
    jobs
        How many analyses are in each state.
    requests
        What was counted of requests.

    Raises
    ------
    InputError
        If the library that writes the format is not installed.
    """
    try:
        from prometheus_client import CollectorRegistry, ProcessCollector, generate_latest
    except ImportError as error:
        raise InputError("prometheus-client is missing. Install Runthrough with '.[server]'.") from error
    registry = CollectorRegistry(auto_describe=False)
    registry.register(_Families(tuple(_families(gauges, jobs, requests))))
    ProcessCollector(registry=registry)
    return generate_latest(registry).decode()


class _Families:
    """Hands the library what was counted."""

    def __init__(self, families: tuple[Any, ...]) -> None:
        self._families = families

    def collect(self) -> tuple[Any, ...]:
        return self._families


def _families(gauges: Mapping[str, float], jobs: Mapping[str, int], requests: Requests) -> Iterator[Any]:
    from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, HistogramMetricFamily

    for name, said in GAUGES.items():
        yield GaugeMetricFamily(f"runthrough_{name}", said, value=gauges[name])
    states = GaugeMetricFamily("runthrough_analyses", "Analyses by how far they are.", labels=["state"])
    for state, count in sorted(jobs.items()):
        states.add_metric([state], count)
    yield states
    answers = CounterMetricFamily(
        "runthrough_requests", "Requests by how they were answered.", labels=["method", "door", "status"]
    )
    for (method, door, status), count in sorted(requests.answers.items()):
        answers.add_metric([method, door, str(status)], count)
    yield answers
    begun = HistogramMetricFamily(
        "runthrough_request_seconds", "Seconds until an answer began, by door.", labels=["door"]
    )
    for door, counts in sorted(requests.waits.items()):
        names = [*(str(bound) for bound in requests.bounds_s), "+Inf"]
        begun.add_metric([door], list(zip(names, accumulate(counts), strict=True)), requests.waited_s[door])
    yield begun
