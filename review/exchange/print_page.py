"""The report of one attempt as a page for the browser's own printing: one file with its pictures and its style in it.

References
----------
WHATWG, HTML: the elements. W3C, WCAG 2.2: language and title of the page, words of pictures, headings, table heads.
"""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Mapping, Sequence
from html import escape
from importlib.resources import files
from typing import Any, Final

MEDIA_TYPE: Final = "text/html; charset=utf-8"

_TYPES: Final = {"jpg": "image/jpeg", "svg": "image/svg+xml"}

Told = Mapping[str, Any]


def print_page(contents: Told, pictures: Mapping[str, bytes]) -> str:
    """Return a report as an HTML page.

    Parameters
    ----------
    contents
        What `review.report.document` gives.
    pictures
        The pictures that it names.
    """
    style = (files("review.exchange") / "report.css").read_text("utf-8")
    draw = _drawer(pictures)
    body = [
        f"<h1>{escape(contents['title'])}</h1>",
        f'<p class="notice">{escape(contents["notice"])}</p>',
        _facts(contents["facts"]),
        f'<p class="code">{draw(contents["code"])}</p>' if contents["code"] else "",
        _paragraph("quiet", contents["left_out"]),
        "<h2>The sheet at a glance</h2>",
        _glance(contents),
        *(_sum(one) for one in contents["sums"]),
        _sign_off(contents["sign_off"]),
        *(_section(section, draw) for section in contents["sections"]),
        _remarks(contents["remarks"], draw),
        f'<footer><p class="quiet">{escape(contents["notice"])}</p></footer>',
    ]
    return (
        f'<!doctype html>\n<html lang="{escape(contents["language"])}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(contents['title'])}</title>\n<style>\n{style}</style>\n</head>\n"
        f"<body>\n<main>\n{_lines(body)}</main>\n</body>\n</html>\n"
    )


Draw = Callable[[Told], str]


def _drawer(pictures: Mapping[str, bytes]) -> Draw:
    def draw(frame: Told) -> str:
        kind = _TYPES[frame["file"].rpartition(".")[2]]
        data = base64.b64encode(pictures[frame["file"]]).decode()
        return f'<img src="data:{kind};base64,{data}" alt="{escape(frame["alt"])}">'

    return draw


def _lines(parts: Iterable[str]) -> str:
    return "".join(f"{part}\n" for part in parts if part)


def _paragraph(look: str, text: str) -> str:
    return f'<p class="{look}">{escape(text)}</p>' if text else ""


def _link(address: str, text: str) -> str:
    return f'<a href="{escape(address)}">{escape(text)}</a>'


def _facts(facts: Sequence[Told]) -> str:
    told = (
        (fact["word"], _link(fact["text"], fact["text"]) if fact["text"].startswith("http") else escape(fact["text"]))
        for fact in facts
    )
    return "<dl>\n" + _lines(f"<div><dt>{escape(word)}</dt><dd>{text}</dd></div>" for word, text in told) + "</dl>"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table; the cells of `rows` are HTML, and the first of each row names it."""
    heads = "".join(f'<th scope="col">{escape(word)}</th>' for word in head)
    lines = (f'<tr><th scope="row">{row[0]}</th>{"".join(f"<td>{cell}</td>" for cell in row[1:])}</tr>' for row in rows)
    return f"<table>\n<thead><tr>{heads}</tr></thead>\n<tbody>\n{_lines(lines)}</tbody>\n</table>"


def _glance(contents: Told) -> str:
    raters = contents["raters"]
    nobody = "" if raters else _paragraph("quiet", "No grade that may be printed was given yet.") + "\n"
    rows = (
        [
            escape(row["title"] + (" (critical)" if row["critical"] else "")),
            escape(row["seconds"] or "not marked"),
            *(escape(grade) for grade in row["grades"]),
        ]
        for row in contents["glance"]
    )
    return nobody + _table(["Step", "Seconds", *raters], rows)


def _sum(told: Told) -> str:
    reasons = "".join(f"<li>{escape(reason)}</li>" for reason in told["reasons"])
    listed = f"\n<ul>{reasons}</ul>" if reasons else ""
    return f"<p><strong>{escape(told['who'])}:</strong> {escape(told['words'])}</p>{listed}"


def _sign_off(told: Told | None) -> str:
    if told is None:
        return ""
    changes = "".join(f"<li>{escape(one)}</li>" for one in told["changes"])
    parts = [
        "<h2>Sign-off</h2>",
        f"<p><strong>{escape(told['warning'])}</strong></p>" if told["warning"] else "",
        f"<ul>{changes}</ul>" if changes else "",
        _version(told["last"]),
        *(f"<h3>The version before</h3>\n{_version(one)}" for one in told["before"]),
    ]
    return f'<section class="sign-off">\n{_lines(parts)}</section>'


def _version(one: Told) -> str:
    return _lines(
        [
            f"<p><strong>{escape(one['words'])}</strong></p>",
            f'<p class="conditions">{escape(one["conditions"])}</p>' if one["conditions"] else "",
            f"<p>{escape(one['sum'])}</p>" if one["sum"] else "",
            _paragraph("quiet", one["who"]),
            _paragraph("quiet", one["digest"]),
        ]
    )


def _section(section: Told, draw: Draw) -> str:
    return _lines([f"<h2>{escape(section['title'])}</h2>", *(_step(step, draw) for step in section["steps"])])


def _step(step: Told, draw: Draw) -> str:
    title = step["title"] + (" (critical)" if step["critical"] else "")
    frames = (f"<figure>{draw(one)}<figcaption>{escape(one['time'])}</figcaption></figure>" for one in step["frames"])
    covered = "What the film and others say of this step is covered until it is graded." if step["covered"] else ""
    head = [
        f"<h3>{escape(title)}</h3>",
        f"<p>{_what(step)}</p>",
        f"<p><strong>Caution:</strong> {escape(step['caution'])}</p>",
        *(f"<p>{escape(note)}.</p>" for note in step["notes"]),
        f'<div class="frames">\n{_lines(frames)}</div>' if step["frames"] else "",
        _paragraph("quiet", covered),
    ]
    return (
        f"<section>\n{_lines([*head, _values(step), _grades(step), _entries(step), _comments(step, draw)])}</section>"
    )


def _what(step: Told) -> str:
    seconds = step["seconds"]
    when = (
        f"Seconds {_link(seconds['link'], seconds['words'])}, marked by {escape(seconds['by'])}."
        if seconds["words"]
        else "Not marked."
    )
    seen = f" To be seen: {escape(step['expected'])}" if step["expected"] else ""
    return f"{when} Points: {escape(step['points'])}.{seen}"


def _values(step: Told) -> str:
    if not step["values"]:
        return ""
    rows = (
        [escape(one["title"]), escape(one["words"]), escape(one["verdict"] or "nothing expected")]
        for one in step["values"]
    )
    return "<h4>Values with 95 % intervals</h4>\n" + _table(
        ["Measure", "What the film says", "Against what is expected"], rows
    )


def _grades(step: Told) -> str:
    if not step["grades"]:
        return ""
    rows = (
        [escape(one["who"]), escape(one["of"]), escape(one["word"]), escape(one["sure"] or "not said")]
        for one in step["grades"]
    )
    return "<h4>Grades</h4>\n" + _table(["Who", "Of", "Grade", "How sure, and when"], rows)


def _entries(step: Told) -> str:
    if not step["entries"]:
        return ""
    told = (f"<li>{escape(one['who'])}: {escape(one['words'])}</li>" for one in step["entries"])
    return f"<h4>Results entered</h4>\n<ul>\n{_lines(told)}</ul>"


def _comments(step: Told, draw: Draw) -> str:
    return _lines(["<h4>Comments</h4>", *(_comment(one, draw) for one in step["comments"])]) if step["comments"] else ""


def _remarks(comments: Sequence[Told], draw: Draw) -> str:
    return _lines(["<h2>Remarks about no step</h2>", *(_comment(one, draw) for one in comments)]) if comments else ""


def _comment(comment: Told, draw: Draw) -> str:
    settled = ", settled" if comment["settled"] else ""
    when = _link(comment["link"], comment["seconds"])
    answers = (
        f"<p><strong>{escape(one['who'])}</strong> answers: {escape(one['text'])}</p>" for one in comment["answers"]
    )
    parts = [
        f"<p><strong>{escape(comment['who'])}</strong>, at {when}{settled}</p>",
        f"<p>{escape(comment['text'])}</p>",
        draw(comment["frame"]) if comment["frame"] else "",
        *answers,
    ]
    return f'<div class="comment">\n{_lines(parts)}</div>'
