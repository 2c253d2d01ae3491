"""Command line: ``python -m sample_clips.recipe romberg|face|knee|crossing|all --out DIR``."""

from __future__ import annotations

import argparse
from pathlib import Path

from .acts import ACTS
from .assets import fetch
from .film import make_clip, make_stills


def main() -> None:
    """Make the clips that the command line asks for."""
    parser = argparse.ArgumentParser(prog="python -m sample_clips.recipe", description="Make the sample clips.")
    parser.add_argument("clip", choices=[*ACTS, "all"], help="which clip")
    parser.add_argument("--out", type=Path, required=True, help="folder for the clips and their truth")
    parser.add_argument(
        "--assets",
        type=Path,
        default=Path("build/sample_clips_assets"),
        help="folder that keeps the data of the person (default: %(default)s)",
    )
    parser.add_argument(
        "--still", type=float, nargs="+", metavar="SECOND", help="only draw these moments, as PNG files"
    )
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    assets = fetch(options.assets)
    for clip in ACTS if options.clip == "all" else [options.clip]:
        if options.still:
            make_stills(clip, assets, options.out, options.still)
        else:
            make_clip(clip, assets, options.out)


if __name__ == "__main__":
    main()
