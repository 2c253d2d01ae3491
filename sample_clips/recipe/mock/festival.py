"""Plain, quick voices: Festival, which tells itself when each word begins and ends."""

from __future__ import annotations

import re
import subprocess
import tempfile
import wave
from pathlib import Path
from typing import Final

import numpy as np

from .speech import words_of
from .spoken import Heard, Spoken, trimmed

_PROGRAM: Final = """
({voice})
(Parameter.set 'Duration_Stretch {stretch})
(let ((utt (utt.synth (Utterance Text "{text}"))))
  (utt.save.wave utt "{file}" 'riff)
  (mapcar
    (lambda (word)
      (format t "%s %f %f\\n" (item.name word) (item.feat word "word_start") (item.feat word "word_end")))
    (utt.relation.items utt 'Word)))
"""


class Festival:
    """One voice of Festival.

    Parameters
    ----------
    name
        Of the voice, such as ``cmu_us_slt_arctic_hts``.
    speed
        Of its speech; 1 as it was made.
    """

    precision_s = 0.01

    def __init__(self, name: str, speed: float = 1.0) -> None:
        self._name, self._stretch = name, 1 / speed

    def say(self, text: str) -> Spoken:
        """Return `text` spoken.

        Raises
        ------
        ValueError
            If other words were spoken than those of the text.
        """
        with tempfile.TemporaryDirectory() as name:
            file = Path(name) / "said.wav"
            plain = re.sub(r"[^A-Za-z',. ]", "", text)
            program = _PROGRAM.format(voice=f"voice_{self._name}", stretch=self._stretch, text=plain, file=file)
            run = subprocess.run(
                ["festival", "--pipe"], input=program, capture_output=True, text=True, check=True, cwd=name
            )
            heard = [_heard(line) for line in run.stdout.splitlines() if line.count(" ") == 2]
            with wave.open(str(file)) as opened:
                rate = opened.getframerate()
                sound = np.frombuffer(opened.readframes(opened.getnframes()), "<i2") / 32768
        if [word.word for word in heard] != words_of(text):
            raise ValueError(f"{self._name} said {[word.word for word in heard]} for {text!r}")
        return trimmed(sound, rate, heard)


def _heard(line: str) -> Heard:
    word, onset, offset = line.split()
    return Heard(word.lower(), float(onset), float(offset))
