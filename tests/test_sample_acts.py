"""The studio's acts, checks, sounds and command, as far as they need neither graphics nor the data of the people."""

from pathlib import Path

import av
import numpy as np
import numpy.typing as npt
import pytest

from sample_clips.recipe import sounds, studio
from sample_clips.recipe.acts.company import Laid
from sample_clips.recipe.acts.neck import WAYS
from sample_clips.recipe.casting import CAST, LOOKS
from sample_clips.recipe.catalogue import CATALOGUE
from sample_clips.recipe.checks import UNITS, faults, happening, must_read, must_refuse, onset
from sample_clips.recipe.encode import add_sound, presentation_times, write_film
from sample_clips.recipe.hung import hung
from sample_clips.recipe.recorded import LENGTH_S, stood

SPAN = (0.0, 5.0)


def _make(name: str, folder: Path) -> None:
    """Make a clip that is nothing but its name."""
    for ending in ("mp4", "truth.json"):
        (folder / f"{name}.{ending}").write_text(name, encoding="utf-8")


def _loudest(sound: sounds.Sound, around_s: float) -> float:
    """Return when, within 0.3 s of a moment, a sound first passes a fifth of its height there."""
    start = round((around_s - 0.3) * sounds.SAMPLES_PER_SECOND)
    piece = np.abs(sound[start : start + round(0.6 * sounds.SAMPLES_PER_SECOND)])
    return float((start + np.argmax(piece > piece.max() / 5)) / sounds.SAMPLES_PER_SECOND)


def _repeating(sound: npt.NDArray[np.float32]) -> float:
    """Return how much a sound below 1 kHz repeats itself at the best pitch from 80 to 300 Hz, 0 to 1."""
    spectrum = np.abs(np.fft.rfft(sound[:9600], 32768)) ** 2
    spectrum[np.fft.rfftfreq(32768, 1 / sounds.SAMPLES_PER_SECOND) > 1000] = 0
    correlation = np.fft.irfft(spectrum)
    shifts = slice(sounds.SAMPLES_PER_SECOND // 300, sounds.SAMPLES_PER_SECOND // 80)
    return float(correlation[shifts].max() / correlation[0])


@pytest.mark.parametrize("moments", [(1.0,), (0.5, 2.25)])
def test_knocks_begin_when_they_shall_and_stand_out(moments: tuple[float, ...]) -> None:
    """Each knock begins within 3 ms of its moment and is 20 dB louder than the room at first."""
    room = sounds.room(4.0)
    knocked = sounds.with_knocks(room, moments)
    for moment in moments:
        assert _loudest(knocked, moment) == pytest.approx(moment, abs=0.003)
        start = round(moment * sounds.SAMPLES_PER_SECOND)
        first = sounds.level_db(knocked[start : start + round(0.04 * sounds.SAMPLES_PER_SECOND)])
        assert first - sounds.level_db(room) == pytest.approx(20, abs=1)


def test_speech_repeats_itself_and_whispering_does_not() -> None:
    """A spoken stretch has a pitch, a whispered one none, and both are as loud above the room as asked."""
    room = sounds.room(6.0)
    stretches = [sounds.Stretch("voiced", 0.5, 2.5, 26.0), sounds.Stretch("whispered", 3.0, 5.0, 20.0)]
    heard = sounds.with_speech(room, stretches)
    spoken, whispered = (
        heard[round(s.onset_s * 48_000) : round(s.offset_s * 48_000)]
        - room[round(s.onset_s * 48_000) : round(s.offset_s * 48_000)]
        for s in stretches
    )
    assert _repeating(spoken) > 0.6
    assert _repeating(whispered) < 0.4
    assert sounds.level_db(spoken) - sounds.level_db(room) == pytest.approx(26, abs=0.5)
    assert sounds.level_db(whispered) - sounds.level_db(room) == pytest.approx(20, abs=0.5)


def test_a_well_formed_check_has_no_faults_and_each_broken_one_has() -> None:
    """Numbers, refusals and events pass; foreign measures, empty stretches, stray events, bare refusals do not."""
    good = must_read("base_of_support", SPAN, 1, events=[happening("step", 2.0, "left")])
    assert faults(good) == []
    assert faults(must_refuse("stance_width", SPAN, "side view")) == []
    assert faults(good | {"measure": "pulse"})
    assert faults(good | {"offset_s": 0.0})
    assert faults(good | {"side": "front"})
    assert faults(good | {"value": float("nan")})
    assert faults(good | {"events": [happening("step", 9.0)]})
    assert faults(must_refuse("stance_width", SPAN, ""))
    with pytest.raises(KeyError):
        must_read("pulse", SPAN, 60)


def test_checks_carry_the_unit_of_their_measure() -> None:
    """Every measure that a check may speak of gets the unit that is declared for it."""
    for measure, unit in UNITS.items():
        assert must_read(measure, SPAN, 1.0)["unit"] == unit


def test_an_onset_lies_between_frames() -> None:
    """A straight rise crosses its half way half way in time; what stays low has no onset."""
    times, values = np.array([0.0, 0.1, 0.2]), np.array([0.0, 0.0, 1.0])
    assert onset(times, values, 0.5) == pytest.approx(0.15)
    assert onset(times, values, 2.0) is None


def test_the_command_makes_what_is_missing_and_nothing_else(tmp_path: Path) -> None:
    """A clip that is there is left alone; one without its truth is made anew; nothing lies about afterwards."""
    _make("first", tmp_path)
    (tmp_path / "second.mp4").write_text("torn", encoding="utf-8")
    made = []

    def maker(name: str, folder: Path) -> None:
        made.append(name)
        _make(name, folder)

    failed = studio.make_all({"first": 1, "second": 1, "third": 2}, tmp_path, maker, say=lambda line: None)
    assert failed == {}
    assert made == ["second", "third"]
    assert (tmp_path / "second.mp4").read_text(encoding="utf-8") == "second"
    assert all(studio.is_there(name, tmp_path) for name in ("first", "second", "third"))
    assert list((tmp_path / studio.UNFINISHED).iterdir()) == []


def test_a_clip_that_fails_does_not_stop_the_others_and_leaves_nothing(tmp_path: Path) -> None:
    """The fault is told by the clip's name at the end; the others are there, the broken one is not half there."""

    def maker(name: str, folder: Path) -> None:
        (folder / f"{name}.mp4").write_text("half", encoding="utf-8")
        if name == "bad":
            raise RuntimeError("no graphics")
        _make(name, folder)

    lines: list[str] = []
    failed = studio.make_all({"bad": 1, "good": 1}, tmp_path, maker, jobs=2, say=lines.append)
    assert failed == {"bad": "no graphics"}
    assert studio.is_there("good", tmp_path)
    assert not (tmp_path / "bad.mp4").exists()
    assert any("bad could not be made" in line for line in lines)


def test_an_interruption_keeps_whole_clips_only(tmp_path: Path) -> None:
    """Interrupted while the second clip is made, the first stays and the second is gone."""

    def maker(name: str, folder: Path) -> None:
        (folder / f"{name}.mp4").write_text("half", encoding="utf-8")
        if name == "second":
            raise KeyboardInterrupt
        _make(name, folder)

    studio.make_whole("first", tmp_path, maker)
    with pytest.raises(KeyboardInterrupt):
        studio.make_whole("second", tmp_path, maker)
    assert studio.is_there("first", tmp_path)
    assert not list(tmp_path.glob("second*"))
    assert list((tmp_path / studio.UNFINISHED).iterdir()) == []


def test_the_record_of_standing_is_a_persons_and_not_made_up() -> None:
    """The minute has the root mean squares of the published record (2.07 mm sideways, 4.19 mm forward) and no jumps."""
    times = np.arange(0, LENGTH_S, 0.05)
    course = 1000 * np.array([stood(time) for time in times])
    assert course.std(axis=0) == pytest.approx([2.07, 4.19], abs=0.02)
    assert course.mean(axis=0) == pytest.approx([0, 0], abs=0.02)
    between = 1000 * np.array([stood(time) for time in times[:-1] + 0.025])
    assert np.abs(between - (course[1:] + course[:-1]) / 2).max() < 0.05


@pytest.mark.parametrize("time_s", [-0.1, 60.5])
def test_the_record_is_not_asked_beyond_its_minute(time_s: float) -> None:
    """What was not recorded is not made up."""
    with pytest.raises(ValueError, match="lasts from 0"):
        stood(time_s)


def test_every_measure_is_seen_on_four_people() -> None:
    """Of the acts that show a measure, clips with at least four people stand in the catalogue, none of them twice."""
    people: dict[str, set[str]] = {}
    for clip in CATALOGUE.values():
        word = clip.given["joint"] if clip.kind.__name__ == "Jerk" else clip.kind.__name__
        people.setdefault(word, set()).add(clip.person)
    shown = ("Mimic", "Jaw", "Neck", "Shrug", "Standing", "Gaze", "Lids", "knee", "elbow", "wrist", "ankle", "Voice")
    assert all(len(people[word]) >= 4 for word in shown), people
    assert all(len(people[word]) >= 4 for word in ("Touches", "Sway", "Target")), people
    ways = {
        way: {clip.person for clip in CATALOGUE.values() if way in dict(clip.given.get("ways", ()))} for way in WAYS
    }
    assert all(len(found) >= 4 for found in ways.values()), ways
    assert set().union(*people.values()) == set(LOOKS)


def test_the_catalogue_mixes_views_lights_and_skins() -> None:
    """Front and oblique views, sides, every light, shaken phones and all skins come up."""
    shoots = [clip.shoot for clip in CATALOGUE.values()]
    assert {shoot.view for shoot in shoots} == {"front", "oblique", "side", "back"}
    assert {shoot.light for shoot in shoots} == {"even", "window", "dim", "warm"}
    assert {(shoot.phone, shoot.noise) for shoot in shoots} >= {("tripod", "none"), ("hand", "phone")}
    people = {clip.person for clip in CATALOGUE.values()} & CAST.keys()
    assert {CAST[person].skin_word for person in people} == {"light", "medium", "dark"}


def test_pairs_pictures_and_dummies_are_in_the_catalogue() -> None:
    """An examiner stands by, passes, touches, holds a hammer or stays alone; a poster and a dummy are in as well.

    In some of the films somebody points at the examined person, in another one it has to be guessed.
    """
    pairs = {name: clip for name, clip in CATALOGUE.items() if "examiner" in clip.cast}
    assert all(clip.cast["examiner"] != clip.person for clip in pairs.values())
    companies = [clip.given["company"] for clip in pairs.values() if "company" in clip.given]
    assert len(companies) >= 4
    assert {company.pointed_s is None for company in companies} == {True, False}
    assert any(company.hands for company in companies)
    kinds = {clip.kind.__name__ for clip in CATALOGUE.values()}
    assert kinds >= {"Touched", "HammerInHand", "Leaving", "Target", "Poster", "Dummy", "DummyHead"}


def test_a_hand_goes_where_it_is_laid_and_comes_back() -> None:
    """It hangs before and after, and is there from the first to the last moment said."""
    laid = Laid("head", (0.0, 0.0, 0.0), 2.0, 4.0, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
    assert [laid.share(time_s) for time_s in (0.0, 1.3, 2.0, 3.0, 4.0, 4.7)] == pytest.approx([0, 0, 1, 1, 1, 0])
    assert 0 < laid.share(1.7) < 1


def test_a_picture_is_hung_where_its_corners_are() -> None:
    """What hangs fills the four corners and nothing beyond them, turned as they are."""
    wall, flat = np.zeros((40, 60, 3), np.uint8), np.zeros((20, 20, 3), np.uint8)
    flat[:10] = 200
    corners = np.array([[40.0, 10.0], [40.0, 30.0], [20.0, 30.0], [20.0, 10.0]])
    shown = hung(wall, flat, corners)[..., 0]
    assert (shown[12:28, 32:39] == 200).all()
    assert (shown[12:28, 21:28] == 0).all()
    assert (shown[:, 41:] == 0).all()
    assert (shown[:9] == 0).all()


def test_the_list_names_every_clip_and_an_unknown_name_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """``--list`` prints each name once; ``--only`` with a foreign one ends with 2 and tells which."""
    assert studio.main(["--list"]) == 0
    assert [line.split("\t")[0] for line in capsys.readouterr().out.splitlines()] == list(CATALOGUE)
    assert studio.main(["--only", "nothing_like_it"]) == 2
    assert "nothing_like_it" in capsys.readouterr().err


def test_a_sound_is_put_under_pictures_that_stay_as_they_are(tmp_path: Path) -> None:
    """After it the film has the same frames at the same times and a sound as long as they are."""
    film = tmp_path / "film.mp4"
    grey = np.full((64, 64, 3), 128, np.uint8)
    write_film(film, [grey] * 30, (64, 64), 30, "ultrafast", 15)
    before = presentation_times(film)
    add_sound(film, sounds.with_knocks(sounds.room(2.0), [1.0]))
    assert presentation_times(film) == before
    with av.open(str(film)) as opened:
        samples = np.concatenate([frame.to_ndarray()[0] for frame in opened.decode(audio=0)])
    assert len(samples) / sounds.SAMPLES_PER_SECOND == pytest.approx(2.0, abs=0.1)
    assert _loudest(samples, 1.0) == pytest.approx(1.0, abs=0.03)
