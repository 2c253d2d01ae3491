"""Copying a home into a folder while it is in use, so that it can be put back whole.

::

    backup.json           every file of the backup with its size and SHA-256; written last
    rows.jsonl.gz         all rows of the database at one moment (`review.store.dump`)
    media/, tracks/       the files of the recordings that those rows speak of, as they lie in the home

What cannot be made anew is in it, and what takes long to: originals, copies for the browser, tracks, words. Uploads
that have not arrived, and the settings of the machine, are not.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import nullcontext, suppress
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from review.domain.errors import InputError
from review.domain.model import Recording
from review.store.belongings import files_in, places_of
from review.store.dump import load
from review.store.files import locked, replacing, settle
from review.store.home import Home
from review.store.media import film_alone
from review.store.repository import reading
from review.store.track_vault import ARCHIVE
from review.store.trackstore import tracks_lock
from review.store.vault import beginning_of, bucket_of

MANIFEST: Final = "backup.json"
ROWS: Final = "rows.jsonl.gz"
_SCHEMA: Final = 1
_SLICE_BYTES: Final = 4 * 1024 * 1024
_ROUNDS: Final = 5
_OWNER_ONLY: Final = 0o700

Progress = Callable[[str, float], None]
"""Told the stage, and its share done."""


@dataclass(frozen=True, slots=True)
class Backup:
    """What a backup holds, and the names of films that are damaged in the home itself."""

    files: tuple[Kept, ...]
    damaged: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """A file of a backup: its place in it, its size, its SHA-256, and when the one it is a copy of was changed."""

    place: str
    size_bytes: int
    sha256: str
    changed_ns: int


def back_up(home: Home, folder: Path, progress: Progress = lambda stage, share: None) -> Backup:
    """Copy a home into a folder; a backup that lies there is brought up to date, and only what changed is copied.

    The home may be in use meanwhile. Rows come first and their files after them; where a recording was erased in
    between, the rows are taken again, so that nothing erased is in the backup. What an earlier backup in this folder
    held and the home does not any more is removed from it.

    Raises
    ------
    InputError
        If the folder holds something else, or lies in the home.
    """
    _expect_place(home, folder)
    folder.mkdir(mode=_OWNER_ONLY, parents=True, exist_ok=True)
    known = {one.place: one for one in _manifest(folder)} if (folder / MANIFEST).exists() else {}
    (folder / MANIFEST).unlink(missing_ok=True)
    files: dict[str, Kept] = {}
    for _ in range(_ROUNDS):
        with replacing(folder / ROWS) as fresh, reading(home) as repo:
            recordings = repo.recordings()
            repo.dump(fresh)
        files = _copy_all(home, folder, recordings, {**known, **files}, progress)
        with reading(home) as repo:
            now = {one.id for one in repo.recordings()}
        if all(one.id in now for one in recordings):
            break
    else:
        raise InputError(
            "Recordings are being erased without end; the backup was given up. Run the same command again."
        )
    rows = folder / ROWS
    files[ROWS] = Kept(ROWS, rows.stat().st_size, _sum(rows), rows.stat().st_mtime_ns)
    _drop_others(folder, files)
    _write_manifest(folder, files)
    return Backup(tuple(files.values()), tuple(one.name for one in recordings if _is_damaged(one, files)))


def _is_damaged(recording: Recording, files: dict[str, Kept]) -> bool:
    """Tell whether the original is missing, or not what its name says."""
    begins = f"media/{recording.sha256[:2]}/{recording.sha256}/original"
    return not any(place.startswith(begins) and one.sha256 == recording.sha256 for place, one in files.items())


def verify(folder: Path, progress: Progress = lambda stage, share: None) -> tuple[Kept, ...]:
    """Read a backup through and return what it holds.

    Raises
    ------
    InputError
        If it is unfinished, or files of it are missing or not what they were: all of them named.
    """
    files, faults = _manifest(folder), []
    whole, done = sum(one.size_bytes for one in files) or 1, 0
    for one in files:
        path = folder / one.place
        if not path.is_file():
            faults.append(f"{one.place} is missing")
        elif _sum(path) != one.sha256:
            faults.append(f"{one.place} is not what it was")
        done += one.size_bytes
        progress("Reading the backup through", done / whole)
    if faults:
        raise InputError(f"The backup {folder} is damaged: {'; '.join(faults)}. Take another one.")
    return files


def put_back(folder: Path, home: Home, progress: Progress = lambda stage, share: None) -> tuple[Kept, ...]:
    """Fill an empty home from a backup that was read through first; its database may be of another kind than it was.

    Raises
    ------
    InputError
        If the backup is damaged, or the home or its database already holds something.
    """
    if any(home.media.glob("[0-9a-f]*/*")) or any(path.is_dir() for path in home.tracks.iterdir()):
        raise InputError(f"The home {home.root} holds films already; expected an empty one. Nothing was changed.")
    files = verify(folder, progress)
    load(home, folder / ROWS)
    whole, done = sum(one.size_bytes for one in files) or 1, 0
    for one in files:
        if one.place != ROWS:
            _copy(folder / one.place, home.root / one.place)
        done += one.size_bytes
        progress("Putting files back", done / whole)
    return files


def _expect_place(home: Home, folder: Path) -> None:
    if folder.resolve().is_relative_to(home.root.resolve()):
        raise InputError(f"{folder} lies in the home itself; name a folder outside of it, best on another disk.")
    ours = {MANIFEST, ROWS, "media", "tracks"}
    strange = sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []
    strange = [name for name in strange if name not in ours and not name.startswith(".rows")]
    if strange:
        raise InputError(
            f"{folder} holds something else ({', '.join(strange[:3])}); expected an empty folder, or an earlier "
            "backup. Nothing was changed."
        )


def _copy_all(
    home: Home, folder: Path, recordings: tuple[Recording, ...], known: dict[str, Kept], progress: Progress
) -> dict[str, Kept]:
    whole, done, files = sum(one.size_bytes for one in recordings) or 1, 0, {}
    for recording in recordings:
        for lock, paths in _of(home, recording):
            with lock:
                for path in paths():
                    with suppress(FileNotFoundError):  # made anew or erased just now
                        kept = _take(path, path.relative_to(home.root).as_posix(), folder, known)
                        files[kept.place] = kept
        files |= {one.place: one for one in _from_bucket(home, folder, recording, {**known, **files})}
        done += recording.size_bytes
        progress("Copying films and tracks", done / whole)
    return files


def _of(home: Home, recording: Recording) -> Iterator[tuple[Any, Callable[[], list[Path]]]]:
    """Yield what must not change meanwhile, and the files; which parts are done before the parts themselves."""
    media, tracks, *beside = places_of(home, recording)
    yield film_alone(home, recording.sha256), lambda: _whole(media)
    yield nullcontext(), lambda: _whole(tracks / "done")
    yield locked(tracks_lock(home, recording.id)), lambda: _whole(tracks)
    yield nullcontext(), lambda: [path for one in beside for path in _whole(one)]


def _from_bucket(home: Home, folder: Path, recording: Recording, known: dict[str, Kept]) -> Iterator[Kept]:
    """Yield a film's files that only the bucket holds, copied unless they were before."""
    bucket = bucket_of(home)
    for place in bucket.places(beginning_of(recording.sha256)) if bucket else ():
        if place.endswith(ARCHIVE) and (home.tracks / recording.id).is_dir():
            continue  # it is taken as it lies in the home
        if bucket and not (home.root / place).is_file() and (found := bucket.find(place)):
            old, there = known.get(place), folder / place
            if old and there.is_file() and (old.size_bytes, old.sha256) == (found.size_bytes, found.sha256):
                yield old
            else:
                digest = bucket.fetch(place, there)
                yield Kept(place, found.size_bytes, digest, there.stat().st_mtime_ns)


def _whole(place: Path) -> list[Path]:
    return [path for path in files_in(place) if not path.name.endswith(".part")]


def _take(path: Path, place: str, folder: Path, known: dict[str, Kept]) -> Kept:
    """Copy a file, unless it was copied and has not changed since."""
    before, there = path.stat(), folder / place
    facts = (before.st_size, before.st_mtime_ns)
    old = known.get(place)
    if there.is_file() and (there.stat().st_size, there.stat().st_mtime_ns) == facts:
        return (
            old if old and (old.size_bytes, old.changed_ns) == facts else Kept(place, facts[0], _sum(there), facts[1])
        )
    return Kept(place, facts[0], _copy(path, there), facts[1])


def _copy(path: Path, there: Path) -> str:
    """Copy a file in one step that a crash cannot halve; return its SHA-256."""
    there.parent.mkdir(mode=_OWNER_ONLY, parents=True, exist_ok=True)
    sha256 = hashlib.sha256()
    with replacing(there) as fresh, path.open("rb") as source, fresh.open("wb") as target:
        while part := source.read(_SLICE_BYTES):
            sha256.update(part)
            target.write(part)
        target.flush()
    shutil.copymode(path, there)
    os.utime(there, ns=(path.stat().st_atime_ns, path.stat().st_mtime_ns))
    return sha256.hexdigest()


def _sum(path: Path) -> str:
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def _drop_others(folder: Path, files: dict[str, Kept]) -> None:
    for path in sorted(folder.rglob("*"), reverse=True):
        if path.is_file() and path.relative_to(folder).as_posix() not in files:
            path.unlink()
        elif path.is_dir() and not any(path.iterdir()):
            path.rmdir()


def _write_manifest(folder: Path, files: dict[str, Kept]) -> None:
    said = {
        "schema": _SCHEMA,
        "made_at": datetime.now(UTC).isoformat(),
        "files": [asdict(one) for one in files.values()],
    }
    with replacing(folder / MANIFEST) as fresh:
        fresh.write_text(json.dumps(said, indent=0), "utf-8")
    settle(folder)


def _manifest(folder: Path) -> tuple[Kept, ...]:
    try:
        said = json.loads((folder / MANIFEST).read_text("utf-8"))
        if said["schema"] != _SCHEMA:
            raise InputError(f"The backup {folder} is of form {said['schema']}; expected {_SCHEMA}. Update Runthrough.")
        return tuple(Kept(**one) for one in said["files"])
    except FileNotFoundError:
        raise InputError(
            f"{folder} is no finished backup: it has no {MANIFEST}. Run `runthrough backup` again."
        ) from None
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise InputError(f"{folder / MANIFEST} cannot be read ({error}). Take another backup.") from error
