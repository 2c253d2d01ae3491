"""Command line: ``python -m sample_clips.recipe.studio`` makes the clips of the studio that are not there yet."""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from pathlib import Path
from typing import Final

UNFINISHED: Final = ".unfinished"
"""Folder inside of the clips' own in which a clip lies until it is whole."""

Maker = Callable[[str, Path], None]
"""Makes the clip of that name into a folder: film and truth."""


def is_there(name: str, folder: Path) -> bool:
    """Tell whether a clip lies in `folder`, whole."""
    return all(path.exists() for path in _files(name, folder))


def make_whole(name: str, folder: Path, maker: Maker) -> None:
    """Let `maker` make a clip aside, then move it to where it belongs; nothing half made is left behind."""
    aside = folder / UNFINISHED / name
    shutil.rmtree(aside, ignore_errors=True)
    aside.mkdir(parents=True)
    try:
        maker(name, aside)
        for made, wanted in zip(_files(name, aside), _files(name, folder), strict=True):
            os.replace(made, wanted)
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def make_all(
    costs: Mapping[str, float], folder: Path, maker: Maker, jobs: int = 1, say: Callable[[str], None] = print
) -> dict[str, str]:
    """Make all clips that are not in `folder` yet, in their order, some at a time.

    Parameters
    ----------
    costs
        Name -> what a clip costs, in any unit, as a share of the whole; the time left is told by it.
    jobs
        How many are made at a time.
    say
        Takes a line of progress after every clip.

    Returns
    -------
    dict
        Name -> what went wrong, for clips that could not be made. The others are made nevertheless.
    """
    missing = [name for name in costs if not is_there(name, folder)]
    say(f"{len(costs) - len(missing)} of {len(costs)} clips are there, {len(missing)} to make")
    started, done, failed = time.monotonic(), 0.0, dict[str, str]()
    total = sum(costs[name] for name in missing)
    pool = ThreadPoolExecutor(max(1, jobs))
    running: dict[Future[None], str] = {pool.submit(make_whole, name, folder, maker): name for name in missing}
    try:
        while running:
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                name = running.pop(future)
                done += costs[name]
                fault = future.exception()
                if fault is not None:
                    failed[name] = str(fault)
                left_min = (time.monotonic() - started) * (total - done) / done / 60
                outcome = "could not be made" if fault else "made"
                say(f"{name} {outcome}; {len(running)} left, about {left_min:.0f} min")
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        raise
    pool.shutdown()
    return failed


def main(arguments: Sequence[str] | None = None) -> int:
    """Make or list the clips that the command line asks for; 1 if some could not be made, 130 if interrupted."""
    from .catalogue import CATALOGUE

    options = _parser().parse_args(arguments)
    unknown = [name for name in options.only if name not in CATALOGUE]
    if unknown:
        print(f"no clip is called {', '.join(unknown)}; --list tells their names", file=sys.stderr)
        return 2
    names = options.only or list(CATALOGUE)
    if options.list:
        for name in names:
            print(f"{name}\t{CATALOGUE[name].about_s:.0f} s\t{CATALOGUE[name].person}")
        return 0
    folder: Path = options.out
    folder.mkdir(parents=True, exist_ok=True)
    try:
        failed = make_all(
            {name: CATALOGUE[name].about_s for name in names}, folder, _apart(options.assets), options.jobs
        )
    except KeyboardInterrupt:
        print("interrupted; whole clips stay, the next run makes the others", file=sys.stderr)
        return 130
    for name, fault in failed.items():
        print(f"{name}: {fault}", file=sys.stderr)
    return 1 if failed else 0


def _apart(assets: Path) -> Maker:
    """Return a maker that draws each clip in a process of its own, since each holds a renderer."""
    from .assets import fetch

    fetch(assets)

    def make(name: str, folder: Path) -> None:
        command = [sys.executable, "-m", "sample_clips.recipe.take", name, str(folder), str(assets)]
        run = subprocess.run(command, capture_output=True, text=True, check=False)
        if run.returncode:
            raise RuntimeError((run.stderr.strip() or "no reason was given").splitlines()[-1])

    return make


def _files(name: str, folder: Path) -> tuple[Path, Path]:
    return folder / f"{name}.truth.json", folder / f"{name}.mp4"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m sample_clips.recipe.studio", description="Make the clips of the studio that are not there yet."
    )
    parser.add_argument(
        "--out", type=Path, default=Path("build/truth"), help="folder of the clips (default: %(default)s)"
    )
    parser.add_argument("--only", nargs="+", default=[], metavar="NAME", help="make these clips only")
    parser.add_argument("--list", action="store_true", help="list the clips instead of making them")
    parser.add_argument("--jobs", type=int, default=1, help="how many to make at a time (default: %(default)s)")
    parser.add_argument(
        "--assets",
        type=Path,
        default=Path("build/sample_clips_assets"),
        help="folder that keeps the data of the people (default: %(default)s)",
    )
    return parser


if __name__ == "__main__":
    sys.exit(main())
