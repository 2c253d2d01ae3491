"""What a text may hold so that every file and every kind of database keeps it."""

from __future__ import annotations

from review.domain.errors import EntryRefused


def check_text(text: str) -> str:
    """Return a text after seeing that it can be kept.

    Raises
    ------
    EntryRefused
        If it holds half a character, as a cut emoji leaves one, or the character NUL, which no text has.
    """
    if "\0" in text:
        raise _refused("the character NUL", text.index("\0"))
    try:
        text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise _refused("half a character", error.start) from error
    return text


def _refused(what: str, place: int) -> EntryRefused:
    return EntryRefused(
        f"The text holds {what} at place {place + 1}; expected whole ones that can be read. Nothing was changed; "
        "remove it and try again."
    )
