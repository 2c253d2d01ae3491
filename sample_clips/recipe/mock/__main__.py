"""Command line: ``python -m sample_clips.recipe.mock --out DIR --count N --seed S [--sound-only]`` makes attempts."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from .attempt import Attempt, Voices, spoken_attempt, write_sounds
from .mix import ROOMS
from .plan import Manner
from .sheet import Sheet, read_sheet
from .voices import CHOICES, Speaker, cast, speaking

_SCREENING: Final = Path(__file__).parents[3] / "review" / "checklists" / "neuro_screening.toml"


def main(arguments: Sequence[str] | None = None) -> int:
    """Make the attempts that the command line asks for; 2 if it asks for a step that is not there."""
    options = _parser().parse_args(arguments)
    sheet = read_sheet(options.checklist)
    try:
        sheet = sheet.only(tuple(options.steps)) if options.steps else sheet
    except ValueError as error:
        print(error, file=sys.stderr)
        return 2
    options.out.mkdir(parents=True, exist_ok=True)
    voices = speaking(options.assets)
    for seed in range(options.seed, options.seed + options.count):
        _make(sheet, seed, options, voices)
    return 0


def _make(sheet: Sheet, seed: int, options: argparse.Namespace, voices: Voices) -> None:
    started, name = _processor_s(), f"mock_{seed:04d}"
    speakers = cast(options.voices, seed)
    manner = Manner(skips=0.0, longest_s=None) if options.steps else Manner(longest_s=options.longest)
    if options.sound_only:
        attempt = spoken_attempt(sheet, seed, speakers, voices, manner)
        write_sounds(attempt, options.rooms, options.out, name, seed)
    else:
        attempt = _filmed(sheet, seed, speakers, voices, manner, options)
    took_s = _processor_s() - started
    lasts_s = attempt.timeline.seconds
    print(f"{name}: {lasts_s:.0f} s in {', '.join(options.rooms)}, {took_s:.0f} s of processor", flush=True)


def _filmed(
    sheet: Sheet,
    seed: int,
    speakers: dict[str, Speaker],
    voices: Voices,
    manner: Manner | None,
    options: argparse.Namespace,
) -> Attempt:
    from ..assets import fetch
    from .filmed import write_film_of
    from .played import players

    roles = players(seed)
    attempt = spoken_attempt(sheet, seed, speakers, voices, manner, roles)
    for room in options.rooms:
        write_film_of(attempt, room, roles, fetch(options.people), options.out, f"mock_{seed:04d}_{room}", seed)
    return attempt


def _processor_s() -> float:
    """Return the processor time of this process and of the programs that it ran."""
    return sum(os.times()[:4])


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m sample_clips.recipe.mock", description="Make whole spoken attempts at a checklist."
    )
    parser.add_argument("--out", type=Path, required=True, help="folder for the attempts and their truth")
    parser.add_argument("--count", type=int, default=1, help="how many (default: %(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="seed of the first; the next ones follow (default: 1)")
    parser.add_argument("--sound-only", action="store_true", help="write sound without pictures")
    parser.add_argument("--voices", choices=CHOICES, default="all", help="which voices to draw from (default: all)")
    parser.add_argument(
        "--rooms", nargs="+", choices=ROOMS, default=["clean"], help="where each is heard (default: clean)"
    )
    parser.add_argument("--checklist", type=Path, default=_SCREENING, help="checklist file (default: the screening)")
    parser.add_argument("--steps", nargs="+", default=[], metavar="STEP", help="these steps only, none left out")
    parser.add_argument(
        "--longest",
        type=float,
        default=Manner.longest_s,
        metavar="SECONDS",
        help="sections and steps are left out until an attempt is about so long at most (default: %(default)s)",
    )
    parser.add_argument(
        "--assets",
        type=Path,
        default=Path("build/sample_clips_voices"),
        help="folder that keeps the data of the voices (default: %(default)s)",
    )
    parser.add_argument(
        "--people",
        type=Path,
        default=Path("build/sample_clips_assets"),
        help="folder that keeps the data of the people (default: %(default)s)",
    )
    return parser


if __name__ == "__main__":
    sys.exit(main())
