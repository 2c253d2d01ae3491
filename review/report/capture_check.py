"""The capture check of a recording in plain words: what to do better next time, and which steps each fault spoils."""

from __future__ import annotations

import time
from collections.abc import Collection, Iterable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import xarray as xr

from review.access import Deed, allowed, may
from review.domain.checklist import Checklist
from review.domain.model import Interval, Mark, Person, Recording
from review.domain.wording import whole_seconds
from review.measures.capture_words import FAULT_KINDS
from review.pipeline.jobs import UNFINISHED
from review.report.recordings import how_far
from review.report.spoilt import CheckedFault, Holds, How, checked
from review.report.tracks import version
from review.store.home import Home
from review.store.repository import Job, Repository, reading
from review.store.trackstore import TrackStore

_FEW: Final = 3
_SELDOM: Final = ("pose_world", "hand_xy", "other_hand_xy")
_WHEN: Final[dict[Holds, str]] = {"always": "", "filmed so": "If filmed like this, ", "done then": "If done then, "}
_HOWS: Final[dict[How, str]] = {
    "measured": "numbers may be missing or weak",
    "seen": "hard to see when grading",
    "heard": "findings hard to hear",
}


def capture_check(home: Home, person: Person, recording_id: str) -> list[dict[str, Any]] | None:
    """Return what to do better next time, as plain JSON values; None as long as the film is not analysed.

    Returns
    -------
    list of dict
        Keys ``kind, what, advice, shows, where, spoils``: what it is, what to do next time, where it shows in words
        and as ``[onset_s, offset_s]`` pairs, and what it spoils as ``{"hows", "words", "steps"}``.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording_id)
        check = _begun(home, repo, recording, repo.job(recording.id), repo.marks(recording.id))
    return None if check is None else in_words(check.faults.result(), check.sheet)


def capture_checks(
    home: Home, repo: Repository, person: Person, within_s: float, only: Collection[str] | None = None
) -> dict[str, dict[str, Any] | None]:
    """Return the capture checks of as many recordings as can be told in a time, newest first, by recording's id.

    Each is ``{"headline", "things"}``: one line, and what `capture_check` returns; None where that has none. One check
    goes on in the background when the time is over, and what was told is remembered, so that asking again gets further.

    Parameters
    ----------
    home, repo, person
        Where, open transaction there, and for whom.
    within_s
        How long to wait.
    only
        Ids of the recordings that are asked for; None for all that the person may see.
    """
    until = time.monotonic() + within_s
    told: dict[str, dict[str, Any] | None] = {}
    asked = [one for one in repo.recordings() if may(person, Deed.SEE, one) and (only is None or one.id in only)]
    jobs, marks = {job.recording_id: job for job in repo.jobs()}, repo.marks_of(one.id for one in asked)
    for recording in asked:
        check = _begun(home, repo, recording, jobs.get(recording.id), marks[recording.id])
        if check is None:
            told[recording.id] = None
            continue
        try:
            things = in_words(check.faults.result(max(0.0, until - time.monotonic())), check.sheet)
        except TimeoutError:
            break
        told[recording.id] = {"headline": headline(things), "things": things}
    return told


@dataclass(frozen=True, slots=True)
class _Check:
    """A check on its way."""

    sheet: Checklist
    faults: Future[tuple[CheckedFault, ...]]


def _begun(
    home: Home, repo: Repository, recording: Recording, job: Job | None, marks: tuple[Mark, ...]
) -> _Check | None:
    """Begin to check a film, unless that was begun before; None as long as it is not analysed."""
    state = version(home, recording.id)
    if not state or recording.checklist_id is None or how_far(job, recording)["state"] in UNFINISHED:
        return None
    sheet = repo.checklist(recording.checklist_id, recording.checklist_version)
    return _Check(sheet, _submitted(home, recording.id, state, sheet, marks))


@lru_cache(maxsize=512)
def _submitted(
    home: Home, recording_id: str, state: str, sheet: Checklist, marks: tuple[Mark, ...]
) -> Future[tuple[CheckedFault, ...]]:
    """Check a film in the state that `version` told, in the one thread that does so; asked again, the same is given."""
    return _checker().submit(lambda: checked(_read(home, recording_id), sheet, marks))


@lru_cache(maxsize=1)
def _checker() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(max_workers=1, thread_name_prefix="capture-check")


def _read(home: Home, recording_id: str) -> xr.Dataset:
    """Open the tracks with what many measures ask for in memory; the rest is read when it is asked for."""
    tracks = TrackStore(home, recording_id).open()
    for name in tracks.data_vars:
        if name not in _SELDOM:
            tracks[name].variable.load()
    return tracks


def in_words(faults: Iterable[CheckedFault], sheet: Checklist) -> list[dict[str, Any]]:
    """Say faults and what they spoil as plain JSON values; see `capture_check`."""
    return [
        {
            "kind": fault.kind,
            "what": FAULT_KINDS[fault.kind].what,
            "advice": FAULT_KINDS[fault.kind].advice,
            "shows": _seconds_words(fault.where) if fault.holds == "done then" else "",
            "where": [[part.onset_s, part.offset_s] for part in fault.where],
            "spoils": _spoils(fault, sheet),
        }
        for fault in faults
    ]


def headline(check: list[dict[str, Any]]) -> str:
    """Say in one line how many things there are to do better.

    Examples
    --------
    >>> headline([])
    'Capture check: nothing to do better'
    """
    if not check:
        return "Capture check: nothing to do better"
    return f"Capture check: {len(check)} thing{'s' if len(check) > 1 else ''} to do better next time"


def lines(check: list[dict[str, Any]]) -> list[str]:
    """Say a capture check line by line, as for a terminal."""
    told = [headline(check)]
    for fault in check:
        told.append(f"  {fault['what']} {fault['advice']}{fault['shows'] and ' ' + fault['shows']}")
        told += [f"    {spoilt['words']}" for spoilt in fault["spoils"]]
    return told


def _spoils(fault: CheckedFault, sheet: Checklist) -> list[dict[str, Any]]:
    """Say what is spoilt of which steps; what is spoilt of the same steps is said at once."""
    hows: dict[tuple[str, ...], list[How]] = {}
    for how in _HOWS:
        hows.setdefault(tuple(step for found, step in fault.spoils if found == how), []).append(how)
    said = []
    for steps, mine in hows.items():
        words = f"{_WHEN[fault.holds]}{', '.join(_HOWS[how] for how in mine)}: {_steps_words(steps, sheet)}."
        said.append({"hows": mine, "words": words[0].upper() + words[1:], "steps": list(steps)})
    return [one for one in said if one["steps"]]


def _steps_words(steps: Sequence[str], sheet: Checklist) -> str:
    """Name a few steps by their titles, more of them by their sections."""
    if len(steps) == len(list(sheet.steps())):
        return f"every step of the checklist ({len(steps)})"
    if len(steps) <= _FEW:
        return "; ".join(sheet.step(step).title for step in steps)
    counts = _by_section(steps, sheet)
    return f"{len(steps)} steps in " + ", ".join(f"{title} ({count})" for title, count in counts.items())


def _by_section(steps: Sequence[str], sheet: Checklist) -> Mapping[str, int]:
    counts: dict[str, int] = {}
    for section in sheet.sections:
        here = sum(step.id in steps for step in section.steps)
        if here:
            counts[_within_a_sentence(section.title)] = here
    return counts


def _within_a_sentence(title: str) -> str:
    """Return what a section is about, as it stands within a sentence.

    Examples
    --------
    >>> _within_a_sentence("Cranial nerve VIII: hearing"), _within_a_sentence("Closing")
    ('hearing', 'closing')
    """
    about = title.split(": ")[-1]
    return about[:1].lower() + about[1:] if about[1:2].islower() else about


def _seconds_words(where: tuple[Interval, ...]) -> str:
    """Say where a fault shows.

    Examples
    --------
    >>> _seconds_words((Interval(3.2, 5.0), Interval(61.0, 62.5)))
    'From 0:03 to 0:05, and once more.'
    """
    first = f"From {whole_seconds(where[0].onset_s)} to {whole_seconds(where[0].offset_s)}"
    more = len(where) - 1
    return f"{first}." if not more else f"{first}, and {'once' if more == 1 else f'{more} times'} more."
