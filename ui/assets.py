"""Our own scripts and styles: where they lie, and the version that stands in their addresses."""

from __future__ import annotations

import hashlib
import re
from functools import lru_cache
from pathlib import Path
from typing import Final

FOLDER: Final = Path(__file__).parent / "assets"

_IMPORTED: Final = re.compile(r"""\b(?:from|import)\s*["'`]\./([\w.-]+\.js)["'`]""")

MEDIA_TYPES: Final = {".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8"}
"""Types of what is served; the table of the operating system is not asked, since it can be wrong."""


@lru_cache(maxsize=1)
def version() -> str:
    """Return a short hash of all scripts and styles: it changes when any of them does."""
    digest = hashlib.sha256()
    for path in sorted(FOLDER.iterdir()):
        if path.suffix in MEDIA_TYPES:
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


def style(*names: str) -> str:
    """Return the text of style sheets, one after the other."""
    return "\n".join((FOLDER / f"{name}.css").read_text("utf-8") for name in names)


def drawing(name: str) -> str:
    """Return a drawing of ours (SVG), to stand within a page and take on the colour of its text."""
    return (FOLDER / f"{name}.svg").read_text("utf-8")


def modules(folder: Path, *first: str) -> tuple[str, ...]:
    """Return the file names of modules and of all that they import from their folder, directly or by others."""
    found = list(first)
    for name in found:
        imported = dict.fromkeys(_IMPORTED.findall((folder / name).read_text("utf-8")))
        found += [other for other in imported if other not in found]
    return tuple(found)


def loader(name: str) -> str:
    """Return the few inline lines that load a component's module from our own address.

    A module of its own address can import its neighbours, and stays in the browser's cache until it changes.
    """
    address = f"/assets/{version()}/{name}.js"
    return (
        f"// Loads {name}.js\n"
        f"const loaded = import(new URL({address!r}, document.baseURI).href);\n"
        "export default async (component) => (await loaded).default(component);\n"
    )
