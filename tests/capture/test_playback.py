from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from review.capture.intake import copy_bytes, make_playback, probe
from review.capture.sound import sound_blocks
from review.capture.video import frames
from review.domain.errors import FilmRefused
from tests.films import click_at, even_times, is_upright, make_film, number_in, spoil_packet

UNEVEN = [0.0, 0.033, 0.1, 0.4, 0.41, 0.9, 1.3]


def _plain(folder: Path) -> Path:
    return make_film(folder / "film.mp4", UNEVEN, b_frames=2, gop=3)


def _vp9(folder: Path) -> Path:
    return make_film(folder / "film.webm", UNEVEN, codec="libvpx-vp9")


def _turned(folder: Path) -> Path:
    return make_film(folder / "film.mp4", UNEVEN, turn_deg=90)


def _flipped(folder: Path) -> Path:
    return make_film(folder / "film.mp4", UNEVEN, turn_deg=180, flipped=True)


def _late(folder: Path) -> Path:
    return make_film(folder / "film.mkv", [each + 0.7 for each in UNEVEN], sound=click_at(1.2, 2))


def _repeated(folder: Path) -> Path:
    return make_film(folder / "film.mkv", even_times(12), restamp=lambda stamp_ms: stamp_ms // 100 * 100)


def _ten_bit(folder: Path) -> Path:
    return make_film(folder / "film.mp4", UNEVEN, pixels="yuv444p10le", size=(127, 97))


@pytest.mark.parametrize(
    "make",
    [
        pytest.param(_plain, id="h264-uneven"),
        pytest.param(_vp9, id="vp9-uneven"),
        pytest.param(_turned, id="turned"),
        pytest.param(_flipped, id="turned-and-flipped"),
        pytest.param(_late, id="picture-late"),
        pytest.param(_repeated, id="repeated-stamps"),
        pytest.param(_ten_bit, id="ten-bit-odd-size"),
    ],
)
def test_the_copy_shows_each_frame_at_its_own_time(tmp_path: Path, make: Callable[[Path], Path]) -> None:
    """A browser plays the copy as it is, every frame upright and at the recording's time."""
    film = make(tmp_path)
    facts, times = probe(film)
    target = tmp_path / "copy.mp4"
    shares: list[float] = []
    make_playback(film, facts, target, shares.append)
    copied, copied_times = probe(target)
    assert copied.playback == "as is"
    assert copied.size_bytes <= copy_bytes(facts)
    assert copy_bytes(copied) == 0
    np.testing.assert_allclose(copied_times, times, atol=1e-4)
    pictures = [frame.picture for frame in frames(target, copied_times, 0, len(copied_times), 128)]
    assert [number_in(picture) for picture in pictures] == list(range(len(times)))
    assert all(is_upright(picture) for picture in pictures)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_a_new_encoding_keeps_the_colours(tmp_path: Path) -> None:
    """Red and blue of a film that is encoded anew are the copy's, which says that they are BT.709."""
    film = make_film(tmp_path / "film.mp4", UNEVEN, pixels="yuv444p")
    facts, times = probe(film)
    make_playback(film, facts, tmp_path / "copy.mp4")
    before = next(frames(film, times, 2, 3, 128)).picture.astype(int)
    after = next(frames(tmp_path / "copy.mp4", times, 2, 3, 128)).picture.astype(int)
    for place in (np.s_[16:32, 16:48], np.s_[16:32, 80:112]):
        np.testing.assert_allclose(after[place], before[place], atol=6)
    with av.open(str(tmp_path / "copy.mp4")) as container:
        assert next(container.decode(video=0)).colorspace == av.video.reformatter.Colorspace.ITU709


def test_a_damaged_film_is_copied_as_far_as_it_can_be_shown(tmp_path: Path) -> None:
    """Damage in the middle costs its own frames only; the copy holds all others at their times."""
    film = spoil_packet(make_film(tmp_path / "film.mp4", even_times(60), gop=10), 35)
    facts, times = probe(film)
    make_playback(film, facts, tmp_path / "copy.mp4")
    np.testing.assert_allclose(probe(tmp_path / "copy.mp4")[1], times, atol=1e-4)


def _loud_from_s(path: Path) -> float:
    samples = np.concatenate(list(sound_blocks(path, 0.0, 48_000, 1)))[:, 0]
    return float(np.flatnonzero(np.abs(samples.astype(float)) > 6000)[0]) / 48_000


@pytest.mark.parametrize("name", ["film.mp4", "film.mkv"])
@pytest.mark.parametrize(
    ("picture_from_s", "sound_from_s", "click_s", "expected_s"),
    [
        pytest.param(0.0, 0.0, 0.5, 0.5, id="both-at-0"),
        pytest.param(0.5, 0.0, 0.9, 0.4, id="picture-late"),
        pytest.param(0.0, 0.5, 0.25, 0.75, id="sound-late"),
    ],
)
def test_sound_is_laid_on_the_pictures_clock(
    tmp_path: Path, name: str, picture_from_s: float, sound_from_s: float, click_s: float, expected_s: float
) -> None:
    """A click is heard in the copy as long after the first frame as it was in the film, within 10 ms."""
    film = make_film(
        tmp_path / name,
        [picture_from_s + each for each in even_times(40)],
        sound=click_at(click_s, 1.5),
        sound_from_s=sound_from_s,
    )
    facts, _ = probe(film)
    make_playback(film, facts, tmp_path / "copy.mp4")
    assert _loud_from_s(tmp_path / "copy.mp4") == pytest.approx(expected_s, abs=0.01)


def test_the_copy_starts_with_its_index(tmp_path: Path) -> None:
    """The index of the copy comes before its pictures, so that it plays while it still loads."""
    film = _plain(tmp_path)
    make_playback(film, probe(film)[0], tmp_path / "copy.mp4")
    data = (tmp_path / "copy.mp4").read_bytes()
    assert 0 < data.index(b"moov") < data.index(b"mdat")


def test_a_failed_copy_leaves_nothing_behind(tmp_path: Path) -> None:
    """When the film is gone nothing is written under the target's name or another."""
    film = _vp9(tmp_path)
    facts, _ = probe(film)
    film.unlink()
    with pytest.raises(FilmRefused):
        make_playback(film, facts, tmp_path / "copy.mp4")
    assert list(tmp_path.iterdir()) == []


def _two_sounds(path: Path, second_s: float) -> Path:
    """Write a film of one picture with a tenth of a second of sound at 0 and another later on."""
    with av.open(str(path), "w") as out:
        voice = out.add_stream("pcm_s16le", rate=48_000, layout="mono")
        picture = out.add_stream("libx264", rate=30)
        picture.width, picture.height = 64, 64
        for at_s in (0.0, second_s):
            frame = av.AudioFrame.from_ndarray(np.full((1, 4800), 9000, np.int16), format="s16", layout="mono")
            frame.sample_rate, frame.pts = 48_000, round(at_s * 48_000)
            out.mux(voice.encode(frame))
        still = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), "rgb24")
        out.mux([*picture.encode(still), *picture.encode(None), *voice.encode(None)])
    return path


def test_a_gap_in_the_sound_becomes_silence(tmp_path: Path) -> None:
    """Sound that stops and goes on later is heard at its own times, with silence between."""
    path = _two_sounds(tmp_path / "film.mkv", 1.0)
    samples = np.concatenate(list(sound_blocks(path, 0.0, 48_000, 1)))[:, 0]
    loud = np.flatnonzero(np.abs(samples.astype(float)) > 4000) / 48_000
    assert len(samples) == pytest.approx(52_800, abs=100)
    assert loud[loud < 0.5].max() == pytest.approx(0.1, abs=0.002)
    assert loud[loud > 0.5].min() == pytest.approx(1.0, abs=0.002)


def test_sound_stamped_days_ahead_is_left_out(tmp_path: Path) -> None:
    """A damaged stamp that puts sound days after the picture does not fill the copy with days of silence."""
    path = _two_sounds(tmp_path / "film.mkv", 100_000.0)
    heard = sum(len(block) for block in sound_blocks(path, 0.0, 48_000, 1))
    assert heard == pytest.approx(4800, abs=100)
    make_playback(path, probe(path)[0], tmp_path / "copy.mp4")
    assert sum(len(block) for block in sound_blocks(tmp_path / "copy.mp4", 0.0, 48_000, 1)) < 3 * 4800


def test_silence_comes_in_pieces(tmp_path: Path) -> None:
    """A long gap is given piece by piece, so that no gap takes more memory than ten seconds do."""
    blocks = list(sound_blocks(_two_sounds(tmp_path / "film.mkv", 45.0), 0.0, 48_000, 1))
    assert sum(len(block) for block in blocks) == pytest.approx(45.1 * 48_000, abs=100)
    assert max(len(block) for block in blocks) <= 10 * 48_000
    assert sum(len(block) for block in sound_blocks(tmp_path / "film.mkv", 0.0, 48_000, 1, stop_s=45.0)) < 48_000
