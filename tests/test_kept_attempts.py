"""The spoken attempts that are kept are what their truth says of them."""

from typing import Any

import av
import numpy as np
import numpy.typing as npt
import pytest

import sample_clips
from sample_clips.recipe.mock import kept
from sample_clips.recipe.mock.plan import Manner
from sample_clips.recipe.mock.script import write
from sample_clips.recipe.mock.sheet import read_sheet
from sample_clips.recipe.mock.voices import VOICES
from sample_clips.recipe.sounds import SAMPLES_PER_SECOND, level_db

LIMIT_FILM = 2_000_000
LIMIT_TRUTH = 60_000

Sound = npt.NDArray[np.float64]


@pytest.fixture(scope="module", params=sample_clips.ATTEMPTS)
def name(request: pytest.FixtureRequest) -> str:
    """Return the name of an attempt."""
    chosen: str = request.param
    return chosen


@pytest.fixture(scope="module")
def truth(name: str) -> dict[str, Any]:
    """Return the truth of an attempt."""
    return sample_clips.truth(name)


@pytest.fixture(scope="module")
def sound(name: str) -> Sound:
    """Return the sound of an attempt; its time 0 is that of the film."""
    with av.open(str(sample_clips.clip_path(name))) as film:
        frames = list(film.decode(audio=0))
    assert abs(frames[0].time) < 0.03
    early = round(frames[0].time * SAMPLES_PER_SECOND)
    heard = np.concatenate([frame.to_ndarray()[0] for frame in frames]).astype(float)
    return heard[-early:] if early < 0 else np.concatenate([np.zeros(early), heard])


def _cut(sound: Sound, onset_s: float, offset_s: float) -> Sound:
    return sound[round(onset_s * SAMPLES_PER_SECOND) : round(offset_s * SAMPLES_PER_SECOND)]


def test_film_is_of_the_stated_kind(name: str, truth: dict[str, Any]) -> None:
    """The film is H.264 with AAC of one channel at 48 kHz, as long as its truth says, and small."""
    path = sample_clips.clip_path(name)
    with av.open(str(path)) as film:
        picture, sound = film.streams.video[0], film.streams.audio[0]
        assert (picture.codec_context.name, picture.width, picture.height) == ("h264", 640, 360)
        assert (sound.codec_context.name, sound.rate, sound.channels) == ("aac", SAMPLES_PER_SECOND, 1)
        assert film.duration / 1e6 == pytest.approx(truth["seconds"], abs=0.15)
        assert picture.frames == round(truth["seconds"] * float(picture.average_rate))
    assert path.stat().st_size < LIMIT_FILM
    assert path.with_suffix(".truth.json").stat().st_size < LIMIT_TRUTH


def test_truth_is_that_of_the_recipe(name: str, truth: dict[str, Any]) -> None:
    """The recipe writes the same lines, steps and findings from the same seed."""
    made = kept.KEPT[name]
    script = write(read_sheet(kept.SCREENING).only(made.steps), made.seed, kept.MANNER)
    assert truth["seed"] == made.seed
    assert [utterance["text"] for utterance in truth["utterances"]] == [line.text for line in script.lines]
    done = [step for step in truth["steps"] if not step["skipped"]]
    assert [(step["step"], step["side"]) for step in done] == [(s.visit.step.id, s.visit.side) for s in script.scenes]
    assert [step["finding"]["status"] for step in done] == [scene.finding.status for scene in script.scenes]
    for role, speaker in truth["speakers"].items():
        assert VOICES[speaker["voice"]].quality == "good"
        assert speaker == {"voice": made.voices[role], "person": made.people[role]}


def test_much_happens_in_little_time(truth: dict[str, Any]) -> None:
    """A minute holds a skipped and a repeated step, findings not said and unlike expected, a slip, a wrong side."""
    done = [step for step in truth["steps"] if not step["skipped"]]
    findings = [step["finding"] for step in done]
    assert 50 < truth["seconds"] < 95
    assert len(done) < len(truth["steps"])
    assert max(step["visit"] for step in done) == 2
    assert {finding["status"] for finding in findings} == {"said", "other", "not_said"}
    assert any(finding.get("slip") for finding in findings)
    assert any(finding.get("wrong_side") for finding in findings)


def test_speech_is_where_words_are(truth: dict[str, Any], sound: Sound) -> None:
    """Every line is louder than the stillness by far, every word as well, and nothing is loud where nobody speaks."""
    noise_db = truth["sound"]["noise_db"]
    for utterance in truth["utterances"]:
        if utterance["kind"] != "whisper":
            assert level_db(_cut(sound, utterance["onset_s"], utterance["offset_s"])) > noise_db + 10
    loud = [level_db(_cut(sound, word["onset_s"], word["offset_s"])) > noise_db + 6 for word in truth["words"]]
    assert np.mean(loud) > 0.97
    for start, end in _still(truth):
        assert level_db(_cut(sound, start, end)) < noise_db + 4


def _still(truth: dict[str, Any]) -> list[tuple[float, float]]:
    """Return stretches of half a second or more in which nobody speaks and nothing knocks."""
    taps = [tap for action in truth["actions"] for tap in action["taps_s"]]
    busy = sorted(
        [(u["onset_s"] - 0.05, u["offset_s"] + 0.1) for u in truth["utterances"]] + [(t, t + 0.4) for t in taps]
    )
    gaps = zip([0.1, *(end for _, end in busy)], [*(start for start, _ in busy), truth["seconds"] - 0.1], strict=True)
    return [(start, end) for start, end in gaps if end - start > 0.5]


def test_taps_knock(truth: dict[str, Any], sound: Sound) -> None:
    """Within 5 ms after every tap of the truth the sound rises by 10 dB or more."""
    taps = [tap for action in truth["actions"] for tap in action["taps_s"]]
    assert bool(taps) == any(step["step"].startswith("reflex") for step in truth["steps"])
    for tap in taps:
        before = level_db(_cut(sound, tap - 0.03, tap - 0.005))
        assert level_db(_cut(sound, tap + 0.001, tap + 0.03)) > before + 10


def test_manner_of_the_kept_is_told() -> None:
    """More goes wrong in them than usual, and nothing is left out for lack of time."""
    assert kept.MANNER.longest_s is None
    assert kept.MANNER.slips > Manner().slips
