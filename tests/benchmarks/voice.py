"""How many findings that were said are found, and how many that were not: clean, with noise, with echo.

    python -m tests.benchmarks.voice FOLDER [--json] [--seconds 600]

The folder holds sound or films, each with what is said in it beside it:

- ``NAME.truth.json`` of a whole made attempt (see sample_clips/README.md), or
- ``NAME.phrases.json`` of talk in which phrases were said, as in a recording of people who may be recorded:
  ``[{"text": "...", "onset_s": 1.2, "offset_s": 2.9}]``; what is listened for are the phrases of all such files.

A finding is found when it is heard where it was said, with its value. Precision is the share of what was heard that was
said there. Critically wrong is a value, a side or a denial that was heard otherwise than it was said.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import av
import numpy as np
import numpy.typing as npt
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler
from scipy import signal

from review.checklists import shipped
from review.domain.checklist_file import read_checklist
from review.domain.phrases import Run
from review.domain.spoken import LEAST, SURE, Hit
from review.domain.transcript import Transcript, Word
from review.pipeline.hearing import pauses
from review.pipeline.spoken import announcements
from review.speech.phrases import spot
from review.speech.recogniser import RATE_HZ, recognise

Sound = npt.NDArray[np.float32]

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


@dataclass(frozen=True)
class Talk:
    """A stretch of talk, what is listened for in it, and what was said."""

    name: str
    sound: Path
    said: tuple[Said, ...]
    listened: Mapping[str, Sequence[Run]]
    announced: tuple[str, ...] = ()


@dataclass
class Count:
    """What came of one condition."""

    said: int = 0
    found: int = 0
    heard: int = 0
    right: int = 0
    critical: list[str] = field(default_factory=list)

    def figures(self) -> dict[str, Any]:
        """Return recall, precision and how often something was critically wrong."""
        recall = self.found / self.said if self.said else None
        precision = self.right / self.heard if self.heard else None
        shares = {name: None if share is None else round(share, 3) for name, share in self._named(recall, precision)}
        return {**shares, "critical_wrong": len(self.critical), "said": self.said, "heard": self.heard}

    def _named(self, recall: float | None, precision: float | None) -> Iterator[tuple[str, float | None]]:
        yield from (("recall", recall), ("precision", precision))


def talks(folder: Path) -> Iterator[Talk]:
    """Yield the talks of a folder."""
    for path in sorted(folder.glob("*.truth.json")):
        truth = json.loads(path.read_text("utf-8"))
        sheet = read_checklist(shipped(truth["checklist"]["id"]))
        listened = {step.id: step.listened for step in sheet.steps() if step.listened}
        said = tuple(_of_step(step) for step in truth["steps"] if step.get("finding", {}).get("status") in _STATUS)
        yield Talk(path.name, _sound_of(path, ".truth.json"), said, listened, announcements(sheet))
    spoken = {path: json.loads(path.read_text("utf-8")) for path in sorted(folder.glob("*.phrases.json"))}
    phrases = {one["text"]: [tuple(one["text"].split())] for found in spoken.values() for one in found}
    for path, found in spoken.items():
        said = tuple(Said(one["text"], one["onset_s"], one["offset_s"]) for one in found)
        yield Talk(path.name, _sound_of(path, ".phrases.json"), said, phrases)


_STATUS: Final = {"said", "other"}


def _of_step(step: Mapping[str, Any]) -> Said:
    finding = step["finding"]
    digits = "".join(filter(str.isdigit, (finding.get("value") or "").split("/")[0]))
    times = (finding["onset_s"], finding["offset_s"])
    return Said(step["step"], *times, finding["status"] == "said", digits, finding.get("side_said"))


def _sound_of(path: Path, ending: str) -> Path:
    stem = path.name.removesuffix(ending)
    return next(found for suffix in _ENDINGS if (found := path.with_name(stem + suffix)).exists())


def read(path: Path) -> Sound:
    """Return the sound of a file as it is listened to."""
    resampler = AudioResampler(format="fltp", layout="mono", rate=RATE_HZ)
    with av.open(str(path)) as container:
        frames = [frame for frame in container.decode(audio=0) if isinstance(frame, AudioFrame)]
    parts = [out.to_ndarray()[0] for frame in [*frames, None] for out in resampler.resample(frame) if out is not None]
    return np.concatenate(parts)


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


def transcript(sound: Sound) -> Transcript:
    """Return the words of a whole talk, cut at pauses as a film is."""
    hop = RATE_HZ // 30
    level = 10 * np.log10((sound[: len(sound) // hop * hop].reshape(-1, hop) ** 2).mean(axis=1) + 1e-10)
    words: list[Word] = []
    for first, stop in pauses(np.arange(len(level)) * hop / RATE_HZ, level - np.percentile(level, 10)):
        from_s = first * hop / RATE_HZ
        words += [
            Word(word.text, from_s + word.onset_s, from_s + word.offset_s, word.confidence)
            for word in recognise(sound[first * hop : stop * hop])
        ]
    return tuple(words)


def score(talk: Talk, hits: Sequence[Hit], count: Count) -> None:
    """Count what was found in one talk."""
    clear = [hit for hit in hits if hit.heard != "unclear"]
    count.said += len(talk.said)
    for said in talk.said:
        mine = [hit for hit in clear if hit.step_id == said.step_id and _near(hit, said)]
        count.found += any(_agrees(hit, said) for hit in mine)
        if mine and not any(_agrees(hit, said) for hit in mine):
            count.critical.append(
                f"{talk.name} {said.step_id} at {said.onset_s:.1f} s: {mine[0].heard} {mine[0].words!r}"
            )
    for group in _groups(clear):
        count.heard += 1
        count.right += any(hit.step_id == said.step_id and _near(hit, said) for hit in group for said in talk.said)


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


def run(folder: Path, most_s: float) -> dict[str, Any]:
    """Run all conditions over a folder."""
    found = list(talks(folder))
    result: dict[str, Any] = {}
    heard_s = spent_s = 0.0
    for name, altered in CONDITIONS.items():
        counts = {level: Count() for level in (LEAST, SURE)}
        seconds = 0.0
        for talk in found:
            sound = altered(read(talk.sound))
            if seconds and seconds + len(sound) / RATE_HZ > most_s:
                break
            seconds += len(sound) / RATE_HZ
            began = time.process_time()
            words = transcript(sound)
            hits = spot(words, talk.listened, talk.announced)
            spent_s += time.process_time() - began
            for level, count in counts.items():
                score(talk, [hit for hit in hits if hit.confidence >= level], count)
        heard_s += seconds
        result[name] = {**counts[LEAST].figures(), "sure": counts[SURE].figures(), "wrong": counts[LEAST].critical}
    result["cpu_seconds_a_second"] = round(spent_s / max(heard_s, 1e-9), 4)
    result["minutes"] = round(heard_s / 60 / len(CONDITIONS), 1)
    return result


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
    print(f"{result['minutes']} minutes of talk, {result['cpu_seconds_a_second']} s of a core for each second")


if __name__ == "__main__":
    main()
