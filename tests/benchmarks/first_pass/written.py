"""Attempts that are written and never spoken: words straight from the script, at the pace of somebody reading aloud."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

import review.checklists
from review.domain.transcript import Word
from review.pipeline.spoken import announcements
from review.speech.phrases import spot
from sample_clips.recipe.mock.script import write
from sample_clips.recipe.mock.sheet import read_sheet
from sample_clips.recipe.mock.speech import words_of
from sample_clips.recipe.mock.spoken import Heard, Spoken
from sample_clips.recipe.mock.timeline import place
from sample_clips.recipe.mock.truth import Cast, record
from sample_clips.recipe.sounds import SAMPLES_PER_SECOND
from tests.benchmarks.first_pass.attempts import Attempt, sheet_of

_LOST = 0.05
"""Share of the words that are left out, as a recogniser would."""

_ID = "neuro_screening"


def written(count: int) -> Iterator[Attempt]:
    """Yield so many attempts, always the same ones."""
    recipe = read_sheet(Path(review.checklists.__file__).with_name(f"{_ID}.toml"))
    sheet = sheet_of(_ID)
    listened = {step.id: step.listened for step in sheet.steps() if step.listened}
    for seed in range(1, count + 1):
        random = np.random.default_rng(seed)
        script = write(recipe, seed)
        timeline = place(script, [_read(line.text, random) for line in script.lines])
        truth = record(recipe, seed, script.plan, timeline, Cast({}, 0.0, {})) | {"sound": {"room": "written"}}
        words = tuple(
            Word(word["word"], word["onset_s"], word["offset_s"], 0.9)
            for word in truth["words"]
            if random.random() > _LOST
        )
        yield Attempt(f"written_{seed:04d}", truth, sheet, words, spot(words, listened, announcements(sheet)))


def _read(text: str, random: np.random.Generator) -> Spoken:
    """Return a text as silence with its words' times: 0.12 s a word and about 0.05 s a letter, 0.03 s between."""
    clock, words = 0.03, []
    for word in words_of(text):
        length = 0.12 + 0.05 * len(word) * random.uniform(0.8, 1.2)
        words.append(Heard(word, clock, clock + length))
        clock += length + 0.03
    return Spoken(np.zeros(round((clock + 0.03) * SAMPLES_PER_SECOND), np.float32), tuple(words))
