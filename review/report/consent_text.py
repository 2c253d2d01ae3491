"""The text that is read to an examined person, and the page to print it on."""

from __future__ import annotations

from html import escape
from importlib.resources import files
from typing import Final

from review.domain.sharing import Audience, Bystanders

_TEXT: Final = (
    (
        "What this is",
        "You let somebody practise a neurological check-off on you, and it is filmed. You need not. Saying no, or "
        "taking your consent back later, costs you nothing, and nobody asks you why.",
    ),
    (
        "What the film shows",
        "Your face, body and voice, the room, and what the check-off brings to light, which can say something about "
        "your health. A program on the learner's or the course's own computer marks points of body, face and hands in "
        "the film and measures movement. It does not find out who anybody is, makes no diagnosis, and sends nothing "
        "anywhere.",
    ),
    (
        "Who sees it",
        "The learner who films. Beyond that, only those whom you name below, only for learning this check-off, and "
        "only up to the day that you name.",
    ),
    (
        "Taking it back",
        "You can take your consent back at any time: tell the learner or the course. From that moment the film can no "
        "longer be seen here by anybody, and you can have it erased. Copies that somebody made before are outside of "
        "the program's reach: ask who has any.",
    ),
    (
        "If something turns up",
        "Estimates from a film are no findings. If somebody sees something you should know of, you are told in "
        "private, and can ask your own doctor.",
    ),
)
_BOX: Final = "\u25a1"


def paragraphs() -> list[dict[str, str]]:
    """Return the text: a heading and a paragraph each."""
    return [{"title": title, "text": text} for title, text in _TEXT]


def consent_page(title: str) -> str:
    """Return the text as one page to print, with boxes to tick and lines to sign.

    Parameters
    ----------
    title
        What the film is called, or an empty text for a film that is still to be made.
    """
    style = files("review.report").joinpath("paper.css").read_text("utf-8")
    told = "".join(f"<h2>{escape(one['title'])}</h2><p>{escape(one['text'])}</p>" for one in paragraphs())
    whom = "".join(f"<li>{_BOX} {escape(one.words)}</li>" for one in Audience)
    others = "".join(f"<li>{_BOX} {escape(one.words)}</li>" for one in Bystanders)
    film = f'<p class="rule">Film: {escape(title)}</p>' if title else ""
    sign = "<span>Examined person</span><span>Learner</span><span>Date</span>"
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<title>Consent to a film</title><style>{style}</style></head><body><main class="consent">'
        f"<header><h1>Consent to a film of a practised check-off</h1>{film}</header>{told}"
        f"<h2>The film may be shown to</h2><ul>{whom}<li>{_BOX} nobody else</li></ul>"
        '<p class="line"><span>Until (day)</span></p>'
        f"<h2>Others in the film</h2><ul>{others}</ul>"
        f'<p class="sign">{sign}</p>'
        '<footer><p class="version">This page stays with the course. Note initials or a code in Runthrough, never a '
        "name.</p></footer></main></body></html>"
    )
