"""What holds for every measure: the picture's size, place and sides, the frame rate and lost frames change no truth.

Each measure is tried on made tracks that show what it measures. One without tracks to be tried on fails.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from review.capture.loudness import sound_tracks
from review.capture.probe import probe
from review.domain.model import Estimate, Event
from review.domain.tracks import FOUND, empty_tracks
from review.measures import measure, registry
from review.measures.speech_runs import USUAL_VOICE
from tests.changed import mirrored, scaled, shifted, swapped, thinned
from tests.films import even_times, make_film
from tests.measures import (
    test_base_of_support,
    test_facial_movement,
    test_gaze_steadiness,
    test_gaze_sweep,
    test_hold_time,
    test_jaw_movement,
    test_postural_sway,
    test_shoulder_elevation,
    test_sway_quotient,
    test_target_path,
    test_tendon_jerk,
    test_touch_sequence,
)
from tests.synthetic import clock
from tests.synthetic_face import Face, face_tracks, steps
from tests.synthetic_hands import Scene
from tests.synthetic_head import Head, head_tracks, held
from tests.synthetic_sound import Sound, knock, noise, put, voiced, whispered

FPS = 30.0
ROOM = 0.003


@dataclass(frozen=True)
class Shown:
    """What some measures are tried on.

    Parameters
    ----------
    made
        Returns its tracks at so many frames a second.
    names
        The measures.
    rates_hz
        The usual rate, and another one.
    """

    made: Callable[[float], xr.Dataset]
    names: tuple[str, ...]
    rates_hz: tuple[float, float] = (FPS, 60.0)


def _sways(rate_hz: float) -> xr.Dataset:
    def aside(times: np.ndarray) -> np.ndarray:
        """Sways evenly, and once further than ever."""
        return np.asarray(test_postural_sway.swaying(14)(times) + 12 * np.exp(-(((times - 20.2) / 0.8) ** 2)))

    tracks = test_postural_sway.drawn(14, times=clock(30, rate_hz), sway_px=aside)
    tracks["people_state"].values[:], tracks["people_count"].values[:] = FOUND, 1
    return tracks


def _steps(rate_hz: float) -> xr.Dataset:
    quiet = test_base_of_support.quiet(clock(6, rate_hz), stance=0.9)
    return test_base_of_support.stepped(quiet, "left", 3.0, 12.0)


def _moves_head(rate_hz: float) -> xr.Dataset:
    times = clock(16, rate_hz)
    yaw = 40 * held(times, 1, 2.6) - 25 * held(times, 3, 4.6)
    pitch = 30 * held(times, 5, 6.6) - 22 * held(times, 7, 8.6)
    roll = 24 * held(times, 9, 10.6) - 32 * held(times, 11, 12.6)
    return head_tracks(times, Head(angles=(yaw, pitch, roll), centre=(600.0, 300.0)))


def _looks(rate_hz: float) -> xr.Dataset:
    usual, across, up = test_gaze_sweep.looking((1.0, 0.0, 0.0), *test_gaze_sweep.H_PATTERN, (1.0, 0.0, 0.0))
    times = clock(usual[-1], rate_hz)
    return face_tracks(times, test_gaze_sweep.eyes(np.interp(times, usual, across), np.interp(times, usual, up)))


def _wavers(rate_hz: float) -> xr.Dataset:
    return head_tracks(*test_gaze_steadiness.film(rate_hz, amplitude_deg=4.0, noise_deg=0.05))


def _shuts(rate_hz: float) -> xr.Dataset:
    times = clock(6, rate_hz)
    spells = {"left": ((1.0, 1.2, 0.8), (2.0, 4.0, 0.8)), "right": ((1.0, 1.2, 0.8), (2.0, 3.5, 0.8))}
    blink = [steps(times, 0.1, *spells[side]) for side in ("left", "right")]
    ratio = [0.3 - 0.386 * (one - 0.1) for one in blink]
    return face_tracks(times, Face(blink=(blink[0], blink[1]), ratio=(ratio[0], ratio[1])))


def _jerks(joint: str) -> Callable[[float], xr.Dataset]:
    return lambda rate_hz: test_tendon_jerk.struck(joint, 25.0, clock(4, rate_hz), noise_px=0.1, at=(300.0, 200.0))


def _posed(rate_hz: float) -> xr.Dataset:
    return test_hold_time.posed((2, 12), (4, 15), clock(20, rate_hz))


SEEN: Mapping[str, Shown] = {
    "sways": Shown(
        _sways,
        (
            *("postural_sway", "postural_sway_mm", "sway_range", "sway_range_mm", "sway_velocity", "sway_velocity_mm"),
            *("sway_noise_floor", "stance_width", "stance_width_mm", "capture_light", "capture_contrast"),
            *("capture_sharpness", "capture_body_in_view", "capture_camera_still", "capture_people"),
        ),
    ),
    "stands with eyes open, then shut": Shown(
        lambda rate_hz: test_sway_quotient.stood(7, 14, clock(50, rate_hz)), ("sway_quotient",)
    ),
    "steps": Shown(_steps, ("base_of_support",)),
    "holds a posture": Shown(_posed, ("hold_time",)),
    "shrugs": Shown(
        lambda rate_hz: test_shoulder_elevation.shrugging(0.12, 0.06, clock(6, rate_hz)), ("shoulder_elevation",)
    ),
    "moves the face": Shown(
        lambda rate_hz: head_tracks(
            clock(11.5, rate_hz), test_facial_movement.acted(clock(11.5, rate_hz), left=1.0, right=0.6)
        ),
        ("facial_movement", "smile_asymmetry", "brow_asymmetry", "capture_face_size"),
    ),
    "moves the jaw": Shown(
        lambda rate_hz: head_tracks(clock(8, rate_hz), test_jaw_movement.acted(clock(8, rate_hz))),
        ("jaw_opening", "jaw_side"),
    ),
    "moves the head": Shown(
        _moves_head,
        (
            *("head_stillness", "head_yaw_range", "head_pitch_range", "head_roll_range"),
            *("neck_rotation", "neck_flexion", "neck_extension", "neck_side_bend"),
        ),
    ),
    "looks about": Shown(_looks, ("gaze_sweep", "gaze_extent")),
    "has eyes that waver": Shown(_wavers, ("gaze_steadiness",), (60.0, 100.0)),
    "shuts the eyes": Shown(_shuts, ("eye_closure", "eyes_closed_share")),
    **{f"{joint} jerks": Shown(_jerks(joint), (f"{joint}_jerk",)) for joint in ("elbow", "wrist", "knee", "ankle")},
    "is touched": Shown(
        lambda rate_hz: test_touch_sequence.touching(scene=Scene(rate_hz=rate_hz)), ("touch_sequence", "touch_rhythm")
    ),
    "follows a target": Shown(
        lambda rate_hz: test_target_path.led(*test_target_path.H_SHAPE, scene=Scene(rate_hz=rate_hz)),
        ("target_path", "target_pace"),
    ),
}
"""What is seen, and the measures that are tried on it."""

HEARD = (
    *(
        "voice_level",
        "whispered_share",
        "whisper_level",
        "answer_delay",
        "tap_moment",
        "capture_sound_level",
        "capture_sound_clipping",
    ),
    "capture_sound_hum",
)
"""Measures of what is heard, tried on films with a made sound."""

CLOCKED = ("capture_frame_rate",)
"""Measures of the clock itself, which other rates and lost frames change in truth."""

FALLS_WITH_RATE = ("sway_noise_floor",)
"""White noise of which a band is kept: twice the frames a second leave a half of its power."""

TRIED = {name: shown for shown in SEEN.values() for name in shown.names}

Told = dict[str | None, Estimate]


def told(name: str, tracks: xr.Dataset) -> tuple[Told, tuple[Event, ...]]:
    """Return a measure's estimates by side, and its events."""
    one = measure(name)
    trace = one.trace(tracks)
    return {found.side: found for found in one.summarise(trace)}, one.events(trace) if one.events else ()


def test_every_measure_is_tried() -> None:
    """No measure is without tracks that show what it measures, and none is tried that is not there."""
    assert {*TRIED, *HEARD, *CLOCKED} == set(registry())


@cache
def plain(name: str) -> xr.Dataset:
    """Return the unchanged tracks that a measure is tried on."""
    return _made(TRIED[name].made, TRIED[name].rates_hz[0])


@cache
def _made(made: Callable[[float], xr.Dataset], rate_hz: float) -> xr.Dataset:
    return made(rate_hz)


@cache
def known_of(name: str) -> tuple[Told, tuple[Event, ...]]:
    """Return what a measure says of the unchanged tracks."""
    return told(name, plain(name))


@pytest.fixture(scope="module", autouse=True)
def _forgets() -> Iterator[None]:
    """Keep the tracks for these tests only."""
    yield
    for kept in (plain, _made, known_of):
        kept.cache_clear()


def alike(name: str, found: Told, known: Told, factor: float = 1.0, within: float = 2e-3) -> None:
    """Hold that two sets of estimates say the same, numbers to a share of their size."""
    assert found.keys() == known.keys()
    for side, one in found.items():
        other = known[side]
        assert (one.value is None) == (other.value is None), (name, side, one, other)
        if other.value is not None:
            size = within * max(abs(other.value), abs(other.high - other.low), 1e-3)
            assert [one.value, one.low, one.high] == pytest.approx(
                [factor * other.value, factor * other.low, factor * other.high], abs=factor * size
            ), (name, side)
        assert one.reasons == other.reasons


def happened(events: tuple[Event, ...], swap: bool = False) -> list[tuple[str, str | None, float]]:
    """Return kind, side and onset of events, with left and right changed over if asked."""
    found = [
        (swapped(event.kind), event.side and swapped(event.side), event.interval.onset_s)
        if swap
        else (event.kind, event.side, event.interval.onset_s)
        for event in events
    ]
    return sorted(found, key=lambda one: (one[0], one[1] or "", one[2]))


def same_events(one: tuple[Event, ...], other: tuple[Event, ...], within_s: float, swap: bool = False) -> None:
    """Hold that the same things happened at the same moments."""
    found, known = happened(one, swap), happened(other)
    assert [event[:2] for event in found] == [event[:2] for event in known]
    assert [event[2] for event in found] == pytest.approx([event[2] for event in known], abs=within_s)


@pytest.mark.parametrize("name", TRIED)
def test_something_is_measured(name: str) -> None:
    """The tracks show what is measured: there is a number, in an interval (none of the ankle, whose jerks are seen)."""
    found, events = known_of(name)
    numbers = [one for one in found.values() if one.value is not None]
    assert numbers or (name == "ankle_jerk" and events)
    assert all(one.low <= one.value <= one.high for one in numbers)


@pytest.mark.parametrize("factor", [0.8, 1.5])
@pytest.mark.parametrize("name", TRIED)
def test_size_of_the_picture_does_not_matter(name: str, factor: float) -> None:
    """Filmed with more or fewer pixels, all is said as before; what is told in pixels grows along."""
    enlarged, events = told(name, scaled(plain(name), factor))
    known, known_events = known_of(name)
    alike(name, enlarged, known, factor if measure(name).unit == "px" else 1.0)
    same_events(events, known_events, 0.01)


@pytest.mark.parametrize("name", TRIED)
def test_place_in_the_picture_does_not_matter(name: str) -> None:
    """Filmed with the camera pointing a little elsewhere, all is said as before."""
    moved, events = told(name, shifted(plain(name), 14.0, -6.0))
    known, known_events = known_of(name)
    alike(name, moved, known)
    same_events(events, known_events, 0.01)


@pytest.mark.parametrize("name", TRIED)
def test_a_mirror_changes_the_sides_over(name: str) -> None:
    """What the left did the right does, with the same numbers; left less right changes its sign."""
    seen, events = told(name, mirrored(plain(name)))
    known, known_events = known_of(name)
    if "left - right" in measure(name).unit_words:
        (one,), (other,) = seen.values(), known.values()
        assert [one.value, one.low, one.high] == pytest.approx([-other.value, -other.high, -other.low], abs=0.01)
        return
    alike(name, {side and swapped(side): one for side, one in seen.items()}, known, within=0.02)
    same_events(events, known_events, 0.01, swap=True)


def near(name: str, found: Told, known: Told) -> None:
    """Hold that what is said lies in the intervals of what was said, and is nearly the same."""
    assert found.keys() == known.keys()
    for side, one in found.items():
        other = known[side]
        assert (one.value is None) == (other.value is None), (name, side, one, other)
        if other.value is None:
            continue
        slack = 0.02 * max(1e-3, abs(other.value))
        assert other.low - slack <= one.value <= other.high + slack, (name, side, one, other)
        assert one.low - slack <= other.value <= one.high + slack, (name, side, one, other)


@pytest.mark.parametrize("name", TRIED)
def test_the_frame_rate_does_not_matter(name: str) -> None:
    """Filmed with more frames a second, the same is said within the intervals, and the same happened."""
    shown = TRIED[name]
    faster, events = told(name, _made(shown.made, shown.rates_hz[1]))
    known, known_events = known_of(name)
    if name in FALLS_WITH_RATE:
        share = np.sqrt(shown.rates_hz[0] / shown.rates_hz[1])
        assert faster[None].value == pytest.approx(share * known[None].value, rel=0.1)
        return
    near(name, faster, known)
    same_events(events, known_events, 0.1)


@pytest.mark.parametrize("name", TRIED)
def test_lost_frames_hardly_matter(name: str) -> None:
    """With a sixth of the frames lost, the same is said within the intervals, and the same happened."""
    fewer, events = told(name, thinned(plain(name), 1 / 6))
    known, known_events = known_of(name)
    near(name, fewer, known)
    same_events(events, known_events, 0.1)


def _sound() -> Sound:
    """Return ten seconds: a whisper, a voice that answers it, two knocks."""
    sound = noise(10, ROOM)
    put(sound, whispered(2, ROOM * 10), 2.0)
    put(sound, voiced(2, ROOM * 10), 6.0)
    for moment in (0.9, 9.2):
        put(sound, knock(ROOM * 20), moment)
    return sound


@pytest.fixture(scope="module")
def sounding(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], xr.Dataset]:
    """Return the tracks of films with one sound: as usual, with twice the frames, with a fifth of the frames lost."""
    folder, kept = tmp_path_factory.mktemp("sounding"), dict[str, xr.Dataset]()
    clocks = {"usual": even_times(300, FPS), "fast": even_times(600, 60.0)}
    lost = np.random.default_rng(5).random(300) < 0.2
    lost[[0, -1]] = False
    clocks["lossy"] = [time for time, gone in zip(clocks["usual"], lost, strict=True) if not gone]

    def made(kind: str) -> xr.Dataset:
        if kind not in kept:
            film: Path = make_film(folder / f"{kind}.mp4", clocks[kind], sound=_sound())
            heard = sound_tracks(film, probe(film)[1], 128, 96)
            whole = empty_tracks(heard["time"].values, 128, 96).assign(heard.data_vars)
            kept[kind] = whole.assign_attrs(dict(zip(USUAL_VOICE, (20.0, 18.0, 22.0), strict=True)))
        return kept[kind]

    return made


@pytest.mark.parametrize("name", HEARD)
def test_pictures_do_not_change_what_is_heard(name: str, sounding: Callable[[str], xr.Dataset]) -> None:
    """Size, place and a mirror leave the sound as it is."""
    known, known_events = told(name, sounding("usual"))
    for change in (lambda tracks: scaled(tracks, 2.0), lambda tracks: shifted(tracks, 3.0, 3.0), mirrored):
        found, events = told(name, change(sounding("usual")))
        alike(name, found, known)
        same_events(events, known_events, 1e-9)


@pytest.mark.parametrize("kind", ["fast", "lossy"])
@pytest.mark.parametrize("name", HEARD)
def test_frames_hardly_change_what_is_heard(name: str, kind: str, sounding: Callable[[str], xr.Dataset]) -> None:
    """With twice the frames, or a fifth of them lost, the same is heard at the same moments."""
    known, known_events = told(name, sounding("usual"))
    found, events = told(name, sounding(kind))
    assert next(iter(known.values())).value is not None
    near(name, found, known)
    same_events(events, known_events, 0.1)


def test_the_clock_is_told_as_it_is() -> None:
    """Frames a second follow the rate and the losses; size, place and a mirror leave them alone."""
    tracks = plain("stance_width")
    (known,) = told("capture_frame_rate", tracks)[0].values()
    assert known.value == pytest.approx(FPS)
    for change in (scaled(tracks, 2.0), shifted(tracks, 5.0, 5.0), mirrored(tracks)):
        assert told("capture_frame_rate", change)[0][None].value == known.value
    fewer = thinned(tracks, 0.2)
    expected = (fewer.sizes["time"] - 1) / float(fewer["time"][-1])
    assert told("capture_frame_rate", fewer)[0][None].value == pytest.approx(expected)
