"""Good voices: the Kokoro model, run offline, asked also for how long each of its symbols lasts."""

from __future__ import annotations

import json
import subprocess
from functools import cached_property
from itertools import accumulate
from pathlib import Path
from typing import Any, Final

import numpy as np

from .speech import words_of
from .spoken import Heard, Spoken, trimmed
from .voice_data import MODEL, SYMBOLS

_RATE: Final = 24_000
_SAMPLES_A_STEP: Final = 600
_LENGTHS: Final = "/encoder/Clip_output_0"
"""Inside of the model: how many steps each symbol lasts."""

_STYLE: Final = 256

_WEAK: Final = {"a": "ɐ", "the": "ðə", "to": "tə", "and": "ænd", "of": "əv", "your": "jʊɹ"}
"""Small words as they sound within a sentence; said alone they would be stressed."""


class Model:
    """The model, loaded when it first speaks, and how words are pronounced (by ``espeak-ng``).

    Parameters
    ----------
    folder
        That `voice_data.fetch` filled.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.symbols: dict[str, int] = json.loads((folder / SYMBOLS).read_text(encoding="utf-8"))
        self._sounds: dict[tuple[str, str], str] = {}

    @cached_property
    def session(self) -> Any:
        """The model, with the lengths of its symbols as a second output."""
        import onnx
        import onnxruntime

        model = onnx.load(str(self.folder / MODEL))
        model.graph.output.append(onnx.helper.make_tensor_value_info(_LENGTHS, onnx.TensorProto.FLOAT, None))
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        return onnxruntime.InferenceSession(model.SerializeToString(), options, providers=["CPUExecutionProvider"])

    def sounds(self, words: list[str], accent: str) -> list[str]:
        """Return how words sound, in the model's symbols."""
        missing = [word for word in dict.fromkeys(words) if (word, accent) not in self._sounds]
        if missing:
            command = ["espeak-ng", "-q", "--ipa", "-v", accent]
            run = subprocess.run(command, input="\n".join(missing), capture_output=True, text=True, check=True)
            for word, sound in zip(missing, run.stdout.strip().split("\n"), strict=True):
                kept = "".join(symbol for symbol in sound.replace("r", "ɹ") if symbol in self.symbols)
                self._sounds[word, accent] = _WEAK.get(word, kept.strip().replace(" ", ""))
        return [self._sounds[word, accent] for word in words]


class Kokoro:
    """One voice of the model.

    Parameters
    ----------
    name
        Of the voice, such as ``af_heart``; those that begin with ``b`` speak British English.
    speed
        Of its speech; 1 as it was made.
    """

    precision_s = _SAMPLES_A_STEP / _RATE

    def __init__(self, model: Model, name: str, speed: float = 1.0) -> None:
        self._model, self._speed = model, speed
        self._accent = "en-gb" if name.startswith("b") else "en-us"
        self._styles = np.fromfile(model.folder / f"{name}.bin", np.float32).reshape(-1, 1, _STYLE)

    def say(self, text: str) -> Spoken:
        """Return `text` spoken."""
        words = words_of(text)
        sounds = self._model.sounds(words, self._accent)
        symbols, places = "", []
        for sound, mark in zip(sounds, marks(text), strict=True):
            places.append((len(symbols), len(symbols) + len(sound)))
            symbols += sound + mark + " "
        tokens = [self._model.symbols[symbol] for symbol in symbols.rstrip()]
        style = self._styles[min(len(tokens), len(self._styles) - 1)]
        feed = {"tokens": np.array([[0, *tokens, 0]], np.int64), "style": style, "speed": np.float32([self._speed])}
        sound, lengths = self._model.session.run(None, feed)
        ends = [0.0, *accumulate(float(steps) * self.precision_s for steps in np.ravel(lengths))]
        heard = [
            Heard(word, ends[first + 1], ends[last + 1]) for word, (first, last) in zip(words, places, strict=True)
        ]
        return trimmed(np.ravel(sound), _RATE, heard)


def marks(text: str) -> list[str]:
    """Return the mark, a comma or a full stop, after each word; the last has a full stop."""
    found = [part[-1] if part[-1] in ",." else "" for part in text.split()]
    return [*found[:-1], "."]
