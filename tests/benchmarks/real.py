"""What the measures say of real films that others labelled or measured; the films are not part of the project.

Run: ``python -m tests.benchmarks.real MEDIA_FOLDER [--home FOLDER]``

The folder holds ``real`` with the films and ``data`` with the labels, as told in its INDEX.md: a face with blinks and
winks labelled by eye, squats with the landmarks of another build of the pose model, a man who swings a leg out to
stay on a beam.
"""

from __future__ import annotations

import argparse
import csv
import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.actions import checklists, people
from review.actions.recordings import add
from review.domain.model import Event, Reason, Role, Value
from review.domain.tracks import POSE_POINTS, cut
from review.measures import measure
from review.measures.stance_width import body_height_px, middle
from review.measures.tendon_jerk import knee_angle
from review.pipeline.analyse import analyse
from review.pipeline.values import measured
from review.signals.geometry import angle_deg
from review.store.home import Home, find_home
from review.store.repository import repository

FACE, SQUATS, BEAM = "facemesh_demo_input.mp4", "pose_squats.mp4", "single_cam02.mp4"
FACE_FPS = 30.0
EDGE_S = 0.15

BEAM_SAVED_S = (0.65, 0.95)
"""When the man on the beam leans farthest, by eye."""

BEAM_LOST_S = (0.3, 1.25)
BEAM_EDGE_S = 0.2
"""From when he goes to his left until he is back above the beam, by eye on every sixth frame, and how sure that is."""


@dataclass(frozen=True)
class Line:
    """One line of the table: what was asked, what should have been said, what was said, and whether it is so."""

    film: str
    what: str
    known: str
    said: str
    right: bool


def tracks_of(home: Home, film: Path) -> xr.Dataset:
    """Add a film to a home folder and return its tracks."""
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
    return analyse(home, add(home, learner, film)).load()


def said(tracks: xr.Dataset, name: str, onset_s: float = 0.0, offset_s: float = 999.0) -> tuple[Value, ...]:
    """Run one measure over a stretch."""
    return measured(cut(tracks, onset_s, offset_s), measure(name), "film")


def labelled(path: Path, film: str) -> list[dict[str, str]]:
    """Return the labels of a film from a table."""
    with path.open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if film in row.values()]


def closures(media: Path, tracks: xr.Dataset) -> Iterator[Line]:
    """Count labelled blinks and winks that were found on the right side, and closures that were not labelled."""
    rows = labelled(media / "data" / "eye_closure_by_eye.csv", FACE)
    found = [event for value in said(tracks, "eye_closure") for event in value.events]
    matched: set[int] = set()
    right = 0
    for row in rows:
        own = {"subject_left": ["left"], "subject_right": ["right"]}.get(row["side"], ["left", "right"])
        near = [[place for place, event in enumerate(found) if _is(event, row, side)] for side in own]
        right += all(near)
        matched.update(place for places in near for place in places)
    yield Line(FACE, "closures found", str(len(rows)), str(right), right == len(rows))
    extra = len(found) - len(matched)
    yield Line(FACE, "closures invented", "0", str(extra), extra == 0)


def _is(event: Event, row: dict[str, str], side: str) -> bool:
    onset, offset = int(row["closed_from"]) / FACE_FPS, (int(row["closed_to"]) + 1) / FACE_FPS
    seconds = event.interval
    return event.side == side and seconds.onset_s < offset + EDGE_S and seconds.offset_s > onset - EDGE_S


def tilts(media: Path, tracks: xr.Dataset) -> Iterator[Line]:
    """Find the labelled tilts of the head on their sides, and none while it was upright."""
    for row in labelled(media / "data" / "other_by_eye.csv", FACE):
        onset, offset = int(row["from_frame"]) / FACE_FPS, int(row["to_frame"]) / FACE_FPS
        events = [event for value in said(tracks, "head_roll_range") for event in value.events]
        here = [event for event in events if event.interval.onset_s < offset and event.interval.offset_s > onset]
        known = "left" if "LEFT" in row["what"] else "right" if "RIGHT" in row["what"] else "none"
        told = ", ".join(f"{event.side} {abs(event.peak or 0):.0f} deg" for event in here) or "none"
        sides = {str(event.side) for event in here} or {"none"}
        yield Line(FACE, f"head tilt from {onset:.1f} s", known, told, sides == {known})


def squats(media: Path, tracks: xr.Dataset) -> Iterator[Line]:
    """Set the knees' angle in the picture beside that of the reference landmarks, frame by frame."""
    frames = json.loads((media / "real" / "pose_squats.full.json").read_text("utf-8"))
    places = np.asarray(frames, np.float64)[:, :, :2]
    reference = xr.DataArray(places, dims=("time", "pose_point", "space"), coords={"pose_point": list(POSE_POINTS)})
    trace = knee_angle(tracks)
    for side in ("left", "right"):
        hip, knee, ankle = (reference.sel(pose_point=f"{side}_{part}") for part in ("hip", "knee", "ankle"))
        known = angle_deg(hip, knee, ankle).values
        points = [tracks["pose_xy"].sel(pose_point=f"{side}_{part}").astype(float) for part in ("hip", "knee", "ankle")]
        off = np.abs(angle_deg(*points).values[: len(known)] - known[: trace.sizes["time"]])
        yield Line(SQUATS, f"{side} knee, median off", "<= 5 deg", f"{np.nanmedian(off):.1f} deg", _median(off) <= 5)


def _median(values: npt.NDArray[np.float64]) -> float:
    return float(np.nanmedian(values))


def beam(tracks: xr.Dataset) -> Iterator[Line]:
    """Find the moment at which the man on the beam leans farthest, inside the longest way of a foot."""
    onset, offset = BEAM_SAVED_S
    aside = (middle(tracks, "shoulder") - middle(tracks, "ankle")).sel(space="x").values / body_height_px(tracks)
    farthest = float(tracks["time"].values[int(np.nanargmax(np.abs(aside)))])
    yield Line(BEAM, "leans farthest at", f"{onset} to {offset} s", f"{farthest:.2f} s", onset <= farthest <= offset)
    steps = [event for value in said(tracks, "base_of_support") for event in value.events]
    longest = max(steps, key=lambda event: event.peak or 0.0, default=None)
    told = "none" if longest is None else f"{longest.interval.onset_s:.2f} to {longest.interval.offset_s:.2f} s"
    right = longest is not None and longest.interval.holds(farthest)
    yield Line(BEAM, "foot off its place the farthest", "then", told, right)
    (sway,) = said(tracks, "postural_sway")
    told = ", ".join(reason.words for reason in sway.estimate.reasons)
    yield Line(BEAM, "sway on planted feet", "refused", told, Reason.POSTURE_NOT_HELD in sway.estimate.reasons)
    went = next((event for event in sway.events if event.kind == "largest_excursion"), None)
    told = "none" if went is None else f"{went.interval.onset_s:.2f} to {went.interval.offset_s:.2f} s, {went.side}"
    yield Line(BEAM, "largest excursion", f"{BEAM_LOST_S[0]} to {BEAM_LOST_S[1]} s, left", told, _is_recovery(went))


def _is_recovery(went: Event | None) -> bool:
    """Tell whether an excursion is the one that was seen: to the own left, begun and ended when it was."""
    if went is None or went.side != "left":
        return False
    edges = np.array([went.interval.onset_s, went.interval.offset_s])
    return bool(np.abs(edges - BEAM_LOST_S).max() <= BEAM_EDGE_S)


def table(home: Home, media: Path) -> list[Line]:
    """Analyse the films and return all lines."""
    face, squatting, balancing = (tracks_of(home, media / "real" / name) for name in (FACE, SQUATS, BEAM))
    return [*closures(media, face), *tilts(media, face), *squats(media, squatting), *beam(balancing)]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("media", type=Path)
    parser.add_argument("--home", type=Path, help="a folder to keep the analysis in")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        lines = table(find_home(args.home or Path(scratch)), args.media)
    print(f"{'film':26} {'what':32} {'known':14} {'said':40}")
    for line in lines:
        print(f"{line.film:26} {line.what:32} {line.known:14} {line.said:40} {'right' if line.right else 'WRONG'}")


if __name__ == "__main__":
    main()
