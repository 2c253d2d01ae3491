"""Our own plain pages, made of forms: they work without any script."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from html import escape
from typing import Final
from urllib.parse import parse_qsl

from starlette.requests import Request
from starlette.responses import HTMLResponse

from review.domain.errors import EntryRefused
from review.report.attempt import NOTICE
from ui import assets

_MOST_BYTES: Final = 100_000
_HEADERS: Final = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
}


def page(title: str, parts: Iterable[str], status: int = 200, way_back: bool = False) -> HTMLResponse:
    """Return a page of parts that are HTML already.

    Parameters
    ----------
    title
        Its heading.
    parts
        What stands below it.
    status
        Status of the answer.
    way_back
        Whether a line above it leads to the recordings.
    """
    back = '<nav aria-label="Pages"><a href="/">Recordings</a> <a href="/account">Account</a></nav>' if way_back else ""
    text = f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark"><title>{escape(title)} - Runthrough</title>
<link rel="stylesheet" href="/assets/{assets.version()}/forms.css"></head>
<body><header><p class="name">Runthrough</p>{back}</header>
<main><h1>{escape(title)}</h1>
{"".join(parts)}
</main><footer><p>{escape(NOTICE)}</p></footer></body></html>"""
    return HTMLResponse(text, status, headers=_HEADERS)


def said(text: str) -> str:
    """Return a sentence as a paragraph."""
    return f"<p>{escape(text)}</p>"


def told(message: str, good: bool = False) -> str:
    """Return what came of the last deed, announced to screen readers; nothing for an empty message."""
    if not message:
        return ""
    return f'<p class="{"good" if good else "fault"}" role="{"status" if good else "alert"}">{escape(message)}</p>'


def form(action: str, fields: Iterable[str], submit: str, hidden: Mapping[str, str] | None = None) -> str:
    """Return a form with labelled fields, and one button that sends it."""
    kept = "".join(
        f'<input type="hidden" name="{escape(name)}" value="{escape(value)}">' for name, value in (hidden or {}).items()
    )
    inside = "".join(fields)
    return f'<form method="post" action="{escape(action)}">{kept}{inside}<button>{_words(submit)}</button></form>'


def _words(text: str) -> str:
    """Return words of which those in ``[brackets]`` are for screen readers only: a table shows them in its row."""
    return re.sub(r"\[(.*?)\]", r'<span class="unseen">\1</span>', escape(text))


def field(label: str, name: str, kind: str = "text", hint: str = "", **more: str) -> str:
    """Return a labelled field; `more` are further attributes, ``_`` in their names standing for a hyphen."""
    attributes = "".join(f' {key.replace("_", "-")}="{escape(value)}"' for key, value in more.items())
    about = f"<small>{escape(hint)}</small>" if hint else ""
    return f'<label>{_words(label)} {about}<input name="{escape(name)}" type="{kind}"{attributes}></label>'


def choice(label: str, name: str, options: Iterable[str], chosen: str = "") -> str:
    """Return a labelled choice."""
    inside = "".join(
        f"<option{' selected' if option == chosen else ''}>{escape(option)}</option>" for option in options
    )
    return f'<label>{_words(label)} <select name="{escape(name)}">{inside}</select></label>'


def table(heads: Iterable[str], rows: Iterable[Iterable[str]], caption: str) -> str:
    """Return a table; heads and caption are text, cells HTML already."""
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in heads)
    body = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table><caption>{escape(caption)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


async def fields_of(request: Request) -> dict[str, str]:
    """Return the fields of a form that was sent.

    Raises
    ------
    EntryRefused
        If it is too long, or not what a form sends.
    """
    body = bytearray()
    async for part in request.stream():
        body += part
        if len(body) > _MOST_BYTES:
            raise EntryRefused("More text came than this page takes. Nothing was changed; send less at a time.")
    try:
        return dict(parse_qsl(body.decode(), keep_blank_values=True, errors="strict", max_num_fields=50))
    except ValueError as error:
        raise EntryRefused("The fields of a form were expected. Nothing was changed; reload the page.") from error
