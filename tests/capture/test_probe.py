import hashlib
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from review.capture.intake import FilmFacts, fingerprint, probe
from review.capture.video import frames
from review.domain.errors import FilmRefused
from tests.films import click_at, cut_off, even_times, is_upright, make_film, make_picture, number_in, spoil_packet


def test_uneven_times_are_kept(tmp_path: Path) -> None:
    """The times of a film with a varying rate are those of its frames, not index over rate."""
    asked = [0.0, 0.033, 0.1, 0.4, 0.41, 0.9]
    facts, times = probe(make_film(tmp_path / "film.mp4", asked))
    np.testing.assert_allclose(times, asked, atol=1e-4)
    assert facts.frames == 6


@pytest.mark.parametrize(
    ("name", "start_s"),
    [
        pytest.param("late.mp4", 0.5, id="picture-half-a-second-late"),
        pytest.param("hour.ts", 3600.0, id="stamps-start-at-one-hour"),
        pytest.param("late.mkv", 2.0, id="matroska-two-seconds-late"),
    ],
)
def test_time_zero_is_the_first_frame(tmp_path: Path, name: str, start_s: float) -> None:
    """Wherever the stamps of the container begin, the first shown frame is at 0."""
    film = make_film(tmp_path / name, [start_s + each for each in even_times(20)], sound=click_at(0.8, 1.2))
    _, times = probe(film)
    np.testing.assert_allclose(times, even_times(20), atol=1.1e-3)


@pytest.mark.parametrize("turn_deg", [90, 180, 270])
@pytest.mark.parametrize("flipped", [False, True], ids=["turned", "turned-and-flipped"])
def test_display_matrix_is_applied_once(tmp_path: Path, turn_deg: int, flipped: bool) -> None:
    """A film that asks its players for a turn is described and read as they show it."""
    film = make_film(tmp_path / "film.mp4", even_times(4), size=(160, 96), turn_deg=turn_deg, flipped=flipped)
    facts, times = probe(film)
    assert (facts.width_px, facts.height_px) == (160, 96)
    pictures = [frame.picture for frame in frames(film, times, 0, 4, 160)]
    assert [number_in(picture) for picture in pictures] == [0, 1, 2, 3]
    assert all(is_upright(picture) for picture in pictures)
    if not flipped:
        assert facts.rotation_deg == turn_deg


def test_pixel_aspect_is_applied(tmp_path: Path) -> None:
    """Pixels twice as wide as high make the shown picture twice as wide."""
    facts, _ = probe(make_film(tmp_path / "film.mp4", even_times(3), aspect=Fraction(2, 1)))
    assert (facts.width_px, facts.height_px) == (256, 96)


@pytest.mark.parametrize(
    ("codec", "pixels", "name", "expected", "playback"),
    [
        pytest.param("libx264", "yuv420p", "a.mp4", ("h264", 8), "remux", id="h264"),
        pytest.param("libx264", "yuv420p10le", "a.mkv", ("h264", 10), "transcode", id="h264-10-bit"),
        pytest.param("libx264", "yuv444p", "a.mp4", ("h264", 8), "transcode", id="h264-444"),
        pytest.param("libvpx", "yuv420p", "a.webm", ("vp8", 8), "transcode", id="vp8"),
        pytest.param("libvpx-vp9", "yuv420p", "a.mp4", ("vp9", 8), "transcode", id="vp9-in-mp4"),
    ],
)
def test_codecs_are_read_and_named(
    tmp_path: Path, codec: str, pixels: str, name: str, expected: tuple[str, int], playback: str
) -> None:
    """Films of the usual codecs are read, and what browsers cannot play is marked for a new encoding."""
    film = make_film(tmp_path / name, even_times(12), codec=codec, pixels=pixels)
    facts, times = probe(film)
    assert (facts.codec, facts.bit_depth) == expected
    assert facts.playback == playback
    assert [number_in(frame.picture) for frame in frames(film, times, 0, 12, 128)] == list(range(12))


def test_a_film_ready_for_browsers_is_played_as_it_is(tmp_path: Path) -> None:
    """An MP4 with its index first, H.264 and AAC needs no copy."""
    film = make_film(tmp_path / "film.mp4", even_times(30), sound=click_at(0.2, 1), container={"movflags": "faststart"})
    facts, _ = probe(film)
    assert (facts.playback, facts.has_sound, facts.notes) == ("as is", True, ())


@pytest.mark.parametrize(
    ("said", "played_hz", "slower"),
    [("240.000000", 30.0, 8.0), ("120", 24.0, 5.0), ("60", 25.0, 2.4), ("240", 240.0, 1.0), ("-1", 30.0, 1.0)],
)
def test_slow_motion_is_suggested_by_what_the_camera_says(
    tmp_path: Path, said: str, played_hz: float, slower: float
) -> None:
    """Frames filmed a second over frames played a second say how many times slower than life a film plays."""
    film = make_film(
        tmp_path / "film.mp4",
        even_times(10, played_hz),
        container={"movflags": "use_metadata_tags"},
        metadata={"com.android.capture.fps": said},
    )
    assert probe(film)[0].slow_motion == slower


def test_an_animated_gif_is_a_film(tmp_path: Path) -> None:
    """A GIF of several pictures has their times, is encoded anew for browsers, and is read from any frame on."""
    film = make_picture(tmp_path / "wave.gif", "gif", "rgb8", frames=40)
    facts, times = probe(film)
    assert (facts.frames, facts.playback, facts.has_sound) == (40, "transcode", False)
    assert facts.duration_s == pytest.approx(4.0)
    np.testing.assert_allclose(times, even_times(40, 10.0), atol=1e-9)
    assert [number_in(frame.picture) for frame in frames(film, times, 31, 40, 128)] == list(range(31, 40))


def test_a_cut_off_film_gives_what_is_there_and_says_so(tmp_path: Path) -> None:
    """Of a film that promises 60 frames and breaks off, those that come are used and counted."""
    film = cut_off(make_film(tmp_path / "film.mp4", even_times(60), container={"movflags": "faststart"}), 0.6)
    facts, times = probe(film)
    assert 0 < facts.frames < 60
    assert facts.notes == (f"The film ends early: {facts.frames} of 60 frames.",)
    read = [frame.index for frame in frames(film, times, 0, len(times), 64)]
    assert read == list(range(facts.frames))


def test_a_cut_off_film_without_a_frame_count_is_told_by_its_stated_end(tmp_path: Path) -> None:
    """WebM promises no count of frames; its stated end still tells that the picture stops early."""
    film = cut_off(make_film(tmp_path / "film.webm", even_times(90), codec="libvpx"), 0.5)
    facts, _ = probe(film)
    assert facts.duration_s < 2.1
    assert any("ends early" in note and "3.0 seconds" in note for note in facts.notes)


def test_damage_in_the_middle_is_found_without_decoding_all(tmp_path: Path) -> None:
    """A spoiled packet is met by its inner lengths, its frame is left out, and the film is still used."""
    film = spoil_packet(make_film(tmp_path / "film.mp4", even_times(60), gop=10), 35)
    facts, times = probe(film)
    assert facts.frames == 59
    assert facts.playback == "transcode"
    assert facts.notes == ("The film is damaged: 1 of 60 frames cannot be shown.",)
    assert np.max(np.diff(times)) == pytest.approx(2 / 30, abs=1e-3)


def test_frames_hidden_by_an_edit_list_are_no_frames(tmp_path: Path) -> None:
    """Frames that the film itself cuts away do not count; time 0 is the first one shown."""
    hidden = [each - 0.2 for each in even_times(30)]
    film = make_film(tmp_path / "film.mp4", hidden, container={"avoid_negative_ts": "disabled"})
    facts, times = probe(film)
    assert facts.frames == 24
    assert [number_in(frame.picture) for frame in frames(film, times, 0, 3, 128)] == [6, 7, 8]


def _repeated(folder: Path) -> tuple[Path, FilmFacts, np.ndarray]:
    film = make_film(folder / "film.mkv", even_times(40), gop=8, restamp=lambda stamp_ms: stamp_ms // 100 * 100)
    return film, *probe(film)


def test_repeated_stamps_become_rising_times(tmp_path: Path) -> None:
    """Three frames on each stamp are spread over the tenth of a second up to the next stamp."""
    _, facts, times = _repeated(tmp_path)
    np.testing.assert_allclose(times, even_times(40), atol=1e-3)
    assert any("repeat the time" in note for note in facts.notes)


@pytest.mark.parametrize("first", [0, 1, 7, 8, 9, 17, 25, 39])
def test_repeated_stamps_keep_frames_and_times_together(tmp_path: Path, first: int) -> None:
    """Wherever reading starts, a frame that shares its stamp with others has the same index."""
    film, _, times = _repeated(tmp_path)
    read = [(frame.index, number_in(frame.picture)) for frame in frames(film, times, first, 40, 128)]
    assert read == [(number, number) for number in range(first, 40)]


def test_fingerprint_is_the_sha_256_of_the_file(tmp_path: Path) -> None:
    """The fingerprint is the file's SHA-256, and progress ends at 1."""
    path = tmp_path / "film.bin"
    path.write_bytes(bytes(range(256)) * 9000)
    shares: list[float] = []
    assert fingerprint(path, shares.append) == hashlib.sha256(path.read_bytes()).hexdigest()
    assert shares[-1] == 1.0
    assert shares == sorted(shares)
    assert len(shares) > 1


def test_fingerprint_of_a_missing_file_is_refused(tmp_path: Path) -> None:
    """A file that cannot be read is refused by name."""
    with pytest.raises(FilmRefused, match=r"gone\.mp4"):
        fingerprint(tmp_path / "gone.mp4")
