"""A copy with masks shows each frame at its own time, nothing of what lay beneath and nothing of its origin."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from review.capture.intake import probe
from review.capture.masked import FILL, make_masked
from review.capture.video import frames
from tests.films import Picture, click_at, is_upright, make_film, number_in

UNEVEN = [0.0, 0.033, 0.1, 0.4, 0.41, 0.9, 1.3]
SIZE = (256, 192)
MASKS = np.array([[0.05, 0.95, 60.0, 50.0, 30.0]])
SAID = {"creation_time": "2026-03-02T18:30:00Z", "title": "L-12", "location": "+54.5-001.2/", "com.android.model": "x"}


def _noisy(seed: int, number: int) -> Picture:
    """Return a picture that is noise of its own within the mask and the same for every seed elsewhere."""
    picture = np.full((*SIZE[::-1], 3), 90 + 10 * number, np.uint8)
    rows, columns = np.mgrid[: SIZE[1], : SIZE[0]]
    inside = np.hypot(columns - 60, rows - 50) < 28
    picture[inside] = np.random.default_rng(seed + number).integers(0, 255, (int(inside.sum()), 3))
    return picture


def _shown(film: Path) -> list[Picture]:
    times = probe(film)[1]
    return [frame.picture for frame in frames(film, times, 0, len(times), SIZE[0])]


@pytest.mark.parametrize("turn_deg", [0, 90], ids=["as it is", "turned"])
def test_each_frame_is_upright_at_its_own_time(tmp_path: Path, turn_deg: int) -> None:
    """Uneven times and the turn that a phone notes down come out as a player shows them."""
    film = make_film(tmp_path / "film.mp4", UNEVEN, SIZE, turn_deg=turn_deg)
    facts, times = probe(film)
    shares: list[float] = []
    make_masked(film, facts, tmp_path / "copy.mp4", np.zeros((0, 5)), progress=shares.append)
    copied, copied_times = probe(tmp_path / "copy.mp4")
    assert (copied.width_px, copied.height_px, copied.playback) == (*SIZE, "as is")
    np.testing.assert_allclose(copied_times, times, atol=1e-4)
    assert [number_in(picture) for picture in _shown(tmp_path / "copy.mp4")] == list(range(len(times)))
    assert all(is_upright(picture) for picture in _shown(tmp_path / "copy.mp4"))
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_a_mask_is_one_grey_while_it_lasts(tmp_path: Path) -> None:
    """From its first to its last second the circle is flat grey, and what is away from it is as it was."""
    film = make_film(tmp_path / "film.mp4", UNEVEN, SIZE, picture=lambda number: _noisy(1, number))
    facts, times = probe(film)
    make_masked(film, facts, tmp_path / "copy.mp4", MASKS)
    for time_s, before, after in zip(times, _shown(film), _shown(tmp_path / "copy.mp4"), strict=True):
        inside, outside = after[30:70, 40:80].astype(int), np.s_[100:, 120:]
        masked = 0.05 <= time_s <= 0.95
        assert (inside.std() < 2) is masked
        assert (abs(inside.mean() - FILL) < 4 and inside.std() < 2) is masked
        np.testing.assert_allclose(after[outside].astype(int), before[outside].astype(int), atol=6)


def test_nothing_beneath_a_mask_reaches_the_copy(tmp_path: Path) -> None:
    """Two films that differ beneath the mask alone have the same copy, byte for byte: nothing can be worked out."""
    copies = []
    for seed in (1, 2):
        film = make_film(
            tmp_path / f"film{seed}.mkv",
            [0.1, 0.2, 0.3],
            SIZE,
            codec="ffv1",
            pixels="yuv420p",
            picture=lambda number, seed=seed: _noisy(seed, number),
        )
        copies.append(tmp_path / f"copy{seed}.mp4")
        make_masked(film, probe(film)[0], copies[-1], np.array([[0.0, 1.0, 60.0, 50.0, 32.0]]))
    assert copies[0].read_bytes() == copies[1].read_bytes()


@pytest.mark.parametrize("sound", [False, True], ids=["without sound", "with its sound"])
def test_sound_comes_along_only_if_asked_and_tags_never(tmp_path: Path, sound: bool) -> None:
    """No place, day, title or device of the film is in the copy, in no tag and in no byte."""
    film = make_film(
        tmp_path / "film.mp4",
        UNEVEN,
        SIZE,
        sound=click_at(0.3, 1.3),
        container={"movflags": "use_metadata_tags"},
        metadata=SAID,
    )
    with av.open(str(film)) as container:
        assert set(SAID) - {"creation_time"} <= set(container.metadata)
    make_masked(film, probe(film)[0], tmp_path / "copy.mp4", MASKS, sound)
    with av.open(str(tmp_path / "copy.mp4")) as container:
        assert len(container.streams.audio) == sound
        assert len(container.streams) == 1 + sound
        told = [container.metadata, *(stream.metadata for stream in container.streams)]
    assert {key for each in told for key in each} <= {
        "major_brand", "minor_version", "compatible_brands", "language", "handler_name", "vendor_id",
    }  # fmt: skip
    content = (tmp_path / "copy.mp4").read_bytes()
    assert not [word for word in SAID.values() if len(word) > 1 and word.encode() in content]


def test_what_cannot_be_written_leaves_no_part(tmp_path: Path) -> None:
    """A copy that is broken off leaves no file."""
    film = make_film(tmp_path / "film.mp4", UNEVEN, SIZE)

    def stop(share: float) -> None:
        raise KeyboardInterrupt

    (tmp_path / "copies").mkdir()
    with pytest.raises(KeyboardInterrupt):
        make_masked(film, probe(film)[0], tmp_path / "copies" / "copy.mp4", MASKS, progress=stop)
    assert list((tmp_path / "copies").iterdir()) == []
