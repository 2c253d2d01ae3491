"""The films of a home in a bucket besides: put there when they are whole, fetched when the home lacks them.

Without the setting `media` there is no bucket, and nothing here does anything. The keys in the bucket are the places in
the home: ``media/<first two digits>/<sha256>/original.mp4``, ``playback.mp4`` and ``times.npy``.
"""

from __future__ import annotations

import hashlib
import stat
from pathlib import Path
from typing import Final

from review.domain.errors import StoreBroken
from review.domain.receipt import ErasedFile
from review.store.bucket import Bucket
from review.store.home import Home
from review.store.settings import settings_of

_KEPT: Final = ("original*", "playback.mp4", "times.npy")
_FILMS: Final = ("original*", "playback.mp4")


def bucket_of(home: Home) -> Bucket | None:
    """Return the bucket that the settings of a home name, None without one."""
    said = settings_of(home)
    if said.media is None:
        return None
    return Bucket(said.media.removeprefix("s3://").rstrip("/"), said.s3_endpoint, said.s3_encryption, said.s3_kms_key)


def beginning_of(sha256: str) -> str:
    """Return what the places of all files of a film begin with."""
    return f"media/{sha256[:2]}/{sha256}/"


def stow(home: Home, sha256: str) -> int:
    """Put a film's finished files into the bucket that are not there yet; return how many were put.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used; the files in the home stay as they are.
    """
    bucket = bucket_of(home)
    if bucket is None:
        return 0
    put = 0
    for path in _local(home, sha256, _KEPT):
        there = bucket.find(_place(home, path))
        if there is None or there.size_bytes != path.stat().st_size or not there.sha256:
            bucket.put(path, _place(home, path))
            put += 1
    return put


def make_room(home: Home, sha256: str) -> int:
    """Remove a film's original and playback copy from the home once the bucket has them whole; return the bytes freed.

    Every file is read through there and must have the SHA-256 of the one here. The caller holds the film's lock.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used; what was not compared stays in the home.
    """
    bucket, freed = bucket_of(home), 0
    if bucket is None:
        return 0
    stow(home, sha256)
    for path in _local(home, sha256, _FILMS):
        if bucket.sum(_place(home, path)) != _sum(path):
            bucket.put(path, _place(home, path))
        freed += path.stat().st_size
        path.chmod(stat.S_IRWXU)
        path.unlink()
    return freed


def is_kept(home: Home, place: str) -> int | None:
    """Return the size of a file in the home or, if it is not there, in the bucket; None if it is in neither."""
    path = home.root / place
    if path.is_file():
        return path.stat().st_size
    bucket = bucket_of(home)
    found = bucket.find(place) if bucket else None
    return found.size_bytes if found else None


def at_hand(home: Home, place: str) -> Path:
    """Return a file of the home, fetched whole from the bucket if it is only there.

    Where it is in neither, the path leads to nothing, as without a bucket.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used, or has other bytes than were put there.
    """
    path, bucket = home.root / place, bucket_of(home)
    if not path.is_file() and bucket is not None and bucket.find(place) is not None:
        _fetch(bucket, place, path)
        if path.name.startswith("original"):
            path.chmod(stat.S_IREAD | stat.S_IRGRP | stat.S_IROTH)
    return path


def stowed(home: Home, sha256: str) -> tuple[ErasedFile, ...]:
    """Return what the bucket holds of a film, by its address there.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used.
    """
    bucket = bucket_of(home)
    if bucket is None:
        return ()
    found = ((place, bucket.find(place)) for place in bucket.places(beginning_of(sha256)))
    return tuple(ErasedFile(f"{bucket.name}/{place}", one.size_bytes, one.sha256) for place, one in found if one)


def erase_stowed(home: Home, sha256: str) -> tuple[str, ...]:
    """Remove every version of a film's files from the bucket; return that in plain words, nothing without a bucket.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used or does not let go of one.
    """
    bucket = bucket_of(home)
    if bucket is None:
        return ()
    count = bucket.erase(beginning_of(sha256))
    return (
        f"all versions of its files in {bucket.name} ({count}); replicas and backups of the bucket are out of reach",
    )


def _fetch(bucket: Bucket, place: str, path: Path) -> None:
    try:
        bucket.fetch(place, path)
    except OSError as error:
        raise StoreBroken(
            f"{place} could not be brought from {bucket.name} into the home ({error.strerror}); expected room on the "
            "disk and a film that is not being erased. Make room, then try again."
        ) from error


def _local(home: Home, sha256: str, names: tuple[str, ...]) -> list[Path]:
    folder = home.root / beginning_of(sha256)
    return [path for name in names for path in sorted(folder.glob(name)) if path.is_file()]


def _place(home: Home, path: Path) -> str:
    return path.relative_to(home.root).as_posix()


def _sum(path: Path) -> str:
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()
