"""Real people's talk out of a package of Debian's, with the phrases that are said in it, for `tests.benchmarks.voice`.

    apt-get install pocketsphinx-testdata
    python -m tests.benchmarks.talk OUT
    python -m tests.benchmarks.voice OUT

The package carries short recordings (BSD licence) of people who read playing cards, orders, digits and a novel, each
with its words. They are joined with a second of silence between. A phrase counts as said in the whole of its recording.
"""

from __future__ import annotations

import argparse
import json
import wave
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from review.speech.recogniser import RATE_HZ

FOLDER: Final = Path("/usr/share/pocketsphinx/test/data")
_NOVEL: Final = "librivox/sense_and_sensibility_01_austen_64kb-"

SAID: Final[Mapping[str, tuple[str, ...]]] = {
    "cards/001.wav": ("ten of clubs",),
    "cards/002.wav": ("queen of clubs",),
    "cards/003.wav": ("seven of clubs",),
    "cards/004.wav": ("five five",),
    "cards/005.wav": ("eight of spades", "four of clubs", "seven of hearts"),
    "goforward.raw": ("go forward ten meters",),
    "something.raw": ("go somewhere", "do something"),
    "tidigits/dhd.2934z.raw": ("two nine three four zero",),
    f"{_NOVEL}0870.wav": ("leisure to consider", "how much there might be", "prudently in his power"),
    f"{_NOVEL}0880.wav": ("not an ill disposed young man",),
    f"{_NOVEL}0890.wav": ("rather cold hearted", "rather selfish"),
    f"{_NOVEL}0920.wav": ("a more amiable woman", "still more respectable"),
    f"{_NOVEL}0930.wav": ("made amiable himself",),
}
"""What is said in each recording, by the package's own transcripts."""


def _samples(path: Path) -> npt.NDArray[np.int16]:
    if path.suffix == ".raw":
        return np.fromfile(path, "<i2")
    with wave.open(str(path)) as sound:
        if (sound.getframerate(), sound.getnchannels(), sound.getsampwidth()) != (RATE_HZ, 1, 2):
            raise SystemExit(f"{path}: expected {RATE_HZ} samples of 16 bit a second on one channel.")
        return np.frombuffer(sound.readframes(sound.getnframes()), "<i2")


def main() -> None:
    """Write the joined recordings and their phrases."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    out = parser.parse_args().out
    if not FOLDER.is_dir():
        raise SystemExit(f"{FOLDER} is not there. Install it with: apt-get install pocketsphinx-testdata")
    out.mkdir(parents=True, exist_ok=True)
    pause = np.zeros(RATE_HZ, np.int16)
    parts, phrases, at = [pause], [], len(pause)
    for name, said in SAID.items():
        samples = _samples(FOLDER / name)
        stop = at + len(samples)
        phrases += [{"text": text, "onset_s": at / RATE_HZ, "offset_s": stop / RATE_HZ} for text in said]
        parts += [samples, pause]
        at = stop + len(pause)
    with wave.open(str(out / "talk.wav"), "wb") as sound:
        sound.setparams((1, 2, RATE_HZ, 0, "NONE", "not compressed"))
        sound.writeframes(np.concatenate(parts).tobytes())
    (out / "talk.phrases.json").write_text(json.dumps(phrases, indent=1), "utf-8")
    print(f"{len(phrases)} phrases in {at / RATE_HZ:.0f} s, in {out}")


if __name__ == "__main__":
    main()
