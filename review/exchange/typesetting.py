"""The printed report: a tagged PDF (PDF/UA-1), set from a template of ours.

References
----------
ISO 14289-1 (PDF/UA-1): what the typesetter itself refuses to leave out, such as the document's title and the words of
pictures. It checks what a machine can check; whether the words of a picture serve the reader it cannot tell.
"""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Mapping, Sequence
from datetime import datetime
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from review.domain.errors import BrokenPromise

MEDIA_TYPE: Final = "application/pdf"
STANDARD: Final = "ua-1"
UNSHOWN: Final = "\u25a1"
"""Stands for a character that no font here has."""

_NO_FORM: Final = re.compile(r'the text `"(?P<text>.*)"` could not be displayed', re.DOTALL)
_CONTROLS: Final = {code: " " for code in (*range(32), *range(127, 160)) if chr(code) != "\n"}
_TRIAL: Final = '#set document(title: "trial")\n#set text(lang: "en", font: "Libertinus Serif")\n#read("/trial.txt")'


def typeset(contents: Mapping[str, Any], pictures: Mapping[str, bytes], made_at: datetime) -> bytes:
    """Return a report as a PDF file.

    Parameters
    ----------
    contents
        What `review.report.document` gives; its texts may hold any characters.
    pictures
        The pictures that it names.
    made_at
        Goes into the file as its date, with a zone.

    Raises
    ------
    BrokenPromise
        If the typesetter refuses the report.
    """
    import typst

    with tempfile.TemporaryDirectory(prefix="runthrough-") as name:
        folder = Path(name)
        lay_out(folder, contents, pictures)
        try:
            made = typst.compile(
                folder / "report.typ",
                root=folder,
                format="pdf",
                pdf_standards=[STANDARD],
                timestamp=made_at.replace(microsecond=0),
            )
        except typst.TypstError as error:
            raise BrokenPromise(f"The report could not be set: {error.message} {' '.join(error.hints)}") from error
    return bytes(made)


def lay_out(folder: Path, contents: Mapping[str, Any], pictures: Mapping[str, bytes]) -> None:
    """Put all that the typesetter reads into a folder: ``report.typ``, ``data.json`` and the pictures."""
    for file, picture in pictures.items():
        (folder / file).write_bytes(picture)
    shown, count = _showable(contents, folder)
    (folder / "data.json").write_text(json.dumps({**shown, "unshown": count}), "utf-8")
    (folder / "report.typ").write_bytes((files("review.exchange") / "report.typ").read_bytes())


def _showable(contents: Mapping[str, Any], folder: Path) -> tuple[dict[str, Any], int]:
    """Return contents in which characters without a letter form are replaced, and how many were."""
    missing = dict.fromkeys(_missing("".join(sorted(set(_texts(contents)))), folder), UNSHOWN)
    table = str.maketrans({**{chr(code): blank for code, blank in _CONTROLS.items()}, **missing})
    count = sum(character in missing for character in _texts(contents))
    replaced: dict[str, Any] = _mapped(contents, table)
    return replaced, count


def _texts(value: Any) -> str:
    """Return all texts in a JSON value, one after the other."""
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        return "".join(_texts(one) for one in value.values())
    return "".join(_texts(one) for one in value) if isinstance(value, Sequence) else ""


def _mapped(value: Any, table: Mapping[int, Any]) -> Any:
    if isinstance(value, str):
        return value.translate(table)
    if isinstance(value, Mapping):
        return {key: _mapped(one, table) for key, one in value.items()}
    return [_mapped(one, table) for one in value] if isinstance(value, Sequence) else value


def _missing(characters: str, folder: Path) -> set[str]:
    """Return those characters that no font has, by having them set."""
    import typst

    left = {one for one in characters if ord(one) > 0xFF}
    missing: set[str] = set()
    (folder / "trial.typ").write_text(_TRIAL, "utf-8")
    while left - missing:
        (folder / "trial.txt").write_text(" ".join(sorted(left - missing)), "utf-8")
        try:
            typst.compile(folder / "trial.typ", root=folder, format="pdf", pdf_standards=[STANDARD])
        except typst.TypstError as error:
            found = _NO_FORM.search(error.message)
            if found is None:
                raise BrokenPromise(f"The report could not be set: {error.message}") from error
            told = left & set(_unescaped(found["text"]))
            missing |= told or left
        else:
            break
    return missing


def _unescaped(text: str) -> str:
    return re.sub(r"\\u\{([0-9a-f]+)\}", lambda code: chr(int(code[1], 16)), text)
