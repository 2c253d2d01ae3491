"""What speaks for a proposal, in words for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from review.domain.checklist import Step
from review.domain.model import Interval
from review.domain.spoken import Hit
from review.pipeline.first_pass.evidence import Evidence
from review.pipeline.first_pass.order import State
from review.pipeline.first_pass.pieces import Piece
from review.pipeline.first_pass.seen import wanted_by
from review.pipeline.first_pass.vocabulary import Known, stems
from review.signals.stretches import Stretch

_TELLING: Final = 0.3
_MOST_WORDS: Final = 4


def reasons(
    given: Evidence, stretch: Stretch, state: State, step: Step, known: Known, before: str | None
) -> tuple[str, ...]:
    """Say what speaks for a step in a stretch, strongest first.

    Parameters
    ----------
    before
        Title of the step that comes right before it on the sheet and in the film, None where another does.
    """
    said = given.pieces[stretch.first : stretch.stop]
    inside = Interval(said[0].onset_s, said[-1].offset_s)
    found = [
        *_findings([hit for hit in given.found if hit.step_id == step.id and _within(hit, inside)]),
        *_names([hit for hit in given.named if hit.step_id == step.id and _within(hit, inside)]),
        *_words(said, known),
        *_seen(given, inside, step),
        *_side(said, state),
    ]
    if before is not None:
        found.append(f"follows “{before}”, as on the sheet")
    return tuple(dict.fromkeys(found))


def moment(time_s: float) -> str:
    """Write a time to the second.

    Examples
    --------
    >>> moment(134.6)
    '2:14'
    """
    return f"{int(time_s) // 60}:{int(time_s) % 60:02d}"


def _within(hit: Hit, inside: Interval) -> bool:
    middle = (hit.interval.onset_s + hit.interval.offset_s) / 2
    return inside.onset_s <= middle <= inside.offset_s


def _findings(hits: Sequence[Hit]) -> Iterator[str]:
    for hit in sorted(hits, key=lambda one: -one.confidence)[:1]:
        kind = {"said": "", "other": " (another value than expected)", "unclear": " (value unclear)"}[hit.heard]
        yield f"heard “{hit.words}” at {moment(hit.interval.onset_s)}{kind}"


def _names(hits: Sequence[Hit]) -> Iterator[str]:
    for hit in sorted(hits, key=lambda one: -len(one.words))[:1]:
        yield f"named at {moment(hit.interval.onset_s)}: “{hit.words}”"


def _words(said: Sequence[Piece], known: Known) -> Iterator[str]:
    found: dict[str, float] = {}
    for piece in said:
        for token in piece.tokens:
            weight = max(map(known.weight, stems([token.text])), default=0.0)
            if weight >= _TELLING:
                found[token.text] = weight
    if found:
        best = sorted(found, key=lambda word: -found[word])[:_MOST_WORDS]
        yield "words of the step: " + ", ".join(f"“{word}”" for word in best)


def _seen(given: Evidence, inside: Interval, step: Step) -> Iterator[str]:
    """Say when what belongs to the step was seen; of several stretches from the first to the last."""
    for one in given.seen:
        mine = [when for when, _ in one.intervals if inside.onset_s < when.offset_s and when.onset_s < inside.offset_s]
        if wanted_by(one.cue, step) and mine:
            onset, offset = moment(mine[0].onset_s), moment(max(when.offset_s for when in mine))
            yield f"{one.cue.words} {onset}" + (f"-{offset}" if offset != onset else "")


def _side(said: Sequence[Piece], state: State) -> Iterator[str]:
    if state.side is None:
        return
    for piece in said:
        for token in piece.tokens:
            if token.text == state.side:
                yield f"“{state.side}” said at {moment(token.onset_s)}"
                return
