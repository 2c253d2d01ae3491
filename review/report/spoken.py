"""What was heard of a step's finding, in words for the Review page."""

from __future__ import annotations

from typing import Any, Final

from review.domain.model import Interval, Side
from review.domain.spoken import Hit
from review.domain.wording import whole_seconds
from review.measures.spoken_finding import Spoken, listened_seconds, spoken_finding

_SIGNS: Final = {"said": "said", "other": "other value", "unclear": "unclear", "not heard": "not heard"}


def spoken_json(hits: tuple[Hit, ...], side: Side | None, mark: Interval, onsets_s: list[float]) -> dict[str, Any]:
    """Return the verdict on a marked step's finding with its words and the moment to go to, as plain JSON values."""
    found = spoken_finding(hits, side, listened_seconds(mark, onsets_s))
    hit = found.hit
    return {
        "verdict": found.verdict,
        "sign": _SIGNS[found.verdict],
        "sure": hit is not None and hit.sure,
        "words": spoken_words(found),
        "at": None if hit is None else hit.interval.onset_s,
    }


def spoken_words(found: Spoken) -> str:
    """Say what was heard.

    Examples
    --------
    >>> hit = Hit("romberg", "said", Interval(62.0, 63.5), 0.93, "romberg is negative")
    >>> spoken_words(Spoken("said", hit))
    'finding heard: “romberg is negative” at 1:02 (sure)'
    >>> spoken_words(Spoken("not heard"))
    'finding not heard'
    """
    hit = found.hit
    if hit is None:
        return "finding not heard"
    heard = f"\u201c{hit.words}\u201d at {whole_seconds(hit.interval.onset_s)}"
    sure = "sure" if hit.sure else "not sure"
    earlier = f"; {len(found.earlier)} more before" if found.earlier else ""
    if hit.heard == "said":
        return f"finding heard: {heard} ({sure}){earlier}"
    if hit.heard == "other":
        other = f", {hit.value}" if hit.value else ""
        return f"other value heard{other}: {heard} ({sure}){earlier}"
    return f"something like the finding heard, but which value is unclear: {heard}{earlier}"
