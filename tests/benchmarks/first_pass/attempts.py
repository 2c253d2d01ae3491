"""Attempts with their truth, what was heard in them, and the run of stretches that is right."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import numpy as np

from review.checklists import shipped
from review.domain.checklist import Checklist
from review.domain.checklist_file import read_checklist
from review.domain.spoken import Hit
from review.domain.transcript import Transcript
from review.pipeline.first_pass.evidence import Evidence, evidence
from review.pipeline.first_pass.order import Order, State, order_of
from review.pipeline.first_pass.pieces import Piece
from review.pipeline.spoken import announcements, hints
from review.signals.stretches import Stretch
from review.speech.twice import spot_twice
from tests.benchmarks.listened import keep, read, transcript
from tests.benchmarks.listened import kept as words_kept

_ENDINGS = (".m4a", ".mp4", ".wav", ".ogg", ".flac")


@dataclass(frozen=True)
class Attempt:
    """One attempt as it was heard in one room."""

    name: str
    truth: Mapping[str, Any]
    sheet: Checklist
    words: Transcript
    hits: tuple[Hit, ...]

    @property
    def room(self) -> str:
        """Where it was heard."""
        return str(self.truth.get("sound", {}).get("room", "clean"))

    @property
    def seed(self) -> int:
        """What the attempt was made from: the same in every room."""
        return int(self.truth["seed"])

    @property
    def done(self) -> list[Mapping[str, Any]]:
        """The steps that were done, in order."""
        return [step for step in self.truth["steps"] if not step["skipped"]]

    @property
    def skipped(self) -> set[tuple[str, str | None]]:
        """The steps and sides that were left out."""
        return {(step["step"], step["side"]) for step in self.truth["steps"] if step["skipped"]}

    @cached_property
    def evidence(self) -> Evidence:
        """What speaks for its steps."""
        return evidence(self.words, self.sheet, self.hits)


@cache
def sheet_of(checklist_id: str) -> Checklist:
    """Return a packaged checklist."""
    return read_checklist(shipped(checklist_id))


def attempts(folder: Path) -> Iterator[Attempt]:
    """Yield the attempts of a folder; what is heard in each is kept beside it, so that it is listened to only once."""
    for path in sorted(folder.glob("*.truth.json")):
        stem = path.name.removesuffix(".truth.json")
        truth = json.loads(path.read_text("utf-8"))
        if truth.get("schema") != "mock_attempt":
            continue
        sound = next((found for end in _ENDINGS if (found := path.with_name(stem + end)).exists()), None)
        kept = path.with_name(f"{stem}.heard.json")
        if sound is not None or kept.exists():
            yield _attempt(stem, truth, sound, kept)


def _attempt(name: str, truth: Mapping[str, Any], sound: Path | None, kept: Path) -> Attempt:
    sheet = sheet_of(truth["checklist"]["id"])
    if not kept.exists():
        assert sound is not None
        keep(transcript(read(sound), hints(sheet)), kept)
        print(f"listened to {name}", flush=True)
    heard = words_kept(kept)
    listened = {step.id: step.listened for step in sheet.steps() if step.listened}
    hits = spot_twice(heard.words, heard.again, listened, announcements(sheet))
    return Attempt(name, truth, sheet, heard.words, hits)


def right_run(attempt: Attempt) -> list[Stretch]:
    """Return the run of stretches that is right: each piece of talk belongs to the line that it shares most with.

    What is said aside, and what is said of a step after something aside, comes after the step.
    """
    labels: list[tuple[int, bool]] = []
    for piece in attempt.evidence.pieces:
        line = _line(piece, attempt.truth["utterances"])
        visit = max(line["step"], labels[-1][0] if labels else 0)
        aside = line["kind"] == "aside" or (bool(labels) and labels[-1] == (visit, True))
        labels.append((visit, aside))
    return _joined(_states(attempt, labels), order_of(attempt.sheet))


def _line(piece: Piece, lines: Sequence[Mapping[str, Any]]) -> Mapping[str, Any]:
    shared = [min(piece.offset_s, line["offset_s"]) - max(piece.onset_s, line["onset_s"]) for line in lines]
    return lines[int(np.argmax(shared))]


def _states(attempt: Attempt, labels: Sequence[tuple[int, bool]]) -> list[tuple[int, State]]:
    """Return the state of each piece with the number of its visit."""
    places = {step.id: place for place, step in enumerate(attempt.sheet.steps())}
    found: list[tuple[int, State]] = []
    last = State(-1)
    for visit, aside in labels:
        if not aside and (not found or found[-1][0] != visit):
            place, side = places[attempt.done[visit]["step"]], attempt.done[visit]["side"]
            last = State(place, side, side is not None and last.step == place and last.side != side)
        found.append((visit, _after(last) if aside else last))
    return found


def _after(state: State) -> State:
    return State(state.step, state.side, state.second, after=True)


def _joined(states: Sequence[tuple[int, State]], order: Order) -> list[Stretch]:
    """Return stretches of pieces that share visit and state; what comes after may go on across visits."""
    run: list[Stretch] = []
    before: tuple[int, State] | None = None
    for place, (visit, state) in enumerate(states):
        same = before is not None and before[1] == state and (before[0] == visit or state.after)
        if same:
            run[-1] = Stretch(run[-1].first, place + 1, run[-1].state)
        else:
            run.append(Stretch(place, place + 1, order.place(state)))
        before = (visit, state)
    return run
