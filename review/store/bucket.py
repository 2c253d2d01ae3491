"""A bucket that speaks S3: finished files go in whole and are read in stretches.

Credentials come from the environment of the server or from its machine, as botocore finds them; they are no settings of
this program, and no message names them.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final
from uuid import uuid4

from review.domain.errors import InputError, StoreBroken
from review.store.files import replacing

SLICE_BYTES: Final = 4 * 1024 * 1024
_SUM: Final = "sha256"
_WAITS: Final = {"connect_timeout": 5, "read_timeout": 30, "retries": {"max_attempts": 2}}
_STRANGERS: Final = ("botocore", "aiobotocore", "aiohttp")


@dataclass(frozen=True, slots=True)
class Stored:
    """A file of a bucket: its size and the SHA-256 that it came with, empty where it did not come from here."""

    size_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Bucket:
    """A place in a bucket.

    Parameters
    ----------
    root
        The bucket's name and what all keys in it begin with, as ``bucket/prefix``.
    endpoint
        Address of the server, None for AWS.
    encryption, key
        What the server is asked to encrypt with, ``AES256`` or ``aws:kms``, and the key of the latter; None to leave
        that to the bucket.
    """

    root: str
    endpoint: str | None = None
    encryption: str | None = None
    key: str | None = None

    @property
    def name(self) -> str:
        """What the bucket is called in messages."""
        return f"s3://{self.root}"

    def find(self, place: str) -> Stored | None:
        """Return what is kept at a place, None if nothing is."""
        with self._told(f"look for {place}"):
            try:
                found = self._files.info(self._at(place))
                if found["type"] != "file":
                    return None
                return Stored(found["size"], self._files.metadata(self._at(place)).get(_SUM, ""))
            except FileNotFoundError:
                return None

    def put(self, path: Path, place: str) -> None:
        """Keep a file, and read it back: what does not come back as it was is removed again.

        Raises
        ------
        StoreBroken
            If the bucket cannot be used, or gives back something else.
        """
        with path.open("rb") as handle:
            digest = hashlib.file_digest(handle, "sha256").hexdigest()
        with self._told(f"keep {place}"):
            self._files.put_file(str(path), self._at(place), Metadata={_SUM: digest})
        if self.sum(place) != digest:
            self.erase(place)
            raise StoreBroken(
                f"{self.name} gave {place} back with other bytes than were sent; expected the same SHA-256. It was "
                "removed there, and the file in the home is whole. Try again; if it goes on, use another server."
            )

    def read(self, place: str, start: int, stop: int) -> Iterator[bytes]:
        """Yield the bytes from `start` to before `stop`, in slices."""
        for begun in range(start, stop, SLICE_BYTES):
            ended = min(begun + SLICE_BYTES, stop)
            with self._told(f"read {place}"):
                piece: bytes = self._files.cat_file(self._at(place), start=begun, end=ended)
            if len(piece) != ended - begun:
                raise StoreBroken(f"{self.name} gave {len(piece)} bytes of {place}; expected {ended - begun}.")
            yield piece

    def sum(self, place: str) -> str:
        """Return the SHA-256 of what is kept at a place, read through."""
        digest = hashlib.sha256()
        found = self.find(place)
        for piece in self.read(place, 0, found.size_bytes if found else 0):
            digest.update(piece)
        return digest.hexdigest()

    def fetch(self, place: str, path: Path) -> str:
        """Copy a file out of the bucket in one step that a crash cannot halve; return its SHA-256.

        Raises
        ------
        StoreBroken
            If nothing is kept there, the bucket cannot be used, or the bytes are not what they were; then nothing is
            left behind.
        """
        found = self.find(place)
        if found is None:
            raise StoreBroken(f"{place} is neither in the home nor in {self.name}. Add the same film again.")
        digest = hashlib.sha256()
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with replacing(path) as fresh:
            with fresh.open("xb") as target:
                for piece in self.read(place, 0, found.size_bytes):
                    digest.update(piece)
                    target.write(piece)
            if found.sha256 and digest.hexdigest() != found.sha256:
                raise StoreBroken(
                    f"{place} in {self.name} is not what was put there: its SHA-256 is {digest.hexdigest()[:12]}..., "
                    f"expected {found.sha256[:12]}.... Put the bucket's copy back, or add the same film again."
                )
        return digest.hexdigest()

    def places(self, beginning: str) -> tuple[str, ...]:
        """Return the places that begin so and whose file can be read, in order."""
        return tuple(dict.fromkeys(place for place, _, readable in self._versions(beginning) if readable))

    def erase(self, beginning: str) -> int:
        """Remove every version of all places that begin so; return how many versions there were.

        Raises
        ------
        StoreBroken
            If one cannot be removed, as under an object lock; what was removed by then is gone.
        """
        found = self._versions(beginning)
        with self._told(f"erase {beginning}"):
            for place, version, _ in found:
                self._call("delete_object", Key=self._key(place), **({"VersionId": version} if version else {}))
        if self._versions(beginning):
            raise StoreBroken(f"{self.name} still holds versions of {beginning} after they were erased. Try again.")
        return len(found)

    def check(self) -> str:
        """Write, read and erase a small file, and return in plain words how the bucket keeps it."""
        place = f"check/{uuid4().hex}"
        with self._told("write a file"):
            self._files.pipe_file(self._at(place), b"check")
        with self._told("read a file"):
            said = self._call("head_object", Key=self._key(place))
        b"".join(self.read(place, 0, 5))
        self.erase(place)
        found = said.get("ServerSideEncryption")
        if self.encryption and found != self.encryption:
            raise StoreBroken(f"{self.name} does not encrypt: {self.encryption} was asked for, {found} was said.")
        how = f"encrypted with {found}" if found else "not encrypted"
        return f"{self.name} can be written, read and erased, {how}"

    def _versions(self, beginning: str) -> list[tuple[str, str | None, bool]]:
        """Return place, version and whether it is what can be read now, of all that begins so."""
        found: list[tuple[str, str | None, bool]] = []
        onward: dict[str, str] = {}
        cut = len(self._key(""))
        with self._told(f"list {beginning}"):
            while True:
                page = self._call("list_object_versions", Prefix=self._key(beginning), **onward)
                for one in page.get("Versions", []):
                    found.append((one["Key"][cut:], one.get("VersionId"), one["IsLatest"]))
                for one in page.get("DeleteMarkers", []):
                    found.append((one["Key"][cut:], one.get("VersionId"), False))
                if not page.get("IsTruncated"):
                    return sorted(found, key=lambda one: one[0])
                onward = {"KeyMarker": page["NextKeyMarker"], "VersionIdMarker": page["NextVersionIdMarker"]}

    def _at(self, place: str) -> str:
        return f"{self.root}/{place}"

    def _key(self, place: str) -> str:
        return self._at(place).split("/", 1)[1]

    def _call(self, method: str, **named: Any) -> dict[str, Any]:
        said: dict[str, Any] = self._files.call_s3(method, Bucket=self.root.split("/", 1)[0], **named)
        return said

    @property
    def _files(self) -> Any:
        return _opened(self, os.getpid())

    @contextmanager
    def _told(self, deed: str) -> Iterator[None]:
        """Turn what goes wrong into one message, without what the server said: it may hold what is secret."""
        try:
            yield
        except OSError as error:
            raise StoreBroken(self._fault(deed, error)) from None
        except Exception as error:
            if not type(error).__module__.startswith(_STRANGERS):
                raise
            raise StoreBroken(self._fault(deed, error)) from None

    def _fault(self, deed: str, error: Exception) -> str:
        why = type(error).__name__
        if isinstance(error, PermissionError):
            why = "access denied"
        elif isinstance(error, FileNotFoundError):
            why = "there is no such bucket or file"
        return (
            f"{self.name} could not {deed} ({why}); expected a bucket that can be reached and that these credentials "
            "may use. Nothing in the home was lost. See with `runthrough doctor`, then try again."
        )


@lru_cache(maxsize=4)
def _opened(bucket: Bucket, process: int) -> Any:
    """Connect once in a process; one that was forked has its own."""
    try:
        from s3fs import S3FileSystem
    except ImportError:
        raise InputError(
            f"The settings name {bucket.name}, and s3fs is not installed. Install it: pip install '.[server]'"
        ) from None
    asked = {"ServerSideEncryption": bucket.encryption, "SSEKMSKeyId": bucket.key}
    return S3FileSystem(
        endpoint_url=bucket.endpoint,
        s3_additional_kwargs={name: value for name, value in asked.items() if value},
        config_kwargs=dict(_WAITS),
        use_listings_cache=False,
        skip_instance_cache=True,
    )
