"""Kill processes at random while films are added, analysed and marked, and see that nothing is lost or different.

Run: ``python -m tests.benchmarks.faults FILM [FILM ...] [--kills N] [--seed N] [--json]
[--server [--minutes 15] [--copies 20]]``

Two homes are filled with the same films. In one nobody disturbs. In the other the pages, the process that works beside
them, one of its workers, the process that adds films or the one that marks is killed (SIGKILL) at random moments, and
what a person would start again is started again. Films are added and analysed first, and marked after, so that both
homes look at the same frames; half of the kills fall into each part. At the end the homes are compared: every value of
the whole film and of every mark, every mark that was acknowledged, and the names of all files.

With ``--server`` the second home is a school's: its database is a PostgreSQL server, its films lie in a bucket besides,
its analyses are done by a Dask cluster. Database, scheduler and the cluster's workers are killed as well, each time
away for some seconds, and killing goes on for ``--minutes``, as long as there is something to do; ``--copies`` makes so
many films of each. Both homes are then compared film by film, and no film may be left neither analysed nor refused.
"""

from __future__ import annotations

import argparse
import json
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import psutil
from sqlalchemy.exc import SQLAlchemyError

from review.actions import marks, people
from review.actions.checklists import install_shipped
from review.actions.recordings import add
from review.domain.errors import StoreBroken
from review.domain.model import Role
from review.pipeline.values import marked_values
from review.store.home import Home, find_home
from review.store.repository import reading, repository
from review.store.trackstore import TrackStore
from tests.benchmarks.faults_server import School, school

PATIENCE_S = 1800.0


def adder(home: Home, films: list[Path]) -> None:
    """Add films one after the other; those that are here already are not added twice."""
    with repository(home) as repo:
        install_shipped(repo)
        person = people.ensure(repo, "L-07", Role.LEARNER)
    for film in films:
        print(add(home, person, film).id, flush=True)


def marker(home: Home) -> None:
    """Mark the steps of every recording one after the other, and say each that is stored."""
    with reading(home) as repo:
        person, found = repo.person("L-07"), repo.recordings()
    for recording in sorted(found, key=lambda one: one.id):
        with reading(home) as repo:
            sheet = repo.checklist(recording.checklist_id or "", recording.checklist_version)
            known = {(mark.step_id, mark.side) for mark in repo.marks(recording.id)}
        places = [(step, side) for step in sheet.steps() for side in step.places]
        for number, (step, side) in enumerate(places):
            if (step.id, side) in known:
                continue
            onset_s = 0.9 * recording.duration_s * number / len(places)
            with repository(home) as repo:
                marks.place(repo, person, recording, step.id, side, onset_s, onset_s + 0.1 * recording.duration_s)
            print(f"{recording.id} {step.id} {side}", flush=True)
            time.sleep(0.3)


class House:
    """A home with the processes at work on it.

    Parameters
    ----------
    home
        The home.
    films
        Films to add.
    school
        The machines of the server that it is on, if it is on one.
    """

    def __init__(self, home: Home, films: list[Path], school: School | None = None) -> None:
        self.home = home
        self.school = school
        self.pauses_s = (2.0, 30.0) if school is not None else (0.2, 6.0)
        if school is not None:
            school.settle(home)
        self.films = [str(film) for film in films]
        self.running: dict[str, subprocess.Popen[str]] = {}
        self.acknowledged: set[str] = set()

    def start(self, *names: str) -> None:
        """Start those of the processes that are not running."""
        for name in names:
            known = self.running.get(name)
            if known is None or known.poll() is not None:
                self._hear(name)
                order = self._order(name)
                self.running[name] = subprocess.Popen(
                    order, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, start_new_session=True
                )

    def _order(self, name: str) -> list[str]:
        root = str(self.home.root)
        if name == "pages":
            with socket.socket() as free:
                free.bind(("127.0.0.1", 0))
                port = free.getsockname()[1]
            return [sys.executable, "-m", "review", "open", "--no-browser", "--port", str(port), "--home", root]
        return [sys.executable, "-m", "tests.benchmarks.faults", f"--{name}", root, *self.films]

    def _hear(self, name: str) -> None:
        known = self.running.get(name)
        if known is not None and known.stdout is not None and name == "marker":
            self.acknowledged |= set(known.stdout.read().splitlines())

    def ended(self, name: str) -> bool:
        """Tell whether a process came to its end by itself."""
        known = self.running[name]
        if known.poll() is None:
            return False
        self._hear(name)
        return known.returncode == 0

    def victims(self) -> dict[str, list[psutil.Process]]:
        """Return the processes that may be killed, by what they are."""
        found: dict[str, list[psutil.Process]] = {}
        for name, process in self.running.items():
            if process.poll() is None:
                found[name] = [psutil.Process(process.pid)]
        for one in found.get("pages", [])[:1]:
            workers = [child for child in one.children() if "work" in child.cmdline()]
            found["work"] = workers
            found["worker"] = [child for each in workers for child in each.children() if child.status() != "zombie"]
        if self.school is not None:
            found |= self.school.victims()
        return {name: those for name, those in found.items() if those}

    def mend(self) -> None:
        """Start again what a system starts again by itself."""
        if self.school is not None:
            self.school.mend()

    def done(self) -> bool:
        """Tell whether every film is here and analysed."""
        try:
            with reading(self.home) as repo:
                states = [job.state for job in repo.jobs()]
                there = len(repo.recordings())
        except (StoreBroken, SQLAlchemyError):
            return False  # its database is away just now
        if "failed" in states:
            raise AssertionError(f"a film failed: {states}")
        return there == len(self.films) and states == ["done"] * there

    def close(self) -> None:
        """End all processes."""
        for process in self.running.values():
            if process.poll() is None:
                process.send_signal(signal.SIGTERM)
        for process in self.running.values():
            process.wait(timeout=60)


def play(house: House, chance: random.Random, kills: int = 0, minutes: float = 0.0) -> Counter[str]:
    """Add, analyse and mark, killing some process at random so many times, or so long; return what was killed."""
    killed: Counter[str] = Counter()
    began = time.monotonic()

    def until(share: float, over: Callable[[], bool], *names: str) -> None:
        stop = began + share * 60 * minutes
        _until(house, over, names, lambda: time.monotonic() < stop or killed.total() < share * kills, killed, chance)

    until(0.5, lambda: house.ended("adder") and house.done(), "pages", "adder")
    until(1.0, lambda: house.ended("marker"), "pages", "marker")
    time.sleep(2)
    _until(house, house.done, ("pages",), lambda: False, killed, chance)
    house.close()
    return killed


def _until(
    house: House,
    over: Callable[[], bool],
    names: Sequence[str],
    more: Callable[[], bool],
    killed: Counter[str],
    chance: random.Random,
) -> None:
    """Keep processes going until it is over, and kill one now and then as long as there are more kills to come."""
    began, next_kill = time.monotonic(), time.monotonic() + chance.uniform(0.5, 4)
    house.start(*names)
    while not over():
        if time.monotonic() - began > PATIENCE_S:
            raise AssertionError(f"not over after {PATIENCE_S:.0f} s; killed so far: {dict(killed)}")
        if more() and time.monotonic() >= next_kill:
            _kill(house, killed, chance)
            next_kill = time.monotonic() + chance.uniform(*house.pauses_s)
        house.mend()
        house.start(*(name for name in names if not (name in house.running and house.ended(name))))
        time.sleep(0.1)


def _kill(house: House, killed: Counter[str], chance: random.Random) -> None:
    victims = house.victims()
    if victims:
        kind = chance.choice(sorted(victims))
        with suppress(psutil.NoSuchProcess):
            chance.choice(victims[kind]).kill()
            killed[kind] += 1


def contents(home: Home) -> dict[str, Any]:
    """Return all values, marks and file names of a home, in a form that can be compared."""
    found: dict[str, Any] = {}
    with reading(home) as repo:
        for recording in repo.recordings():
            sheet = repo.checklist(recording.checklist_id or "", recording.checklist_version)
            said = repo.marks(recording.id)
            tracks = TrackStore(home, recording.id).open()
            placed = sorted(said, key=lambda one: (one.step_id, one.side or ""))
            found[f"{recording.id} film"] = [repr(value) for value in repo.values(recording.id)]
            found[f"{recording.id} marks"] = [(one.step_id, one.side, repr(one.interval)) for one in placed]
            found[f"{recording.id} values"] = [repr(value) for value in marked_values(tracks, sheet, placed)]
    places = [home.media, home.tracks, home.incoming]
    files = {path.relative_to(home.root).as_posix() for place in places for path in place.rglob("*") if path.is_file()}
    found["files"] = sorted(name for name in files if not name.endswith(".lock"))
    return found


def copied(films: list[Path], copies: int, folder: Path) -> list[Path]:
    """Write copies of films that differ in a box that means nothing, so that each is a film of its own."""
    made = []
    for film in films:
        for number in range(copies):
            made.append(folder / f"{film.stem}-{number}.mp4")
            made[-1].write_bytes(film.read_bytes() + (16).to_bytes(4, "big") + b"free" + number.to_bytes(8, "big"))
    return made


def on_server(films: list[Path], copies: int, minutes: float, seed: int) -> dict[str, Any]:
    """Play a school's server through faults, and compare each of its films with the one nobody disturbed."""
    with tempfile.TemporaryDirectory(prefix="faults") as made, school(Path(made)) as machines:
        folder = Path(made)
        calm, harried = find_home(folder / "calm"), find_home(folder / "harried")
        (folder / "films").mkdir()
        play(House(calm, copied(films, 1, folder / "films")), random.Random(seed))
        house = House(harried, copied(films, copies, folder / "films"), machines)
        began = time.monotonic()
        killed = play(house, random.Random(seed), minutes=minutes)
        lasted_s = time.monotonic() - began
        with reading(calm) as repo:
            likes = {one.name.rpartition("-")[0]: one.id for one in repo.recordings()}
        with reading(harried) as repo:
            twins = {one.id: likes[one.name.rpartition("-")[0]] for one in repo.recordings()}
            states = Counter(job.state for job in repo.jobs())
        expected, found = contents(calm), contents(harried)
    different = [
        f"{recording_id} {what}"
        for recording_id, twin in sorted(twins.items())
        for what in ("film", "marks", "values")
        if found[f"{recording_id} {what}"] != _renamed(expected[f"{twin} {what}"], twin, recording_id)
    ]
    stored = {f"{one} {step} {side}" for one in twins for step, side, _ in found[f"{one} marks"]}
    return {
        "minutes": minutes,
        "lasted_minutes": round(lasted_s / 60, 1),
        "kills": sum(killed.values()),
        "killed": dict(killed),
        "films": len(house.films),
        "here": len(twins),
        "states": dict(states),
        "values": sum(len(found[f"{one} film"]) + len(found[f"{one} values"]) for one in twins),
        "different": different,
        "acknowledged": len(house.acknowledged),
        "lost": sorted(house.acknowledged - stored),
    }


def _renamed(found: list[Any], old: str, new: str) -> list[Any]:
    return [one.replace(old, new) if isinstance(one, str) else one for one in found]


def figures(films: list[Path], kills: int, seed: int) -> dict[str, Any]:
    """Play both homes and compare them."""
    with tempfile.TemporaryDirectory(prefix="faults") as folder:
        homes = {name: find_home(Path(folder) / name) for name in ("calm", "harried")}
        play(House(homes["calm"], films), random.Random(seed))
        house = House(homes["harried"], films)
        killed = play(house, random.Random(seed), kills)
        calm, harried = (contents(home) for home in homes.values())
        stored = {
            f"{key.split()[0]} {step} {side}"
            for key, value in harried.items()
            if key.endswith("marks")
            for step, side, _ in value
        }
    different = sorted(key for key in calm if calm[key] != harried.get(key))
    for key in different:
        print(f"different: {key}", *(each for each in zip(calm[key], harried[key], strict=False) if each[0] != each[1]))
    return {
        "kills": sum(killed.values()),
        "killed": dict(killed),
        "values": sum(len(value) for key, value in calm.items() if key.endswith(("film", "values"))),
        "different": different,
        "acknowledged": len(house.acknowledged),
        "lost": sorted(house.acknowledged - stored),
    }


def main() -> None:
    """Run it, or one of the processes that it starts."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("films", type=Path, nargs="*")
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--server", action="store_true", help="have the second home on a school's server")
    parser.add_argument("--minutes", type=float, default=15.0, help="how long is killed there (default: %(default)s)")
    parser.add_argument("--copies", type=int, default=20, help="films made of each there (default: %(default)s)")
    parser.add_argument("--adder", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--marker", type=Path, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.adder:
        adder(find_home(args.adder), args.films)
    elif args.marker:
        marker(find_home(args.marker))
    else:
        if args.server:
            found = on_server(args.films, args.copies, args.minutes, args.seed)
        else:
            found = figures(args.films, args.kills, args.seed)
        print(json.dumps(found) if args.json else "\n".join(f"{name:>14}  {value}" for name, value in found.items()))


if __name__ == "__main__":
    main()
