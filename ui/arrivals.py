"""Films on their way in from the browser: slices that can be taken up again, then the adding in the background."""

from __future__ import annotations

import base64
import binascii
import hashlib
import io
import json
import logging
import re
import shutil
import threading
from collections.abc import AsyncIterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Final, Literal

from review.actions import consents, recordings
from review.domain.errors import EntryRefused, FilmRefused, NotAllowed, NotFound, RunthroughError
from review.domain.model import Person
from review.store.files import replacing
from review.store.home import Home
from review.store.repository import reading

_UID: Final = re.compile(r"[0-9a-f]{16,64}")
_LONGEST_SLICE: Final = 16 * 1024 * 1024
_PART: Final = "arriving.part"
_WISHES: Final = "wishes.json"
_SENDER: Final = "sender"
_DIGEST: Final = re.compile(r"(?:^|,)\s*sha-256=:([A-Za-z0-9+/=]+):")

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Adding:
    """How far the adding of an arrived film is; `share` (0 to 1) is that of the stage."""

    state: Literal["adding", "done", "failed"]
    stage: str = ""
    share: float = 0.0
    recording: str | None = None
    message: str = ""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What was said of a film when it was chosen."""

    file_name: str
    size: int
    name: str | None
    checklist_id: str | None
    mirrored: bool
    partner_height_mm: float | None
    slow_motion: float = 1.0
    consent: Mapping[str, Any] | None = None
    course_id: str | None = None

    @classmethod
    def of(cls, said: Mapping[str, Any]) -> Wishes:
        """Read them from the JSON object that the page sends.

        Raises
        ------
        EntryRefused
            If a part is missing or not of its kind, or what the examined person agreed to cannot be read.
        """
        height, checklist, slow = said.get("partner_height_mm"), said.get("checklist"), said.get("slow_motion")
        file_name, size, name, course = said.get("file"), said.get("size"), said.get("name"), said.get("course")
        kinds = (
            isinstance(file_name, str) and bool(file_name.strip()),
            name is None or isinstance(name, str),
            isinstance(size, int) and not isinstance(size, bool) and size >= 0,
            checklist is None or isinstance(checklist, str),
            course is None or isinstance(course, str),
            height is None or _is_number(height),
            slow is None or _is_number(slow),
        )
        if not all(kinds):
            raise EntryRefused(
                "The film's name, its size (bytes), ids of a checklist and a course, a height in millimetres and how "
                "many times slower it plays than life were expected, and something else came. Reload the page and "
                "choose again."
            )
        if size == 0:
            raise EntryRefused(
                f"{file_name}: the file is empty (0 bytes). Copy it again from the phone or camera, and choose it then."
            )
        height_mm = None if height is None else float(height)
        pace = 1.0 if slow is None else float(slow)
        mirrored = said.get("mirrored") is True
        return cls(str(file_name), int(size or 0), name, checklist, mirrored, height_mm, pace, _consent(said), course)


def _consent(said: Mapping[str, Any]) -> Mapping[str, Any] | None:
    """Return what the examined person agreed to as it was sent, once it is seen that it can be read."""
    agreed = said.get("consent")
    if agreed is None:
        return None
    if not isinstance(agreed, Mapping):
        raise EntryRefused("What the examined person agreed to was expected as an object. Reload the page.")
    consents.terms_of(agreed)
    return dict(agreed)


def _is_number(said: object) -> bool:
    return isinstance(said, int | float) and not isinstance(said, bool)


class Arrivals:
    """All uploads of one home.

    Parameters
    ----------
    home
        Where they arrive.
    """

    def __init__(self, home: Home) -> None:
        self._home = home
        self._busy: set[str] = set()
        self._adding: dict[str, Adding] = {}
        self._senders: dict[str, str] = {}
        self._lock = threading.Lock()
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="adding")

    def expect_own(self, uid: str, person: Person, begins: bool = False) -> None:
        """Where people sign in, let only those go on with an upload, or hear of it, who began it.

        Parameters
        ----------
        uid
            The upload.
        person
            Who asks.
        begins
            Whether the person begins it, if nobody did yet.

        Raises
        ------
        NotAllowed
            If somebody else began it.
        """
        if person.courses is None:
            return
        note = self._folder(uid) / _SENDER
        if begins and self.offset(uid) == 0 and uid not in self._senders:
            note.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            with suppress(FileExistsError), note.open("x", encoding="utf-8") as fresh:
                fresh.write(person.id)
        with suppress(FileNotFoundError):
            self._senders.setdefault(uid, note.read_text("utf-8"))
        if self._senders.get(uid, person.id) != person.id or (self.offset(uid) and uid not in self._senders):
            raise NotAllowed("Somebody else is sending a film under this name. Reload the page and choose yours again.")

    def offset(self, uid: str) -> int:
        """Return how many bytes of an upload are here."""
        part = self._folder(uid) / _PART
        return part.stat().st_size if part.exists() else 0

    async def take(
        self, uid: str, offset: int, slices: AsyncIterator[bytes], digest: bytes | None = None
    ) -> int | None:
        """Append bytes at `offset` and return how many are here now; None if they do not belong there.

        With a digest the slice counts only as a whole, once its SHA-256 is right. Without one, bytes that came before
        a connection broke stay, so that the sender can go on from there.

        Raises
        ------
        EntryRefused
            If the slice is not the one its digest was made of; nothing of it stays.
        OSError
            If the disk is full; what was written stays.
        """
        folder = self._folder(uid)
        with self._lock:
            if uid in self._busy or self.offset(uid) != offset:
                return None
            self._busy.add(uid)
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            with (folder / _PART).open("ab", buffering=0) as part:
                if digest is not None:
                    _write(part, await _whole(slices, digest))
                else:
                    async for piece in slices:
                        _write(part, piece)
        finally:
            with self._lock:
                self._busy.discard(uid)
        return self.offset(uid)

    def finish(self, uid: str, person: Person, wishes: Wishes) -> Adding:
        """Start adding an upload that has fully arrived.

        Raises
        ------
        EntryRefused
            If bytes are missing; those that are here stay.
        """
        with self._lock:
            going = self._adding.get(uid)
            if going is not None and going.state == "adding":
                return going
            here = self.offset(uid)
            if here != wishes.size:
                raise EntryRefused(
                    f"{here} of {wishes.size} bytes of the film are here. Choose the same film again to go on."
                )
            self._adding[uid] = Adding("adding", "Waiting")
        with replacing(self._folder(uid) / _WISHES) as fresh:
            fresh.write_text(json.dumps({"as": person.id, **asdict(wishes)}), "utf-8")
        self._worker.submit(self._add, uid, person, wishes)
        return self._adding[uid]

    def go_on(self) -> None:
        """Add what had fully arrived but was not added yet when the server ended."""
        with reading(self._home) as repo:
            people = {person.id: person for person in repo.people()}
        for kept in sorted(self._home.incoming.glob(f"*/{_WISHES}")):
            try:
                said = json.loads(kept.read_text("utf-8"))
                person, wishes = people[said.pop("as")], Wishes(**said)
            except (OSError, ValueError, KeyError, TypeError):
                _LOG.warning("%s cannot be read; choose its film again.", kept)
                continue
            uid = kept.parent.name
            self._senders[uid] = person.id
            self._adding[uid] = Adding("adding", "Waiting")
            self._worker.submit(self._add, uid, person, wishes)

    def adding(self, uid: str) -> Adding:
        """Return how far the adding of an upload is.

        Raises
        ------
        NotFound
            If it was not started since Runthrough was.
        """
        found = self._adding.get(uid)
        if found is None:
            raise NotFound(
                "Nothing is being added under this name. If Runthrough was started anew, choose the film again."
            )
        return found

    def _folder(self, uid: str) -> Path:
        if not _UID.fullmatch(uid):
            raise NotFound("An upload's name is 16 to 64 digits 0-9, a-f. Reload the page and choose the film again.")
        return self._home.incoming / uid

    def _add(self, uid: str, person: Person, wishes: Wishes) -> None:
        folder = self._folder(uid)
        film = folder / "film" / _safe_name(wishes.file_name)
        try:
            film.parent.mkdir(exist_ok=True)
            if not film.exists():
                (folder / _PART).replace(film)
            with reading(self._home) as repo:
                person = repo.person(person.id)
            recording = recordings.add(
                self._home,
                person,
                film,
                checklist_id=wishes.checklist_id,
                mirrored=wishes.mirrored,
                partner_height_mm=wishes.partner_height_mm,
                slow_motion=wishes.slow_motion,
                name=wishes.name or wishes.file_name,
                course_id=wishes.course_id,
                progress=lambda stage, share: self._tell(uid, stage, share),
            )
            if wishes.consent is not None:
                consents.note(self._home, person, recording.id, *consents.terms_of(wishes.consent))
            recordings.start_analysis(self._home, person, recording.id)
            shutil.rmtree(folder, ignore_errors=True)
            self._adding[uid] = Adding("done", "Added", 1.0, recording.id)
        except FilmRefused as refusal:
            shutil.rmtree(folder, ignore_errors=True)
            self._adding[uid] = Adding("failed", message=str(refusal))
        except RunthroughError as fault:
            film.replace(folder / _PART)
            (folder / _WISHES).unlink(missing_ok=True)
            self._adding[uid] = Adding("failed", message=str(fault))
        except Exception:
            _LOG.exception("Adding %s failed", film)
            message = f"{wishes.file_name} could not be added. It stays in {folder}; the terminal says more."
            self._adding[uid] = Adding("failed", message=message)

    def _tell(self, uid: str, stage: str, share: float) -> None:
        self._adding[uid] = replace(self._adding[uid], stage=stage, share=share)


def digest_of(header: str | None) -> bytes | None:
    """Return the SHA-256 that a ``Content-Digest`` header tells (RFC 9530), or None without one.

    Raises
    ------
    EntryRefused
        If the header is there and tells none.

    Examples
    --------
    >>> digest_of("sha-256=:47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=:").hex()[:16]
    'e3b0c44298fc1c14'
    """
    if header is None:
        return None
    found = _DIGEST.search(header)
    try:
        digest = base64.b64decode(found.group(1), validate=True) if found else b""
    except binascii.Error:
        digest = b""
    if len(digest) != hashlib.sha256().digest_size:
        raise EntryRefused("A Content-Digest without a SHA-256 came; expected sha-256=:BASE64:. Reload the page.")
    return digest


async def _whole(slices: AsyncIterator[bytes], digest: bytes) -> bytes:
    body = bytearray()
    async for piece in slices:
        body += piece
        if len(body) > _LONGEST_SLICE:
            raise EntryRefused(f"A slice of more than {_LONGEST_SLICE} bytes came; send the film in smaller ones.")
    if hashlib.sha256(body).digest() != digest:
        raise EntryRefused("This slice was damaged on its way and was thrown away; send it again.")
    return bytes(body)


def _write(part: io.FileIO, piece: bytes) -> None:
    view = memoryview(piece)
    while view:
        view = view[part.write(view) :]


def _safe_name(name: str) -> str:
    """Return a file name without folders or odd characters, its ending kept.

    Examples
    --------
    >>> _safe_name("../../Romberg, 2nd try.MOV")
    'Romberg_ 2nd try.MOV'
    >>> _safe_name("...")
    'film'
    """
    last = re.split(r"[/\\]", name)[-1]
    plain = re.sub(r"[^\w .()-]", "_", last).strip(" .")[-100:]
    return plain or "film"
