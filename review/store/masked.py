"""Copies with masked heads, beside the film they were made of, so that they go when it goes.

::

    media/<first two digits>/<sha256>/masked/others.mp4    all heads but the examined person's are masked
                                             others.json   what is known of it
                                             all.mp4, all.json

A copy is there once its second file is.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import uuid4

from review.domain.masking import Doubt, Doubtful, Heads, MaskedCopy
from review.store.files import replacing, settle
from review.store.home import Home
from review.store.media import media_folder


def masked_film(home: Home, sha256: str, heads: Heads) -> Path:
    """Return where the copy of a film is, whether it was made or not."""
    return media_folder(home, sha256) / "masked" / f"{heads}.mp4"


def masked_copies(home: Home, sha256: str) -> tuple[MaskedCopy, ...]:
    """Return what is known of the copies that were made of a film."""
    found = (_known(masked_film(home, sha256, heads)) for heads in Heads)
    return tuple(copy for copy in found if copy is not None)


@contextmanager
def in_the_making(home: Home, sha256: str, heads: Heads) -> Iterator[Path]:
    """Give a place for a copy in the making; what is there afterwards is removed unless `keep_masked` took it."""
    film = masked_film(home, sha256, heads)
    film.parent.mkdir(exist_ok=True)
    fresh = film.with_name(f".{film.name}.{uuid4().hex}.part")
    try:
        yield fresh
    finally:
        fresh.unlink(missing_ok=True)


def keep_masked(home: Home, sha256: str, fresh: Path, copy: MaskedCopy) -> None:
    """Put a copy that was made into its place, and what is known of it beside; the film's lock is held."""
    film = masked_film(home, sha256, copy.heads)
    facts = film.with_suffix(".json")
    facts.unlink(missing_ok=True)
    fresh.replace(film)
    settle(film.parent)
    doubtful = [[one.start_s, one.stop_s, str(one.why)] for one in copy.doubtful]
    said = {"heads": str(copy.heads), "sound": copy.sound, "made_at": copy.made_at.isoformat(), "made_by": copy.made_by}
    with replacing(facts) as part:
        part.write_text(json.dumps({**said, "doubtful": doubtful}), "utf-8")


def drop_masked(home: Home, sha256: str, heads: Heads) -> bool:
    """Remove a copy, and tell whether there was one."""
    film = masked_film(home, sha256, heads)
    there = film.exists()
    film.with_suffix(".json").unlink(missing_ok=True)
    film.unlink(missing_ok=True)
    return there


def _known(film: Path) -> MaskedCopy | None:
    """Return what is known of a copy, None if it is not whole."""
    try:
        said: dict[str, Any] = json.loads(film.with_suffix(".json").read_text("utf-8"))
        return MaskedCopy(
            heads=Heads(said["heads"]),
            sound=said["sound"],
            made_at=datetime.fromisoformat(said["made_at"]),
            made_by=said["made_by"],
            doubtful=tuple(Doubtful(start_s, stop_s, Doubt(why)) for start_s, stop_s, why in said["doubtful"]),
            size_bytes=film.stat().st_size,
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None
