"""Looking through a home for bytes that should no longer be there."""

from __future__ import annotations

import mmap
import random
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from review.store.home import Home

PROBE_BYTES: Final = 64
_TELLING: Final = 24
_TRIES: Final = 12
_MOST_FILES: Final = 24
_MOST_TEXTS: Final = 24
_TEXT_LENGTHS: Final = (8, 40)
_MOST_BYTES: Final = 2_000_000_000


@dataclass(frozen=True, slots=True)
class Searched:
    """How much was looked through: files, bytes, and how many files were left out."""

    files: int
    size_bytes: int
    left_out: int


def place_of(home: Home, path: Path) -> str:
    """Return where in a home a file is; the name that an upload was given is left out."""
    place = path.relative_to(home.root)
    named = place if home.incoming not in path.parents else Path(*place.parts[:2], f"upload{path.suffix}")
    return named.as_posix()


def probes_of(paths: Sequence[Path]) -> list[bytes]:
    """Return a stretch of 64 bytes from a random place of each file, of the largest and a choice of the others.

    Files in which every stretch tried was too plain to tell apart, such as zeros, give none.
    """
    sized = sorted(paths, key=lambda path: path.stat().st_size, reverse=True)
    half = _MOST_FILES // 2
    chosen = sized[:half] + random.sample(sized[half:], min(half, len(sized[half:])))
    return [probe for path in chosen if (probe := _probe(path))]


def _probe(path: Path) -> bytes:
    size = path.stat().st_size
    with path.open("rb") as handle:
        for _ in range(_TRIES):
            handle.seek(random.randrange(max(1, size - PROBE_BYTES + 1)))
            found = handle.read(PROBE_BYTES)
            if len(set(found)) >= _TELLING:
                return found
    return b""


def cut_texts(texts: Iterable[str]) -> list[str]:
    """Return the middle of each text, those too short to tell apart left out; of many the longest."""
    shortest, longest = _TEXT_LENGTHS
    cut = {text[max(0, (len(text) - longest) // 2) :][:longest] for text in texts}
    telling = [one for one in cut if len(one) >= shortest]
    return sorted(telling, key=lambda one: (-len(one), one))[:_MOST_TEXTS]


def search(home: Home, probes: Collection[bytes], without: Collection[Path] = ()) -> tuple[dict[bytes, str], Searched]:
    """Look for probes in all files of a home.

    Parameters
    ----------
    home
        Where.
    probes
        What is looked for.
    without
        Files that are not looked into.

    Returns
    -------
    dict
        By probe, the first file of the home that holds it.
    Searched
        How much was looked through. In a home of more than 2 GB the films of other recordings are left out: they are
        named by their own SHA-256 and never written again.
    """
    if not probes:
        return {}, Searched(0, 0, 0)
    hidden, found = set(without), dict[bytes, str]()
    paths = [path for path in sorted(home.root.rglob("*")) if path.is_file() and path not in hidden]
    sizes = {path: _size(path) for path in paths}
    large = sum(sizes.values()) > _MOST_BYTES
    read = [path for path in paths if not (large and _is_film(home, path))]
    for path in read:
        for probe in _held(path, [one for one in probes if one not in found]):
            found[probe] = place_of(home, path)
    return found, Searched(len(read), sum(sizes[path] for path in read), len(paths) - len(read))


def _size(path: Path) -> int:
    with suppress(FileNotFoundError):
        return path.stat().st_size
    return 0


def _is_film(home: Home, path: Path) -> bool:
    return home.media in path.parents and path.name.startswith(("original", "playback"))


def _held(path: Path, probes: Sequence[bytes]) -> Iterator[bytes]:
    """Yield those probes that a file holds; none if it is empty or gone."""
    with suppress(FileNotFoundError, PermissionError), path.open("rb") as handle:
        if path.stat().st_size:
            with mmap.mmap(handle.fileno(), 0, access=mmap.ACCESS_READ) as content:
                yield from [probe for probe in probes if content.find(probe) >= 0]
