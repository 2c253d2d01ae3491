"""Scripts, timeline and sound of whole mock attempts, without any synthesiser."""

import json
from collections import Counter
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import av
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sample_clips.recipe.mock import attempt, kokoro, mix, played, speech, truth, voices
from sample_clips.recipe.mock.__main__ import main
from sample_clips.recipe.mock.background import background
from sample_clips.recipe.mock.echo import impulse_response, rt60_of
from sample_clips.recipe.mock.plan import Manner, plan
from sample_clips.recipe.mock.script import Doing, Line, Script, write
from sample_clips.recipe.mock.sheet import Sheet, read_sheet
from sample_clips.recipe.mock.spoken import Heard, Spoken, trimmed, whispered
from sample_clips.recipe.mock.timeline import Action, Timeline, place
from sample_clips.recipe.motion import keyed
from sample_clips.recipe.sounds import SAMPLES_PER_SECOND, level_db

CHECKLISTS = Path(__file__).parent.parent / "review" / "checklists"
SHEET = read_sheet(CHECKLISTS / "neuro_screening.toml")
BALANCE = read_sheet(CHECKLISTS / "balance_only.toml")

SEEDS = st.integers(0, 10_000)
SHARES = st.sampled_from([0.0, 0.3, 1.0])


def _hummed(text: str) -> Spoken:
    """Return a hum of 0.2 s for every word, 0.05 s apart."""
    words = speech.words_of(text)
    clock = np.arange(round((0.25 * len(words) - 0.05) * SAMPLES_PER_SECOND)) / SAMPLES_PER_SECOND
    loud = clock % 0.25 < 0.2
    sound = (0.1 * np.sin(2 * np.pi * 150 * clock) * loud).astype(np.float32)
    return Spoken(sound, tuple(Heard(word, 0.25 * number, 0.25 * number + 0.2) for number, word in enumerate(words)))


def _silent(text: str) -> Spoken:
    """Return the words of `_hummed` without its sound."""
    words = [Heard(word, 0.25 * number, 0.25 * number + 0.2) for number, word in enumerate(speech.words_of(text))]
    return Spoken(np.zeros(round(words[-1].offset_s * SAMPLES_PER_SECOND), np.float32), tuple(words))


def _acted(script: Script) -> tuple[Timeline, list[Spoken]]:
    spoken = [_hummed(line.text) for line in script.lines]
    return place(script, spoken), spoken


def _truth(sheet: Sheet, seed: int, manner: Manner) -> dict[str, Any]:
    script = write(sheet, seed, manner)
    cast = truth.Cast({"examiner": "hum", "partner": "hum"}, 0.0, {})
    timeline = place(script, [_silent(line.text) for line in script.lines])
    return truth.record(sheet, seed, script.plan, timeline, cast)


MANNERS = st.builds(
    Manner,
    skips=st.sampled_from([0.0, 0.2, 0.9]),
    repeats=SHARES,
    swaps=SHARES,
    unannounced=SHARES,
    unasked=SHARES,
    unsaid=SHARES,
    otherwise=SHARES,
    slips=SHARES,
    wrong_sides=SHARES,
    fillers=SHARES,
    restarts=SHARES,
    asides=SHARES,
    longest_s=st.sampled_from([None, 60.0, 450.0]),
)


def test_every_step_has_words() -> None:
    """Each step of the screening has a wording, and no wording belongs to a step that is not there."""
    plain = read_sheet(CHECKLISTS / "neuro_screening.toml", _no_wording())
    assert [step.id for step in plain.steps] == [step.id for step in SHEET.steps]
    assert all(step.said and not other.said for step, other in zip(SHEET.steps, plain.steps, strict=True))
    for step in SHEET.steps:
        assert set(step.valued) <= set(step.finding), step.id
        assert bool(step.valued) <= (step.value is not None), step.id
        assert 0 < step.wait_s[0] <= step.wait_s[1]


def _no_wording() -> Path:
    return Path(__file__).parent / "data" / "no_wording.toml"


def test_a_sheet_without_a_wording_is_spoken_from_its_titles() -> None:
    """Steps that no wording knows are announced by their title and found in the sheet's phrases."""
    script = write(BALANCE, 4, Manner(skips=0.0, unannounced=0.0, unsaid=0.0, fillers=0.0, restarts=0.0, slips=0.0))
    assert {scene.visit.step.id for scene in script.scenes} == {step.id for step in BALANCE.steps}
    for scene in script.scenes:
        if scene.visit.step.finding:
            assert scene.finding.status == "said"


def test_an_unknown_step_is_told() -> None:
    """Asking for a step that a sheet does not have names the step and those it has."""
    assert [step.id for step in SHEET.only(("cn8_weber", "cn1_smell")).steps] == ["cn1_smell", "cn8_weber"]
    with pytest.raises(ValueError, match="has no step knees; choose from hand_hygiene"):
        SHEET.only(("knees",))


@settings(deadline=None, max_examples=30)
@given(SEEDS, MANNERS)
def test_same_seed_same_attempt(seed: int, manner: Manner) -> None:
    """A script is made again, to the last pause, from its sheet, seed and manner."""
    assert write(SHEET, seed, manner) == write(SHEET, seed, manner)


def test_other_seeds_are_other_attempts() -> None:
    """No two of twenty seeds give the same words."""
    assert len({tuple(line.text for line in write(SHEET, seed).lines) for seed in range(20)}) == 20


@settings(deadline=None, max_examples=30)
@given(SEEDS, MANNERS)
def test_every_place_is_done_or_skipped(seed: int, manner: Manner) -> None:
    """Each step and side of the sheet is done or among the skipped, never both, and something is always done."""
    made = plan(SHEET, manner, Random(seed))
    done = {(visit.step.id, visit.side) for visit in made.visits}
    left_out = {(step.id, side) for step, side in made.skipped}
    assert done
    assert not done & left_out
    assert done | left_out == {(step.id, side) for step in SHEET.steps for side in step.sides or (None,)}


@settings(deadline=None, max_examples=30)
@given(SEEDS, MANNERS)
def test_truth_is_ordered(seed: int, manner: Manner) -> None:
    """Visits, lines and words follow one another; words lie in their lines, lines and findings in their visits."""
    written = _truth(SHEET, seed, manner)
    done = [step for step in written["steps"] if not step["skipped"]]
    for entries in (done, written["utterances"], written["words"]):
        assert all(entry["onset_s"] < entry["offset_s"] for entry in entries)
        times = [time for entry in entries for time in (entry["onset_s"], entry["offset_s"])]
        assert times == sorted(times)
        assert not times or (times[0] > 0 and times[-1] < written["seconds"])
    for word in written["words"]:
        assert _within(word, written["utterances"][word["utterance"]])
    for utterance in written["utterances"]:
        assert utterance["kind"] == "aside" or _within(utterance, done[utterance["step"]])
    for action in written["actions"]:
        assert _within(action, done[action["step"]])
        assert all(action["onset_s"] < tap < action["offset_s"] for tap in action["taps_s"])
    for step in done:
        assert step["finding"]["status"] == "not_said" or _within(step["finding"], step)


def _within(inner: dict[str, Any], outer: dict[str, Any]) -> bool:
    return bool(outer["onset_s"] - 1e-9 <= inner["onset_s"] <= inner["offset_s"] <= outer["offset_s"] + 1e-9)


@settings(deadline=None, max_examples=30)
@given(SEEDS, MANNERS)
def test_skipped_steps_have_no_seconds(seed: int, manner: Manner) -> None:
    """What was skipped has no seconds and no finding; visits of one step and side are counted from 1."""
    steps = _truth(SHEET, seed, manner)["steps"]
    visits = Counter[tuple[str, str | None]]()
    for step in steps:
        if step["skipped"]:
            assert (step["onset_s"], step["offset_s"], step["visit"]) == (None, None, 0)
            assert "finding" not in step
        else:
            visits[step["step"], step["side"]] += 1
            assert step["visit"] == visits[step["step"], step["side"]]


@settings(deadline=None, max_examples=30)
@given(SEEDS, MANNERS)
def test_words_are_those_of_the_lines(seed: int, manner: Manner) -> None:
    """The words of the truth, put together, are the texts of its lines; a finding's words are heard in its line."""
    written = _truth(SHEET, seed, manner)
    for number, utterance in enumerate(written["utterances"]):
        words = [word["word"] for word in written["words"] if word["utterance"] == number]
        assert words == speech.words_of(utterance["text"])


@settings(deadline=None, max_examples=30)
@given(SEEDS)
def test_findings_say_what_is_heard(seed: int) -> None:
    """Without slips and stumbling a finding's line is its text, holding the sheet's phrase that is named."""
    manner = Manner(unsaid=0.2, slips=0.0, wrong_sides=0.0, fillers=0.0, restarts=0.0)
    for scene in write(SHEET, seed, manner).scenes:
        lines = [part for part in scene.parts if isinstance(part, Line) and part.kind == "finding"]
        assert len(lines) == (scene.finding.status != "not_said")
        for line in lines:
            assert line.text == scene.finding.text
            assert scene.finding.phrase is None or scene.finding.phrase in line.text
            assert "{" not in line.text
        if scene.visit.side and scene.finding.side_said:
            assert scene.finding.side_said == scene.visit.side


@settings(deadline=None, max_examples=30)
@given(SEEDS)
def test_wrong_sides_are_said_wrongly(seed: int) -> None:
    """With every side said wrongly, a finding that names a side names the other one, and the truth says so."""
    found = [scene for scene in write(SHEET, seed, Manner(wrong_sides=1.0, restarts=0.0)).scenes if scene.visit.side]
    for scene in found:
        assert scene.finding.wrong_side == (scene.finding.side_said is not None)
        assert scene.finding.side_said != scene.visit.side


@settings(deadline=None, max_examples=30)
@given(SEEDS)
def test_slips_are_corrected(seed: int) -> None:
    """A slip says another side or number first; the words after the correction are those meant."""
    for scene in write(SHEET, seed, Manner(slips=1.0, wrong_sides=0.0, fillers=0.0, restarts=0.0)).scenes:
        lines = [part for part in scene.parts if isinstance(part, Line) and part.kind == "finding"]
        if scene.finding.slip:
            (line,) = lines
            assert any(f", {sorry}, " in line.text for sorry in speech.SORRY)
            assert len(line.words) > len(speech.words_of(scene.finding.text))
            assert line.words[-1] == speech.words_of(scene.finding.text)[-1]


def test_attempts_are_as_long_as_asked() -> None:
    """Attempts of the usual manner last six to eight minutes in the middle; no part of the sheet is always left out."""
    lengths, seen = [], Counter[str]()
    for seed in range(60):
        script = write(SHEET, seed)
        words = sum(len(line.words) for line in script.lines)
        pauses = sum(line.pause_s for line in script.lines)
        lengths.append(0.36 * words + pauses + sum(_doing_s(script)))
        seen.update({scene.visit.step.section for scene in script.scenes})
    assert 330 < np.median(lengths) < 480
    assert max(lengths) < 540
    assert set(seen) == {step.section for step in SHEET.steps}


def _doing_s(script: Script) -> list[float]:
    return [part.seconds for scene in script.scenes for part in scene.parts if isinstance(part, Doing)]


def test_every_piece_of_speech_has_its_line() -> None:
    """A timeline is refused when a line has no sound."""
    script = write(SHEET, 1)
    with pytest.raises(ValueError, match="give one for each line"):
        place(script, [_hummed("next")])


def test_stumbling_keeps_the_words() -> None:
    """Fillers, restarts and slips add words and take none away; a corrected number is wrong by one."""
    random = Random(5)
    text = "next is cranial nerve five"
    assert speech.restarted("good", random) == "good"
    for _ in range(50):
        assert speech.restarted(text, random).endswith(text)
        added = speech.words_of(speech.with_filler(text, random))
        assert not Counter(speech.words_of(text)) - Counter(added)
        assert len(added) > 5
        slip = speech.words_of(speech.slipped_number(text, random))
        assert slip[4] in ("four", "six")
        assert slip[-1] == "five"
    assert speech.slipped_number("no number", random) == "no number"
    assert speech.wrong_side("right eye, on the right", "right") == "left eye, on the left"
    assert speech.words_of(speech.slipped_side("left pupil", "left", random))[0] == "right"


@pytest.mark.parametrize("rt60_s", [0.3, 0.6, 1.2])
def test_echo_decays_as_asked(rt60_s: float) -> None:
    """An echo falls by 60 dB in the time asked for, within 5 %, and starts with the sound itself."""
    response = impulse_response(rt60_s, direct_db=3.0)
    assert rt60_of(response) == pytest.approx(rt60_s, rel=0.05)
    assert response[0] == 1.0
    assert 10 * np.log10((response[1:] ** 2).sum()) == pytest.approx(-3.0, abs=1e-6)


def test_no_echo_changes_nothing() -> None:
    """A room without echo gives back what is said."""
    assert impulse_response(0.0).tolist() == [1.0]


@pytest.mark.parametrize("kind", ["room", "pink", "kitchen"])
def test_backgrounds_have_unit_power(kind: str) -> None:
    """Every background has a mean power of 1, the length asked for, and is the same for the same seed."""
    noise = background(kind, 3.0, 7)
    assert len(noise) == 3 * SAMPLES_PER_SECOND
    assert np.mean(noise**2) == pytest.approx(1.0)
    assert np.array_equal(noise, background(kind, 3.0, 7))
    assert not np.array_equal(noise, background(kind, 3.0, 8))


def test_pink_noise_has_as_much_power_in_every_octave() -> None:
    """Power in six octaves from 125 Hz differs by less than 1 dB."""
    power = np.abs(np.fft.rfft(background("pink", 20.0, 1))) ** 2
    hertz = np.fft.rfftfreq(20 * SAMPLES_PER_SECOND, 1 / SAMPLES_PER_SECOND)
    octaves = [power[(hertz >= low) & (hertz < 2 * low)].sum() for low in 125 * 2.0 ** np.arange(6)]
    assert np.ptp(10 * np.log10(octaves)) < 1.0


def test_unknown_background_is_told() -> None:
    """A background that is not there is refused with the names of those that are."""
    with pytest.raises(ValueError, match="choose from room, pink, kitchen"):
        background("street", 1.0, 1)


SHORT = SHEET.only(("cn8_whisper", "reflex_patellar", "romberg_result"))


@pytest.mark.parametrize("name", sorted(mix.ROOMS))
def test_sound_has_the_levels_asked_for(name: str) -> None:
    """Speech with its echo lies above the noise by the decibels of the room, measured in the sound that comes out."""
    room = mix.ROOMS[name]
    timeline, spoken = _acted(write(SHORT, 3, Manner(skips=0.0, longest_s=None)))
    loud = mix.mixed(timeline, spoken, room, 3)
    assert len(loud.sound) == round(timeline.seconds * SAMPLES_PER_SECOND)
    assert np.abs(loud.sound).max() <= 0.9001
    assert loud.speech_db - loud.noise_db == pytest.approx(room.snr_db)
    before = loud.sound[: round((timeline.utterances[0].onset_s - 0.1) * SAMPLES_PER_SECOND)]
    assert level_db(before) == pytest.approx(loud.noise_db, abs=2.0)
    if room.snr_db > 40:
        said = np.concatenate([_cut(loud.sound, u) for u in timeline.utterances if _aloud(u.line)])
        assert level_db(said) == pytest.approx(loud.speech_db, abs=0.05)


def _aloud(line: Line) -> bool:
    return line.speaker == "examiner" and line.kind != "whisper"


def _cut(sound: Any, span: Any) -> Any:
    return sound[round(span.onset_s * SAMPLES_PER_SECOND) : round(span.offset_s * SAMPLES_PER_SECOND)]


def test_people_have_their_levels() -> None:
    """Without spread and echo each line has its speaker's level; a whisper is weaker; taps are louder than speech."""
    timeline, spoken = _acted(write(SHORT, 3, Manner(skips=0.0, longest_s=None)))
    levels = mix.Levels(-40.0, -46.0, 0.0)
    quiet = replace(mix.ROOMS["clean"], snr_db=70.0)
    sound = mix.mixed(timeline, spoken, quiet, 3, levels).sound
    for utterance in timeline.utterances:
        wanted = levels.of(utterance.line.speaker) + (mix.WHISPER_DB if utterance.line.kind == "whisper" else 0)
        assert level_db(_cut(sound, utterance)) == pytest.approx(wanted, abs=0.3)
    taps = [tap for action in timeline.actions for tap in action.taps_s]
    assert taps
    for tap in taps:
        start = round(tap * SAMPLES_PER_SECOND)
        knock = sound[start : start + round(0.04 * SAMPLES_PER_SECOND)]
        assert level_db(knock) == pytest.approx(-40.0 + mix.KNOCK_DB, abs=0.3)


def test_a_whisper_has_no_pitch() -> None:
    """A whispered piece has the level and words of the spoken one, but no period of a voice is left in it."""
    loud = _hummed("four kay two")
    quiet = whispered(loud)
    assert quiet.words == loud.words
    assert quiet.rms == pytest.approx(loud.rms, rel=1e-3)
    assert _period(loud.sound) > 0.8
    assert _period(quiet.sound) < 0.4


def _period(sound: Any) -> float:
    piece = sound[: round(0.15 * SAMPLES_PER_SECOND)].astype(float)
    alike = np.correlate(piece, piece, "full")[len(piece) - 1 :]
    low, high = round(SAMPLES_PER_SECOND / 400), round(SAMPLES_PER_SECOND / 70)
    return float(alike[low:high].max() / alike[0])


def test_speech_is_cut_to_its_words() -> None:
    """Silence around the words is cut off and their times move along, at another rate of samples as well."""
    sound = np.zeros(24_000)
    sound[6_000:12_000] = 0.5
    cut = trimmed(sound, 24_000, [Heard("now", 0.25, 0.5)])
    assert cut.seconds == pytest.approx(0.31)
    assert cut.words[0].onset_s == pytest.approx(0.03)
    assert cut.words[0].offset_s == pytest.approx(0.28)


def test_truth_is_written_readably(tmp_path: Path) -> None:
    """The file is JSON with the same content, every step and word in a line of its own."""
    written = _truth(SHORT, 2, Manner(longest_s=None)) | {"sound": {"room": "clean"}}
    truth.write(tmp_path / "attempt.truth.json", written)
    text = (tmp_path / "attempt.truth.json").read_text("utf-8")
    assert json.loads(text) == written
    assert len(text.splitlines()) > len(written["words"]) + len(written["steps"])


@settings(deadline=None, max_examples=30)
@given(SEEDS, MANNERS)
def test_every_word_has_its_mark(seed: int, manner: Manner) -> None:
    """Commas and full stops are told word by word, so that pauses fall where they are written."""
    for line in write(SHEET, seed, manner).lines:
        marks = kokoro.marks(line.text)
        assert len(marks) == len(line.words)
        assert set(marks) <= {"", ",", "."}
        assert marks[-1] == "."


def test_speakers_differ() -> None:
    """Examiner and partner never share a voice or a body, and every choice of voices holds two or more."""
    for choice, names in voices.CHOICES.items():
        assert set(names) <= set(voices.VOICES)
        for seed in range(30):
            drawn = voices.cast(choice, seed)
            assert drawn["examiner"].voice != drawn["partner"].voice
            assert {speaker.voice for speaker in drawn.values()} <= set(names)
            assert drawn == voices.cast(choice, seed)
    good = [voice for voice in voices.VOICES.values() if voice.quality == "good"]
    assert {voice.heard_as for voice in good} == {"woman", "man"}


def test_an_attempt_is_spoken_and_heard_in_rooms(tmp_path: Path) -> None:
    """Sound (AAC, 48 kHz, as long as the attempt) and truth are written for every room, alike but for the room."""
    speakers = {"examiner": voices.Speaker("heart", 1.0), "partner": voices.Speaker("slt", 1.0)}
    made = attempt.spoken_attempt(SHORT, 3, speakers, lambda speaker: _Hums(), Manner(longest_s=None))
    paths = attempt.write_sounds(made, ["clean", "echo"], tmp_path, "tried", 3)
    assert [path.name for path in paths] == ["tried_clean.m4a", "tried_echo.m4a"]
    written = [json.loads(path.with_suffix(".truth.json").read_text("utf-8")) for path in paths]
    assert [entry.pop("sound")["room"] for entry in written] == ["clean", "echo"]
    assert written[0] == written[1]
    assert written[0]["speakers"]["examiner"] == {"voice": "heart", "person": None}
    assert written[0]["word_precision_s"] == _Hums.precision_s
    with av.open(str(paths[0])) as sound:
        (stream,) = sound.streams
        assert (stream.codec_context.name, stream.codec_context.sample_rate) == ("aac", SAMPLES_PER_SECOND)
        assert sound.duration / 1e6 == pytest.approx(written[0]["seconds"], abs=0.1)


class _Hums:
    precision_s = 0.002

    def say(self, text: str) -> Spoken:
        return _hummed(text)


def test_the_command_tells_unknown_steps(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A step that is not on the sheet ends the command with 2 and a message, before anything is made."""
    assert main(["--out", str(tmp_path / "out"), "--steps", "knees"]) == 2
    assert "has no step knees" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@settings(deadline=None, max_examples=30)
@given(SEEDS)
def test_the_partner_stands_for_balance(seed: int) -> None:
    """In the picture the partner is up at the end of every visit of the balance tests, and sits at all others."""
    script = write(SHEET, seed)
    timeline = place(script, [_silent(line.text) for line in script.lines])
    keys = played.standing_keys(timeline)
    upright = {action.visit for action in timeline.actions if action.kind.startswith("stand")}
    long_enough = [entry for entry in enumerate(timeline.visits) if entry[1].offset_s - entry[1].onset_s > 2.5]
    assert long_enough
    for number, placed in long_enough:
        assert keyed(placed.offset_s, keys) == pytest.approx(float(number in upright))


def test_the_eyes_go_through_six_positions() -> None:
    """During an action of gaze the eyes rest 20 deg to both sides, up, level and down, and come back to the middle."""
    action = Action("gaze", 0, None, 10.0, 17.0)
    reached = {
        tuple(round(keyed(time, played.gaze_keys(action, axis)), 1) for axis in (0, 1))
        for time in np.arange(10.0, 17.0, 0.1)
    }
    assert {(side * 20.0, height * 20.0) for side in (-1, 1) for height in (0.0, 0.7, -0.85)} <= reached
    assert keyed(17.0, played.gaze_keys(action, 0)) == 0.0


def test_the_tapped_knee_kicks() -> None:
    """The shin of the tapped side is still until 60 ms after the tap, then kicks; the other one never does."""
    actions = (Action("tap_knee", 0, "right", 3.0, 5.0, (3.5,)), Action("tap_arm", 1, "left", 6.0, 8.0, (6.5,)))
    assert played.kicked_deg(actions, 3.55, "R") == 0.0
    assert played.kicked_deg(actions, 3.72, "R") == pytest.approx(22.0, abs=1.0)
    assert all(played.kicked_deg(actions, time, "L") == 0.0 for time in (3.7, 4.5, 6.8))


def test_players_differ() -> None:
    """Partner and examiner are two people of the cast, the same ones for the same seed."""
    for seed in range(20):
        drawn = played.players(seed)
        assert len(set(drawn.values())) == 2
        assert drawn == played.players(seed)
