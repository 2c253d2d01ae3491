"""Listening by a recogniser that has read what may be said: each run of speech once, as one passage."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from review.domain.transcript import Word
from review.speech.guards import Passage

_BEAM: Final = 5
_BEFORE, _BEHIND = "\"'([{-", "\"'.,!?:)]}"
"""Signs that are written together with the word behind and before them."""


def hinted(
    model: Any, samples: npt.NDArray[np.float32], speech: Sequence[tuple[float, float]], hints: str
) -> Iterator[Passage]:
    """Yield what runs of speech are written down as by who has read the hints before.

    The confidence of the words is that of who has not: their times and likelihoods come of a second going, without the
    hints. The recogniser's own walk through a run is not used, as with hints it comes back up to three times to the
    silence at its end.

    Parameters
    ----------
    model
        A loaded `faster_whisper.WhisperModel`.
    samples
        As for `review.speech.recogniser.recognise`.
    speech
        Onset and offset of each run, seconds from the first sample; up to 30 s long.
    hints
        Phrases that are likely to be said; what goes beyond half of what the recogniser can read is left out.
    """
    from faster_whisper.audio import pad_or_trim
    from faster_whisper.tokenizer import Tokenizer

    tokenizer = Tokenizer(model.hf_tokenizer, model.model.is_multilingual, task="transcribe", language="en")
    prompt = model.get_prompt(tokenizer, [], without_timestamps=True, hotwords=hints)
    features = model.feature_extractor(samples)
    for onset_s, offset_s in speech:
        first, stop = (max(0, round(edge * model.frames_per_second)) for edge in (onset_s, offset_s))
        part = features[:, first : min(stop, features.shape[-1] - 1)]
        if part.shape[-1]:
            encoded = model.encode(pad_or_trim(part))
            yield _passage(model, tokenizer, prompt, encoded, part.shape[-1], first / model.frames_per_second)


def _passage(model: Any, tokenizer: Any, prompt: list[int], encoded: Any, frames: int, at_s: float) -> Passage:
    from faster_whisper.transcribe import get_compression_ratio, merge_punctuations

    (made,) = model.model.generate(
        encoded, [prompt], beam_size=_BEAM, return_scores=True, return_no_speech_prob=True, max_length=model.max_length
    )
    pieces = [piece for piece in made.sequences_ids[0] if piece < tokenizer.eot]
    (found,) = model.find_alignment(tokenizer, [pieces], encoded, frames) or [[]]
    merge_punctuations(found, _BEFORE, _BEHIND)
    words = tuple(
        Word(one["word"].strip(), at_s + float(one["start"]), at_s + float(one["end"]), float(one["probability"]))
        for one in found
        if one["word"].strip()
    )
    likely = float(made.scores[0]) * len(pieces) / (len(pieces) + 1)
    alike = get_compression_ratio(tokenizer.decode(pieces).strip()) if pieces else 0.0
    return Passage(words, float(made.no_speech_prob), likely, alike)
