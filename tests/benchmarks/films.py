"""What intake says of every film of a folder, as a Markdown table.

Run: ``python -m tests.benchmarks.films FOLDER [--twin NAME] [--numbers]``

Films beside the one called NAME are taken for odd copies of it. Their pictures are looked for in it: the table says
how far their times are from those of the same pictures there. With ``--numbers`` all of these are also analysed, and
closures of the eyes and the roll of the head are set beside those of the plain one; that takes minutes.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.actions import checklists, people, recordings
from review.capture.apart import Apart
from review.capture.intake import FilmFacts
from review.capture.video import frames
from review.domain.errors import FilmRefused
from review.domain.model import Event, Role
from review.domain.tracks import cut
from review.measures import measure
from review.pipeline.analyse import analyse
from review.pipeline.values import measured
from review.store.home import Home, find_home
from review.store.repository import repository

Numbers = npt.NDArray[np.float64]

NO_FILMS = {".md", ".json", ".csv", ".txt", ".toml"}
ALIKE = 1.03
SAME_SECONDS = 0.25


@dataclass(frozen=True)
class Film:
    """A film of the folder with its facts and times, or the sentence that refuses it."""

    path: Path
    facts: FilmFacts | None
    times: Numbers
    refusal: str = ""


@dataclass(frozen=True)
class Likeness:
    """How a film lies on its twin: seconds to add to its times, and how far its pictures then are from theirs."""

    shift_s: float
    worst_s: float
    found: int
    mirrored: bool


def read(folder: Path) -> list[Film]:
    """Read the facts of every film below a folder, each in a process of its own."""
    paths = sorted(path for path in folder.rglob("*") if path.is_file() and path.suffix not in NO_FILMS)
    found = []
    with Apart() as apart:
        for path in paths:
            try:
                found.append(Film(path, *apart.probe(path)))
            except FilmRefused as refusal:
                found.append(Film(path, None, np.empty(0), str(refusal).removeprefix(f"{path.name}: ")))
    return found


def signatures(film: Film, mirrored: bool = False) -> Numbers:
    """Return what tells the pictures of a film apart whatever their light and size, shape ``(frame, feature)``."""
    rows = np.full((len(film.times), 96 * 64), np.nan)
    for frame in frames(film.path, film.times, 0, len(film.times), 320, mirrored):
        grey = frame.picture.mean(axis=2)
        down, across = (
            np.linspace(0, size - 1, count).round().astype(int)
            for size, count in zip(grey.shape, (64, 96), strict=True)
        )
        small = grey[np.ix_(down, across)].ravel()
        rows[frame.index] = (small - small.mean()) / max(float(small.std()), 1e-6)
    return rows


def likeness(film: Film, twin: Film, known: Numbers) -> Likeness:
    """Lay a film on its twin by its pictures, as it is or mirrored, whichever is more alike."""
    straight, turned = (_distances(signatures(film, mirrored), known) for mirrored in (False, True))
    mirrored = bool(np.nanmedian(np.nanmin(turned, axis=1)) < np.nanmedian(np.nanmin(straight, axis=1)))
    away = turned if mirrored else straight
    seen = np.isfinite(away).all(axis=1)
    away, times = away[seen], film.times[seen]
    shift_s = float(np.median(twin.times[away.argmin(axis=1)] - times))
    off = np.abs(twin.times[None, :] - times[:, None] - shift_s)
    off[away > ALIKE * away.min(axis=1, keepdims=True)] = np.inf
    return Likeness(shift_s, float(off.min(axis=1).max()), int(seen.sum()), mirrored)


def _distances(rows: Numbers, known: Numbers) -> Numbers:
    square = (rows**2).mean(axis=1)[:, None] + (known**2).mean(axis=1)[None, :] - 2 * rows @ known.T / known.shape[1]
    return np.asarray(np.sqrt(np.maximum(square, 0)))


def tracks_of(home: Home, film: Film, mirrored: bool) -> xr.Dataset:
    """Add a film to a home folder and return its tracks."""
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
    return analyse(home, recordings.add(home, learner, film.path, mirrored=mirrored)).load()


def closures(tracks: xr.Dataset) -> list[Event]:
    """Return the closures of the eyes found in a whole film."""
    found = measured(cut(tracks, 0.0, 999.0), measure("eye_closure"), "film")
    return [event for value in found for event in value.events]


def numbers(tracks: xr.Dataset, twin: xr.Dataset, laid: Likeness) -> str:
    """Say how far closures and head roll are from those of the twin, over the seconds that both have."""
    shift_s, edge_s = laid.shift_s, 0.001
    low, high = shift_s + float(tracks.time[0]) - edge_s, shift_s + float(tracks.time[-1]) + edge_s
    known = [event for event in closures(twin) if low < event.interval.onset_s and event.interval.offset_s < high]
    found = closures(tracks)
    off = [_nearest(event, found, -shift_s) for event in known]
    met = [each for each in off if each is not None]
    roll = tracks["head_angle"].sel(angle="roll")
    expected = twin["head_angle"].sel(angle="roll").interp(time=roll.time + shift_s)
    apart = np.abs(roll.values - expected.values)
    more = sum(_nearest(event, closures(twin), shift_s) is None for event in found)
    closed = f"off by {1000 * max(met):.0f} ms at most" if met else "none"
    return (
        f"{len(met)} of {len(known)} closures, {closed}{f', {more} more' if more else ''}; "
        f"roll off by {float(np.nanmedian(apart)):.2f} deg (median)"
    )


def _nearest(event: Event, others: Sequence[Event], shift_s: float) -> float | None:
    """Return by how many seconds the start of the same closure differs among others, None if it is not there."""
    at_s = event.interval.onset_s + shift_s
    near = min((abs(one.interval.onset_s - at_s) for one in others if one.side == event.side), default=np.inf)
    return near if near < SAME_SECONDS else None


def table(folder: Path, twin_name: str, with_numbers: bool) -> Iterator[str]:
    """Yield the lines of the table."""
    films = read(folder)
    twin = next((film for film in films if film.path.name == twin_name and film.facts is not None), None)
    known = signatures(twin) if twin is not None else np.empty(0)
    yield "| film | verdict | size | frames | frames a second | seconds | notes | beside its plain twin |"
    yield "|---|---|---|---|---|---|---|---|"
    with tempfile.TemporaryDirectory() as scratch:
        home = find_home(Path(scratch))
        plain = tracks_of(home, twin, False) if with_numbers and twin is not None else None
        for film in films:
            beside = ""
            if twin is not None and film.facts is not None and film.path.parent == twin.path.parent and film != twin:
                laid = likeness(film, twin, known)
                beside = _words(laid)
                if plain is not None:
                    beside += f"; {numbers(tracks_of(home, film, laid.mirrored), plain, laid)}"
            yield _line(folder, film, beside)


def _words(laid: Likeness) -> str:
    mirrored = "mirrored; " if laid.mirrored else ""
    begins = f"begins {laid.shift_s:.3f} s into it; " if laid.shift_s > 0.001 else ""
    return f"{mirrored}{begins}{laid.found} pictures, off by {1000 * laid.worst_s:.1f} ms at most"


def _line(folder: Path, film: Film, beside: str) -> str:
    name, facts = film.path.relative_to(folder).as_posix(), film.facts
    if facts is None:
        return f"| {name} | refused | | | | | {film.refusal} | |"
    size = f"{facts.width_px} x {facts.height_px}" + (f", turned {facts.rotation_deg}" if facts.rotation_deg else "")
    rate = f"{(facts.frames - 1) / film.times[-1]:.2f}" if facts.frames > 1 else ""
    verdict = f"{facts.playback} ({facts.codec}{' 10 bit' if facts.bit_depth == 10 else ''})"
    notes = " ".join(facts.notes)
    return f"| {name} | {verdict} | {size} | {facts.frames} | {rate} | {facts.duration_s:.2f} | {notes} | {beside} |"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--twin", default="base_face.mp4", metavar="NAME", help="name of the plain film")
    parser.add_argument("--numbers", action="store_true", help="analyse the odd films and their twin as well")
    args = parser.parse_args()
    for line in table(args.folder, args.twin, args.numbers):
        print(line, flush=True)


if __name__ == "__main__":
    main()
