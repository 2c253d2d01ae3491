"""Words and their times out of samples, with the voice model and nothing from outside this machine."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from review.domain.errors import ModelRefused
from review.domain.transcript import Transcript, Word
from review.speech.guards import Passage, believed
from review.speech.hinted import hinted
from review.speech.model import find_voice_model

RATE_HZ: Final = 16_000
"""Samples a second that are listened to."""

_SPEECH: Final = {"threshold": 0.5, "min_speech_duration_ms": 120, "min_silence_duration_ms": 600, "speech_pad_ms": 300}
_QUIETEST: Final = 1e-4
"""Greatest sample below which a stretch is silence, of 1; a 16-bit step is 0.00003."""

_SLACK_S: Final = 0.2
_MISSED_S: Final = 0.8
"""Speech of this length without a word is listened to again by itself and as the recogniser was made for: it can lose
its place, and where little silence is left, say a number for ever."""
_JOINED_S: Final = 0.7
"""Speech with a shorter pause between is written down together: what stands around a word helps to know it."""

_SURE: Final = 0.85
"""Mean confidence of the words of a run of speech below which it is listened to a second time."""

_LEAST_COLUMNS: Final = 1500
_SILENT_COLUMNS: Final = 300
"""Columns of a spectrum, a hundredth of a second each, that the recogniser is shown at least, and behind the sound."""


def recognise(samples: npt.NDArray[np.float32], model: Path | None = None) -> Transcript:
    """Return the words of a stretch of sound, listened to once; see `recognise_twice`."""
    return recognise_twice(samples, "", model)[0]


def recognise_twice(
    samples: npt.NDArray[np.float32], hints: str, model: Path | None = None
) -> tuple[Transcript, Transcript]:
    """Return the words of a stretch of sound, and those of a second listening where the first one was doubtful.

    Voice activity is looked for first; without any there are no words, whatever the recogniser would write down. In
    the second listening the recogniser has read the hints before. The confidence of its words is again that of
    somebody who has not: what it repeats of the hints although nobody said it has next to none.

    Parameters
    ----------
    samples
        Mono, `RATE_HZ` a second, -1 to 1, shape ``(sample,)``; up to about 30 s.
    hints
        Phrases that are likely to be said, about 200 words at most; without any there is no second listening.
    model
        Folder of another voice model than the installed one.

    Returns
    -------
    words, again
        Of both listenings. Times are seconds from the first sample.

    Raises
    ------
    ModelRefused
        If the voice model cannot be used.
    """
    if len(samples) == 0 or float(np.abs(samples).max()) < _QUIETEST:
        return (), ()
    speech = voice_activity(samples)
    if not speech:
        return (), ()
    recogniser = _loaded(find_voice_model(model))
    loose = [(onset - _SLACK_S, offset + _SLACK_S) for onset, offset in speech]
    words = list(believed(_passages(recogniser, samples, _joined(speech)), loose))
    missed = [part for part in speech if part[1] - part[0] >= _MISSED_S and not _any_in(words, part)]
    if missed:
        words += believed(_passages(recogniser, samples, missed, brief=False), missed)
    words.sort(key=lambda word: word.onset_s)
    doubtful = [part for part in _joined(speech) if _doubted(words, part)] if hints else []
    around = [(onset - _SLACK_S, offset + _SLACK_S) for onset, offset in doubtful]
    again = believed(hinted(recogniser, samples, doubtful, hints), around) if doubtful else ()
    return tuple(words), tuple(again)


def _doubted(words: Iterable[Word], part: tuple[float, float]) -> bool:
    """Tell whether a part of the speech became no word, or words of which the recogniser was not sure."""
    inside = [word.confidence for word in words if part[0] < (word.onset_s + word.offset_s) / 2 < part[1]]
    return sum(inside) < _SURE * len(inside) if inside else part[1] - part[0] >= _MISSED_S


def _any_in(words: Iterable[Word], part: tuple[float, float]) -> bool:
    return any(part[0] < (word.onset_s + word.offset_s) / 2 < part[1] for word in words)


def let_go() -> None:
    """Give back the memory of the voice model; it is loaded anew when it is needed."""
    _loaded.cache_clear()


def voice_activity(samples: npt.NDArray[np.float32]) -> list[tuple[float, float]]:
    """Return onset and offset, in seconds, of the stretches in which somebody speaks; parameters as `recognise`."""
    _import()
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    found = get_speech_timestamps(samples, VadOptions(**_SPEECH), RATE_HZ)
    return [(part["start"] / RATE_HZ, part["end"] / RATE_HZ) for part in found]


@lru_cache(maxsize=1)
def _loaded(folder: Path) -> Any:
    _import()
    from faster_whisper import WhisperModel

    class Brief(WhisperModel):  # type: ignore[misc]  # its library tells no types
        """A recogniser that need not look at all of the silence with which a stretch is filled up to 30 s."""

        brief = True

        def encode(self, features: npt.NDArray[np.float32]) -> Any:
            return super().encode(without_filling(features) if self.brief else features)

    try:
        return Brief(str(folder), device="cpu", compute_type="int8", cpu_threads=1, local_files_only=True)
    except (RuntimeError, ValueError, OSError) as error:
        raise ModelRefused(
            f"The voice model in {folder} cannot be loaded ({error}). Name another folder, "
            "or leave words out with: runthrough words off."
        ) from error


def without_filling(features: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Return the spectra of a stretch without most of the columns of zeros behind it.

    Looking at 15 s instead of 30 takes a quarter of the time; what little silence is left keeps the recogniser from
    writing on.

    Parameters
    ----------
    features
        Log-Mel spectra, shape ``(band, column)``, 100 columns a second.

    Returns
    -------
    ndarray
        An even number of columns of them from the first on, none of which was cut but zeros.
    """
    (filled,) = np.nonzero(features.any(axis=-2))
    most = features.shape[-1]
    kept = max(_LEAST_COLUMNS, _SILENT_COLUMNS + (int(filled[-1]) + 1 if len(filled) else 0))
    return features[..., : min(most, kept + kept % 2)]


def _import() -> None:
    """Load the recogniser, which takes 80 MB; only a worker does."""
    try:
        import faster_whisper  # noqa: F401
    except ImportError as error:
        raise ModelRefused(
            f"The recogniser cannot be loaded ({error}). Install the whole package again, "
            "or leave words out with: runthrough words off."
        ) from error


def _passages(
    model: Any, samples: npt.NDArray[np.float32], speech: Sequence[tuple[float, float]], brief: bool = True
) -> list[Passage]:
    """Have each run of speech written down; nothing but the greatest probability decides, so that it repeats."""
    model.brief = brief
    clips = [edge for part in speech for edge in part]
    segments, _ = model.transcribe(
        samples,
        language="en",
        beam_size=5,
        temperature=0.0,
        condition_on_previous_text=False,
        word_timestamps=True,
        clip_timestamps=clips,
    )
    return [
        Passage(
            words=tuple(
                Word(word.word.strip(), float(word.start), float(word.end), float(word.probability))
                for word in segment.words or ()
                if word.word.strip()
            ),
            silent=float(segment.no_speech_prob),
            likely=float(segment.avg_logprob),
            alike=float(segment.compression_ratio),
        )
        for segment in segments
    ]


def _joined(speech: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    runs: list[tuple[float, float]] = []
    for onset, offset in speech:
        if runs and onset - runs[-1][1] < _JOINED_S:
            runs[-1] = (runs[-1][0], offset)
        else:
            runs.append((onset, offset))
    return runs
