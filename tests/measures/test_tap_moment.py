"""Taps by made knocks and by a made hand that strikes and springs back."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Estimate, Event, Reason
from review.domain.tracks import FOUND, NOT_FOUND, empty_tracks
from review.measures import measure
from review.pipeline.values import measured
from tests.films import even_times
from tests.synthetic_sound import heard, knock, noise, put, voiced, whispered

ROOM = 0.003
MOMENTS = [1.013, 2.5, 3.271, 4.9]


def told(tracks: xr.Dataset) -> tuple[Estimate, tuple[Event, ...]]:
    """Return the count of taps and the taps of these tracks."""
    of = measure("tap_moment")
    trace = of.trace(tracks)
    (estimate,) = of.summarise(trace)
    return estimate, of.events(trace)


def moments(tracks: xr.Dataset) -> list[float]:
    """Return the moments of the taps."""
    return [event.interval.onset_s for event in told(tracks)[1]]


def knocks(above_db: float = 20.0, seed: int = 1, gain: float = 1.0) -> np.ndarray:
    """Return six seconds of a room with knocks at `MOMENTS`."""
    sound = noise(6, ROOM, seed)
    for moment in MOMENTS:
        put(sound, knock(ROOM * 10 ** (above_db / 20)), moment)
    return gain * sound


@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
@pytest.mark.parametrize("gain", [0.3, 1.0, 5.0])
def test_taps_are_found_within_a_frame_whatever_rate_and_gain(tmp_path: Path, rate_hz: float, gain: float) -> None:
    """Four knocks 20 dB above the noise are four taps, each within 5 ms, far less than a frame."""
    tracks = heard(tmp_path, knocks(gain=gain), rate_hz)
    assert moments(tracks) == pytest.approx(MOMENTS, abs=0.005)
    count = told(tracks)[0]
    assert (count.value, count.low <= 4 <= count.high, count.reasons) == (4.0, True, ())


def test_dropped_frames_lose_no_tap(tmp_path: Path) -> None:
    """The sound of a frame that is shown for long holds the taps while it is shown."""
    tracks = heard(tmp_path, knocks())
    needed = (np.arange(tracks.sizes["time"]) % 3 == 0) | (tracks["sound_onset"].values > 0)
    kept = tracks.isel(time=np.flatnonzero(needed))
    assert moments(kept) == pytest.approx(MOMENTS, abs=0.005)


@pytest.mark.parametrize("seed", range(4))
def test_noise_alone_holds_no_tap(tmp_path: Path, seed: int) -> None:
    """Ten seconds of even noise: no tap, and none possible."""
    count, events = told(heard(tmp_path, noise(10, ROOM, seed)))
    assert (count.value, count.high, events) == (0.0, 0.0, ())


@pytest.mark.parametrize("make", [voiced, whispered])
def test_syllables_are_no_taps(tmp_path: Path, make: object) -> None:
    """Four seconds of syllables in a quiet room hold no tap."""
    sound = noise(8, ROOM)
    assert callable(make)
    put(sound, make(4.0, 12 * ROOM), 2.0)
    assert moments(heard(tmp_path, sound)) == []


def test_tap_between_words_is_found(tmp_path: Path) -> None:
    """A knock in a pause of a second between two sentences is the only tap."""
    sound = noise(8, ROOM)
    put(sound, voiced(2.0, 12 * ROOM), 1.0)
    put(sound, voiced(2.0, 12 * ROOM), 5.0)
    put(sound, knock(15 * ROOM), 4.0)
    assert moments(heard(tmp_path, sound)) == pytest.approx([4.0], abs=0.005)


def test_sudden_noise_that_stays_is_no_tap(tmp_path: Path) -> None:
    """A fan that is switched on begins suddenly and does not fall again."""
    sound = noise(6, ROOM)
    put(sound, noise(3, 20 * ROOM, 5), 3.0)
    assert moments(heard(tmp_path, sound)) == []


def test_slow_motion_counts_in_the_seconds_of_life_and_tells_the_films(tmp_path: Path) -> None:
    """In a film that plays four times slower, taps are told where the film has them."""
    tracks = heard(tmp_path, knocks()).assign_attrs(slow_motion=4.0)
    (value,) = measured(tracks, measure("tap_moment"), "r")
    assert [event.interval.onset_s for event in value.events] == pytest.approx(MOMENTS, abs=0.005)


def striking(rate_hz: float = 30.0, far_px: float = 0.0) -> xr.Dataset:
    """Return silent tracks in which another's hand swings at an elbow at 1 and 3 s, and goes back more slowly."""
    times = np.array(even_times(round(5 * rate_hz), rate_hz))
    tracks = empty_tracks(times, 640, 480)
    tracks["sound_state"].values[:] = NOT_FOUND
    for stream in ("hand", "pose"):
        tracks[f"{stream}_state"].values[:] = FOUND
    away = np.interp(times, [0, 0.8, 1.0, 1.25, 2.8, 3.0, 3.3, 5], [90, 90, 0, 90, 90, 0, 90, 90])
    hand = tracks["other_hand_xy"].values
    hand[:, 0, :, 0] = 300 + far_px + away[:, None]
    hand[:, 0, :, 1] = 240 + np.linspace(0, 20, 21)
    hand[:, 0, 9] = hand[:, 0, 0] + [0, 20]
    tracks["pose_xy"].loc[{"pose_point": "left_elbow"}] = [300.0, 240.0]
    return tracks


@pytest.mark.parametrize("rate_hz", [30.0, 60.0])
def test_without_sound_the_hand_that_turns_round_is_a_weak_tap(rate_hz: float) -> None:
    """Two strokes are two taps within 0.05 s, with the reason that nothing was heard."""
    count, events = told(striking(rate_hz))
    assert [event.interval.onset_s for event in events] == pytest.approx([1.0, 3.0], abs=0.05)
    assert (count.value, count.reasons[0]) == (2.0, Reason.NO_SOUND)


def test_hand_far_from_any_limb_strikes_nothing() -> None:
    """The same strokes eight hand lengths off the elbow are no taps."""
    assert told(striking(far_px=320.0))[0].value == 0.0


def test_hand_that_moves_evenly_or_shakes_strikes_nothing() -> None:
    """A hand that drifts, with a pixel of noise, turns round nowhere."""
    tracks = striking()
    shake = np.random.default_rng(3).normal(0, 1, (tracks.sizes["time"], 21, 2))
    tracks["other_hand_xy"].values[:, 0] = tracks["other_hand_xy"].values[0, 0] + shake
    assert told(tracks)[0].value == 0.0


def test_neither_sound_nor_hand_is_refused() -> None:
    """No number and the reasons why; not looked at yet is told apart."""
    tracks = striking()
    tracks["other_hand_xy"].values[:] = np.nan
    estimate = told(tracks)[0]
    assert (estimate.value, estimate.reasons) == (None, (Reason.HAND_NOT_FOUND,))
    assert told(empty_tracks(even_times(30), 64, 48))[0].reasons == (Reason.NOT_LOOKED,)


def test_a_hand_that_is_often_lost_gives_no_number() -> None:
    """Strokes may lie where it was lost: none seen is not none made. Those that were seen stay events."""
    tracks = striking()
    tracks["other_hand_xy"].values[(tracks["time"].values > 1.5) & (tracks["time"].values < 2.7)] = np.nan
    estimate, events = told(tracks)
    assert (estimate.value, estimate.reasons) == (None, (Reason.NO_SOUND, Reason.HAND_NOT_FOUND))
    assert [event.interval.onset_s for event in events] == pytest.approx([1.0, 3.0], abs=0.05)
