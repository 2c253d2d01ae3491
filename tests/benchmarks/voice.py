"""How many findings that were said are found, and how many that were not: clean, with noise, with echo.

    python -m tests.benchmarks.voice FOLDER [--json] [--seconds 600]

The folder holds sound or films, each with what is said in it beside it:

- ``NAME.truth.json`` of a whole made attempt (see sample_clips/README.md), or
- ``NAME.phrases.json`` of talk in which phrases were said, as in a recording of people who may be recorded:
  ``[{"text": "...", "onset_s": 1.2, "offset_s": 2.9}]``; what is listened for are the phrases of all such files.

An attempt that was made in several rooms counts in each as it was made; to any other clean talk noise or echo is added
here.
What is heard in an attempt is kept beside it (``NAME.heard.json``), and the first pass proposes its steps from that.

A finding is found when it is heard where it was said, with its value. Recall is that of findings in the sheet's own
wordings; findings in other words are counted beside it (``own_words``). Precision is the share of what was heard that
was said there, be it word for word in an instruction. Critically wrong is a value, a side or a denial that was heard
otherwise than it was said.
"""

from __future__ import annotations

import argparse
import json
import re
import resource
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from scipy import signal

from review.checklists import shipped
from review.domain.checklist_file import read_checklist
from review.domain.phrases import Run, Slot
from review.domain.spoken import LEAST, SURE, Hit
from review.pipeline.spoken import announcements, hints
from review.speech.exact import NUMBERS
from review.speech.recogniser import RATE_HZ
from review.speech.twice import spot_twice
from tests.benchmarks.first_pass.__main__ import first_pass_figures
from tests.benchmarks.listened import Sound, keep, read, transcript

NEAR_S: Final = 0.7
_ENDINGS: Final = (".m4a", ".wav", ".mp4", ".ogg", ".flac")


@dataclass(frozen=True)
class Said:
    """A finding that was said: of which step, when, whether as expected, with which value and side."""

    step_id: str
    onset_s: float
    offset_s: float
    expected: bool = True
    value: str = ""
    side: str | None = None
    listed: bool = True


@dataclass(frozen=True)
class Talk:
    """A stretch of talk, what is listened for in it, and what was said."""

    name: str
    sound: Path
    said: tuple[Said, ...]
    besides: tuple[Said, ...]
    listened: Mapping[str, Sequence[Run]]
    announced: tuple[str, ...] = ()
    hints: str = ""
    attempt: str = ""
    room: str = "clean"

    def in_room(self, room: str, all_talks: Sequence[Talk]) -> Sound | None:
        """Return its sound in a room, made there or altered; None if it was made for another room."""
        made = {one.room for one in all_talks if self.attempt and one.attempt == self.attempt}
        if self.room == room:
            return read(self.sound)
        return None if self.room != "clean" or room in made else CONDITIONS[room](read(self.sound))


@dataclass
class Count:
    """What came of one condition."""

    said: int = 0
    found: int = 0
    own_said: int = 0
    own_found: int = 0
    heard: int = 0
    right: int = 0
    critical: list[str] = field(default_factory=list)

    def figures(self) -> dict[str, Any]:
        """Return recall, precision and how often something was critically wrong."""
        recall = self.found / self.said if self.said else None
        precision = self.right / self.heard if self.heard else None
        shares = {name: None if share is None else round(share, 3) for name, share in self._named(recall, precision)}
        counts = {"said": self.said, "heard": self.heard, "own_words": f"{self.own_found} of {self.own_said}"}
        return {**shares, "critical_wrong": len(self.critical), **counts}

    def _named(self, recall: float | None, precision: float | None) -> Iterator[tuple[str, float | None]]:
        yield from (("recall", recall), ("precision", precision))


def talks(folder: Path) -> Iterator[Talk]:
    """Yield the talks of a folder."""
    for path in sorted(folder.glob("*.truth.json")):
        truth = json.loads(path.read_text("utf-8"))
        sheet = read_checklist(shipped(truth["checklist"]["id"]))
        listened = {step.id: step.listened for step in sheet.steps() if step.listened}
        done = [step for step in truth["steps"] if step["step"] in listened]
        said = tuple(_of_step(step, listened) for step in done if step.get("finding", {}).get("status") in _STATUS)
        sound, room = _sound_of(path, ".truth.json"), truth.get("sound", {}).get("room", "clean")
        attempt = f"{sheet.id} {truth['seed']} {truth['seconds']}"
        yield Talk(
            path.name,
            sound,
            said,
            tuple(_verbatim(truth["words"], listened)),
            listened,
            announcements(sheet),
            hints(sheet),
            attempt,
            room,
        )
    spoken = {path: json.loads(path.read_text("utf-8")) for path in sorted(folder.glob("*.phrases.json"))}
    phrases = {one["text"]: [tuple(one["text"].split())] for found in spoken.values() for one in found}
    for path, found in spoken.items():
        said = tuple(Said(one["text"], one["onset_s"], one["offset_s"]) for one in found)
        yield Talk(path.name, _sound_of(path, ".phrases.json"), said, (), phrases, hints=". ".join(phrases))


_STATUS: Final = {"said", "other"}


def _of_step(step: Mapping[str, Any], listened: Mapping[str, Sequence[Run]]) -> Said:
    finding = step["finding"]
    text, runs = finding["text"].lower().replace(",", ""), listened[step["step"]]
    stated = any(_places(run, text) for run in runs if not any(isinstance(part, Slot) for part in run))
    return Said(
        step["step"],
        finding["onset_s"],
        finding["offset_s"],
        finding["status"] == "said" or stated,
        _number(finding.get("value") or ""),
        finding.get("side_said"),
        listed=any(_places(run, text) for run in runs),
    )


def _number(value: str) -> str:
    """Return the number that tells: 2 of "2+", 4 of "4/5", 40 of the acuity "20/40"."""
    parts = value.split("/")
    return "".join(filter(str.isdigit, parts[-1] if parts[0] == "20" else parts[0]))


def _verbatim(words: Sequence[Mapping[str, Any]], listened: Mapping[str, Sequence[Run]]) -> Iterator[Said]:
    """Yield what is said word for word as a sheet listens for it, wherever."""
    text = " ".join(word["word"] for word in words)
    for step_id, runs in listened.items():
        for first, last in (place for run in runs for place in _places(run, text)):
            yield Said(step_id, words[first]["onset_s"], words[last]["offset_s"])


_NUMBER: Final = f"(?:{'|'.join(sorted(NUMBERS, key=len, reverse=True))})"


def _places(run: Run, text: str) -> list[tuple[int, int]]:
    """Return first and last word of each place where a run is said in a text, with any value in its slots."""
    parts = [
        re.escape(part.lower())
        if isinstance(part, str)
        else "(?:left|right)"
        if part.kind == "side"
        else f"{_NUMBER}(?: {_NUMBER})?"
        for part in run
    ]
    found = re.finditer(rf"(?<!\S){' '.join(parts)}(?!\S)", text)
    return [(text.count(" ", 0, one.start()), text.count(" ", 0, one.end())) for one in found]


def _sound_of(path: Path, ending: str) -> Path:
    stem = path.name.removesuffix(ending)
    return next(found for suffix in _ENDINGS if (found := path.with_name(stem + suffix)).exists())


def noisy(sound: Sound, snr_db: float) -> Sound:
    """Return sound with pink noise so far below its speech."""
    spectrum = np.fft.rfft(np.random.default_rng(11).normal(size=len(sound)))
    pink = np.fft.irfft(spectrum / np.sqrt(np.maximum(1, np.arange(len(spectrum)))), len(sound))
    return _scaled(sound + pink * _speech_rms(sound) / pink.std() * 10 ** (-snr_db / 20))


def echoing(sound: Sound) -> Sound:
    """Return sound in a room with an echo of 0.6 s (RT60) as strong as the voice itself, and noise at 20 dB."""
    clock = np.arange(round(0.7 * RATE_HZ)) / RATE_HZ
    tail = np.random.default_rng(3).normal(size=len(clock)) * 10 ** (-3 * clock / 0.6)
    tail[clock < 0.004] = 0
    tail /= np.sqrt((tail**2).sum())
    tail[0] = 1.0
    return noisy(signal.fftconvolve(sound, tail)[: len(sound)].astype(np.float32), 20.0)


def _speech_rms(sound: Sound) -> float:
    frames = sound[: len(sound) // 400 * 400].reshape(-1, 400)
    power = (frames**2).mean(axis=1)
    return float(np.sqrt(power[power >= np.percentile(power, 60)].mean()))


def _scaled(sound: npt.NDArray[Any]) -> Sound:
    return (0.9 * sound / max(0.9, float(np.abs(sound).max()))).astype(np.float32)


CONDITIONS: Final[Mapping[str, Callable[[Sound], Sound]]] = {
    "clean": lambda sound: sound,
    "db20": lambda sound: noisy(sound, 20.0),
    "db10": lambda sound: noisy(sound, 10.0),
    "echo": echoing,
}


def score(talk: Talk, hits: Sequence[Hit], count: Count) -> None:
    """Count what was found in one talk."""
    clear = [hit for hit in hits if hit.heard != "unclear"]
    for said in talk.said:
        mine = [hit for hit in clear if hit.step_id == said.step_id and _near(hit, said)]
        found = any(_agrees(hit, said) for hit in mine)
        count.said, count.found = count.said + said.listed, count.found + (said.listed and found)
        count.own_said, count.own_found = (
            count.own_said + (not said.listed),
            count.own_found + (not said.listed and found),
        )
        if mine and not found:
            count.critical.append(
                f"{talk.name} {said.step_id} at {said.onset_s:.1f} s: {mine[0].heard} {mine[0].words!r}"
            )
    for group in _groups(clear):
        count.heard += 1
        count.right += any(
            hit.step_id == said.step_id and _near(hit, said) for hit in group for said in (*talk.said, *talk.besides)
        )


def _near(hit: Hit, said: Said) -> bool:
    return hit.interval.onset_s < said.offset_s + NEAR_S and said.onset_s - NEAR_S < hit.interval.offset_s


def _agrees(hit: Hit, said: Said) -> bool:
    if said.side is not None and hit.side not in (None, said.side):
        return False
    if said.value and hit.value.isdigit():
        return hit.value == said.value
    return (hit.heard == "said") == said.expected


def _groups(hits: Sequence[Hit]) -> Iterator[list[Hit]]:
    """Yield hits that share their seconds: one phrase may belong to several steps."""
    group: list[Hit] = []
    for hit in sorted(hits, key=lambda one: one.interval):
        if group and hit.interval.onset_s >= max(one.interval.offset_s for one in group):
            yield group
            group = []
        group.append(hit)
    if group:
        yield group


@dataclass
class Spent:
    """Seconds of talk that were listened to, and seconds of a core that this took."""

    heard_s: float = 0.0
    cpu_s: float = 0.0


def run(folder: Path, most_s: float) -> dict[str, Any]:
    """Run all conditions over a folder, and the first pass over its attempts."""
    found, spent = list(talks(folder)), Spent()
    result: dict[str, Any] = {room: _condition(room, found, most_s, spent) for room in CONDITIONS}
    result["critical_wrong"] = sum(result[room]["critical_wrong"] for room in CONDITIONS)
    result["cpu_seconds_a_second"] = round(spent.cpu_s / max(spent.heard_s, 1e-9), 4)
    result["minutes"] = round(spent.heard_s / 60, 1)
    began = time.process_time()
    proposed = first_pass_figures(folder) if any(talk.attempt for talk in found) else {}
    none = {f"first_pass_{room}": None for room in CONDITIONS}
    result |= none | proposed | {"first_pass_cpu_seconds": round(time.process_time() - began, 1)}
    result["peak_mb"] = round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000)
    return result


def _condition(room: str, found: Sequence[Talk], most_s: float, spent: Spent) -> dict[str, Any]:
    counts = {level: Count() for level in (LEAST, SURE)}
    seconds = 0.0
    for talk in found:
        sound = talk.in_room(room, found)
        if sound is None:
            continue
        if seconds and seconds + len(sound) / RATE_HZ > most_s:
            break
        seconds += len(sound) / RATE_HZ
        began = time.process_time()
        heard = transcript(sound, talk.hints)
        hits = spot_twice(heard.words, heard.again, talk.listened, talk.announced)
        spent.cpu_s += time.process_time() - began
        if talk.attempt and talk.room == room:
            keep(heard, talk.sound.with_suffix(".heard.json"))
        for level, count in counts.items():
            score(talk, [hit for hit in hits if hit.confidence >= level], count)
    spent.heard_s += seconds
    return {**counts[LEAST].figures(), "sure": counts[SURE].figures(), "wrong": counts[LEAST].critical}


def main() -> None:
    """Print the figures as a table, or as JSON."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--seconds", type=float, default=1e9, help="most seconds of talk in each condition")
    args = parser.parse_args()
    result = run(args.folder, args.seconds)
    if args.json:
        print(json.dumps(result))
        return
    for name in CONDITIONS:
        for level, figures in ((LEAST, result[name]), (SURE, result[name]["sure"])):
            words = "  ".join(
                f"{key} {figures[key]}" for key in ("recall", "precision", "critical_wrong", "said", "heard")
            )
            print(f"{name:6} from {level:.2f}  {words}")
        for wrong in result[name]["wrong"]:
            print(f"       wrong: {wrong}")
    print("  ".join(f"{key} {value}" for key, value in result.items() if key.startswith("first_pass_")))
    print(f"{result['minutes']} minutes of talk, {result['cpu_seconds_a_second']} s of a core for each second")
    print(f"at most {result['peak_mb']} MB of memory")


if __name__ == "__main__":
    main()
