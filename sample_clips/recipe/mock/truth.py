"""What is written down beside an attempt: every step, word and action with its seconds."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from .mix import Mixed, Room
from .plan import Plan
from .sheet import Sheet
from .timeline import Placed, Timeline, Utterance

SCHEMA: Final = "mock_attempt"
SCHEMA_VERSION: Final = 1

LICENCE: Final = "as the rest of this project; the people and voices are synthetic"

Record = dict[str, Any]


@dataclass(frozen=True)
class Cast:
    """Who speaks with which voice.

    Parameters
    ----------
    voices
        Speaker -> id of the voice.
    precision_s
        How exact the times of words are, for the less exact of the voices.
    people
        Speaker -> person of the studio's cast; empty for an attempt without pictures.
    """

    voices: Mapping[str, str]
    precision_s: float
    people: Mapping[str, str]


def record(sheet: Sheet, seed: int, plan: Plan, timeline: Timeline, cast: Cast) -> Record:
    """Return the truth of an attempt, as sample_clips/README.md describes it, but for the room it is heard in."""
    return {
        "schema": SCHEMA,
        "schema_version": SCHEMA_VERSION,
        "licence": LICENCE,
        "checklist": {"id": sheet.id, "version": sheet.version},
        "seed": seed,
        "seconds": _s(timeline.seconds),
        "speakers": {name: {"voice": voice, "person": cast.people.get(name)} for name, voice in cast.voices.items()},
        "word_precision_s": cast.precision_s,
        "steps": [*_done(timeline), *_skipped(plan)],
        "utterances": [_utterance(utterance) for utterance in timeline.utterances],
        "words": [
            {"word": word.word, "onset_s": _s(word.onset_s), "offset_s": _s(word.offset_s), "utterance": number}
            for number, utterance in enumerate(timeline.utterances)
            for word in utterance.words
        ],
        "actions": [
            {
                "kind": action.kind,
                "step": action.visit,
                "side": action.side,
                "onset_s": _s(action.onset_s),
                "offset_s": _s(action.offset_s),
                "taps_s": [_s(tap) for tap in action.taps_s],
            }
            for action in timeline.actions
        ],
    }


def heard_in(name: str, place: Room, sound: Mixed) -> Record:
    """Return what the truth says of the room: its name, noise, echo, and the levels as they were mixed."""
    return {
        "room": name,
        "noise": place.noise,
        "snr_db": place.snr_db,
        "rt60_s": place.rt60_s,
        "direct_db": place.direct_db if place.rt60_s else None,
        "speech_db": round(sound.speech_db, 2),
        "noise_db": round(sound.noise_db, 2),
    }


def write(path: Path, truth: Record) -> None:
    """Write a truth as JSON without spaces, in a line of its own for every entry of its lists."""
    parts = [f"{json.dumps(name)}:{_laid_out(value)}" for name, value in truth.items()]
    path.write_text("{\n" + ",\n".join(parts) + "\n}\n", encoding="utf-8")


def _laid_out(value: Any) -> str:
    if not isinstance(value, list) or not value:
        return json.dumps(value, ensure_ascii=False)
    return "[\n" + ",\n".join(json.dumps(entry, separators=(",", ":"), ensure_ascii=False) for entry in value) + "\n]"


def _done(timeline: Timeline) -> list[Record]:
    earlier: dict[tuple[str, str | None], int] = {}
    result = []
    for number, placed in enumerate(timeline.visits):
        visit = placed.scene.visit
        key = (visit.step.id, visit.side)
        earlier[key] = earlier.get(key, 0) + 1
        lines = {u.line.kind for u in timeline.utterances if u.visit == number}
        result.append(
            {
                "step": visit.step.id,
                "side": visit.side,
                "skipped": False,
                "visit": earlier[key],
                "onset_s": _s(placed.onset_s),
                "offset_s": _s(placed.offset_s),
                "announced": "announcement" in lines,
                "instructed": "instruction" in lines,
                "finding": _finding(timeline, number, placed),
            }
        )
    return result


def _finding(timeline: Timeline, number: int, placed: Placed) -> Record:
    finding = asdict(placed.scene.finding)
    if finding["status"] == "not_said":
        return {"status": "not_said"}
    (heard,) = [u for u in timeline.utterances if u.visit == number and u.line.kind == "finding"]
    return finding | {"onset_s": _s(heard.onset_s), "offset_s": _s(heard.offset_s)}


def _skipped(plan: Plan) -> list[Record]:
    return [
        {"step": step.id, "side": side, "skipped": True, "visit": 0, "onset_s": None, "offset_s": None}
        for step, side in plan.skipped
    ]


def _utterance(utterance: Utterance) -> Record:
    return {
        "speaker": utterance.line.speaker,
        "kind": utterance.line.kind,
        "step": utterance.visit,
        "text": utterance.line.text,
        "onset_s": _s(utterance.onset_s),
        "offset_s": _s(utterance.offset_s),
    }


def _s(time_s: float) -> float:
    return round(time_s, 3)
