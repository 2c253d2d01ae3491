"""A home with one long film as a much used attempt: sixty steps marked, and curves of fifty thousand samples."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from review.actions import checklists, comments, marks, people
from review.actions.recordings import add
from review.domain.model import Interval, Person, Recording, Role
from review.domain.tracks import NOT_FOUND, empty_tracks
from review.store.home import Home, find_home
from review.store.media import load_times
from review.store.repository import repository
from review.store.trackstore import TrackStore
from tests.synthetic import standing, with_picture

SECTIONS: Final = 10
STEPS: Final = 60
CURVES: Final = ("base_of_support", "postural_sway", "shoulder_elevation", "stance_width", "elbow_jerk", "knee_jerk")
"""Measures with curves of their own."""

CURVED_STEP: Final = "step_1"
PLAIN_STEP: Final = f"step_{STEPS}"


def make(root: Path, film: Path) -> tuple[Home, Recording]:
    """Add a film to a new home, or find it there, with marks by three people and tracks of every frame.

    Parameters
    ----------
    root
        Where the home is; one that is there already is taken as it is.
    film
        The film; half an hour at 30 frames a second has 54,000 frames.
    """
    home = find_home(root)
    with repository(home) as repo:
        found = repo.recordings()
    if found:
        return home, found[0]
    sheet = root.with_suffix(".toml")
    sheet.write_text(_sheet(), encoding="utf-8")
    with repository(home) as repo:
        cast = [people.ensure(repo, code, role) for code, role in _CAST]
        checklists.save(repo, cast[2], sheet)
    recording = add(home, cast[0], film, checklist_id="long_sheet", name="Long attempt")
    with repository(home) as repo:
        for number, person in enumerate(cast):
            _mark_all(home, person, recording, 0.4 * number)
        job = repo.job(recording.id)
        if job is not None:
            repo.put_job(replace(job, state="done", done=job.total))
    _look_at_all(home, recording)
    return home, recording


_CAST: Final = (("L-07", Role.LEARNER), ("L-12", Role.PEER), ("I-02", Role.INSTRUCTOR))


def _sheet() -> str:
    parts = [
        'id = "long_sheet"\nversion = 1\ntitle = "Sixty steps"\nsummary = "Sixty steps to measure with."',
        'notice = "Made up."',
    ]
    parts.append('[scale]\nname = "Two levels"\nnot_assessable = "cannot be judged"\nlevels = [')
    parts.append('    { key = "yes", word = "yes", share = 1 },\n    { key = "no", word = "not yet", share = 0 },\n]')
    for section in range(SECTIONS):
        parts.append(f'[[section]]\nid = "section_{section + 1}"\ntitle = "Section {section + 1}"')
        for step in range(section * STEPS // SECTIONS, (section + 1) * STEPS // SECTIONS):
            parts.append(_step(f"step_{step + 1}", step + 1))
    return "\n\n".join(parts) + "\n"


_MEASURES: Final = f"""
targets = [{{ measure = "{CURVES[0]}", high = 0.45, unit = "1", source = "author's choice" }}]
measures = [{", ".join(f'"{name}"' for name in CURVES[1:])}]"""


def _step(key: str, number: int) -> str:
    measures = _MEASURES if key == CURVED_STEP else ""
    return "\n".join(
        (
            f'[[section.step]]\nid = "{key}"\ntitle = "Step number {number}"',
            'action = "Do what this step asks for."',
            'expected = "It is done."\nfinding = ["done"]\ncaution = "Stop when asked to."\npoints = 1',
            f'view = ["whole_body"]\n{measures}',
        )
    )


def stretches(duration_s: float) -> list[Interval]:
    """Return where the steps lie: one after the other over the whole film."""
    share = duration_s / STEPS
    return [Interval(number * share + 0.1 * share, number * share + 0.9 * share) for number in range(STEPS)]


def _mark_all(home: Home, person: Person, recording: Recording, later_s: float) -> None:
    with repository(home) as repo:
        for number, where in enumerate(stretches(recording.duration_s), 1):
            times = where.onset_s + later_s, where.offset_s + later_s
            marks.place(repo, person, recording, f"step_{number}", None, *times)
        for number, where in enumerate(stretches(recording.duration_s)[::6], 1):
            comments.write(repo, person, recording, where.onset_s + later_s, None, f"Remark {number}.")


def _sway(times: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Draw a slow random sway of a few pixels."""
    steps = np.random.default_rng(5).normal(0, 0.4, len(times))
    walk = np.cumsum(steps)
    return 6 * np.sin(0.8 * times) + walk - np.convolve(walk, np.full(301, 1 / 301), mode="same")


def _look_at_all(home: Home, recording: Recording) -> None:
    """Keep tracks of every frame, as a full analysis would: a swaying body, out of sight now and then."""
    times = load_times(home, recording.sha256)
    size = recording.width_px, recording.height_px
    store = TrackStore(home, recording.id)
    store.create(empty_tracks(times, *size, read_only=True))
    for first in range(0, len(times), 3000):
        part = times[first : first + 3000]
        tracks = with_picture(standing(part, sway_px=_sway, noise_px=0.6, size=size, seed=first))
        lost = (part % 97) < 2.5
        tracks["pose_state"].values[lost] = NOT_FOUND
        for name in ("pose_xy", "pose_visibility", "pose_world"):
            tracks[name].values[lost] = np.nan
        store.write(first, tracks, ("pose", "picture"))
    store.mark_done("all")
