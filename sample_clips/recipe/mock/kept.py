"""The short attempts that are kept beside the sample clips: ``python -m sample_clips.recipe.mock.kept --out DIR``."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final

from ..assets import fetch
from .attempt import Voices, spoken_attempt
from .plan import Manner
from .sheet import read_sheet
from .voices import Speaker, speaking

SCREENING: Final = Path(__file__).parents[3] / "review" / "checklists" / "neuro_screening.toml"

MANNER: Final = Manner(longest_s=None, skips=0.12, repeats=0.1, slips=0.15, wrong_sides=0.12)
"""Of both: more goes wrong than usual, so that little time shows much."""


@dataclass(frozen=True)
class Kept:
    """What makes a kept attempt again: seed, steps of the screening, voices, people, and the room it is heard in."""

    seed: int
    steps: tuple[str, ...]
    voices: Mapping[str, str]
    people: Mapping[str, str]
    room: str


KEPT: Final[Mapping[str, Kept]] = MappingProxyType(
    {
        "attempt_face": Kept(
            2648,
            ("cn3_4_6_eye_movements", "cn5_light_touch", "cn7_eye_closing", "cn7_lower_face", "cn11_head_turn"),
            {"examiner": "heart", "partner": "george"},
            {"examiner": "p02", "partner": "p07"},
            "clean",
        ),
        "attempt_balance": Kept(
            1941,
            ("romberg_setup", "romberg_eyes_open", "romberg_eyes_closed", "romberg_result", "reflex_patellar"),
            {"examiner": "michael", "partner": "emma"},
            {"examiner": "p03", "partner": "p04"},
            "db20",
        ),
    }
)
"""The kept attempts by name; each leaves a step out, repeats one, and has a finding not said, one other than expected,
a slip and a wrong side."""


def make(name: str, folder: Path, voices: Voices, assets: Path) -> Path:
    """Write the film and the truth of a kept attempt, and return the film."""
    from .filmed import write_film_of

    kept = KEPT[name]
    sheet = read_sheet(SCREENING).only(kept.steps)
    speakers = {role: Speaker(voice, 1.0) for role, voice in kept.voices.items()}
    made = spoken_attempt(sheet, kept.seed, speakers, voices, MANNER, kept.people)
    return write_film_of(made, kept.room, kept.people, assets, folder, name, kept.seed)


def main() -> None:
    """Make the kept attempts."""
    parser = argparse.ArgumentParser(prog="python -m sample_clips.recipe.mock.kept", description="Make kept attempts.")
    parser.add_argument("--out", type=Path, required=True, help="folder for them")
    parser.add_argument("--assets", type=Path, default=Path("build/sample_clips_voices"), help="data of the voices")
    parser.add_argument("--people", type=Path, default=Path("build/sample_clips_assets"), help="data of the people")
    parser.add_argument("--only", nargs="+", choices=KEPT, default=list(KEPT), help="which (default: all)")
    options = parser.parse_args()
    voices = speaking(options.assets)
    for name in options.only:
        print(make(name, options.out, voices, fetch(options.people)), flush=True)


if __name__ == "__main__":
    main()
