"""A masked copy, from the film to the file: whose face stays, what is told, who may, and that it goes with the film."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import numpy.typing as npt
import pytest

from review.actions import recordings
from review.actions.erasing import erase
from review.actions.masking import drop_copy, mask_heads
from review.actions.people import ensure
from review.actions.pointings import point
from review.capture.detectors import Detectors
from review.capture.head import Box
from review.capture.masked import FILL
from review.capture.models import find_models
from review.capture.probe import probe
from review.capture.video import frames
from review.domain.errors import NotAllowed, NotFound
from review.domain.masking import Heads
from review.domain.model import Person, Recording, Role
from review.report.masking import masked, masked_file
from review.store.home import Home
from review.store.media import media_folder
from review.store.repository import repository
from tests.films import even_times, make_film
from tests.homes import learners_home
from tests.leaving import SIZE, heads, leaving

Made = tuple[Home, Person, Recording, Path]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Add the film of one who leaves, point at the one who stays, and have the other's face masked."""
    folder = tmp_path_factory.mktemp("masking")
    home, learner = learners_home(folder / "home")
    recording = recordings.add(home, learner, leaving(folder / "film.mp4"))
    x, y = heads("partner")[15] / SIZE
    with repository(home) as repo:
        point(repo, learner, recording, 0.5, float(x), float(y) + 0.1)
    mask_heads(home, learner, recording.id, Heads.OTHERS)
    return home, learner, recording, masked_file(home, learner, recording.id, Heads.OTHERS)[0]


def _about(picture: npt.NDArray[np.uint8], place: npt.NDArray[np.float64], half: int) -> npt.NDArray[np.int_]:
    x, y = place.astype(int)
    return picture[max(0, y - half) : y + half, max(0, x - half) : x + half].astype(int)


def _pictures(film: Path) -> list[npt.NDArray[np.uint8]]:
    times = probe(film)[1]
    return [frame.picture for frame in frames(film, times, 0, len(times), SIZE[0])]


def test_the_others_face_is_grey_and_the_examined_ones_as_it_was(made: Made) -> None:
    """In every frame the one who leaves has a flat grey head; the face of the one pointed at differs by coding only."""
    home, _, recording, copy = made
    partner, examiner = heads("partner"), heads("examiner")
    shown = list(zip(_pictures(home.root / recording.original), _pictures(copy), strict=True))
    for number, (before, after) in enumerate(shown):
        if np.isfinite(examiner[number]).all():
            head = _about(after, examiner[number], 14)
            assert np.abs(head - FILL).mean() < 6, number
            assert head.std() < 6, number
        face = np.abs(_about(after, partner[number], 14) - _about(before, partner[number], 14)).mean()
        assert face < 6, number


def test_the_face_detector_finds_the_examined_face_alone(made: Made) -> None:
    """Close up, the face model still finds the face left open in nine of ten frames, and never the masked one."""
    copy = made[3]
    found = {"partner": 0, "examiner": 0}
    pictures = _pictures(copy)[:60:6]
    with Detectors(find_models()) as detectors:
        for person in found:
            for picture, (x, y) in zip(pictures, heads(person)[:60:6], strict=True):
                box = Box(x - 45, y - 45, 90, 90)
                cut = picture[max(0, int(box.top)) : int(y) + 45, max(0, int(box.left)) : int(x) + 45]
                large = np.ascontiguousarray(cut.repeat(4, axis=0).repeat(4, axis=1))
                found[person] += detectors.face_cut(large) is not None
    assert found["examiner"] == 0
    assert found["partner"] >= 9


def test_the_copy_is_on_the_films_clock_and_says_nothing_of_it(made: Made) -> None:
    """Times are the film's; there is no sound unless asked for, no tag, and no word of the film in name or bytes."""
    home, learner, recording, copy = made
    np.testing.assert_allclose(probe(copy)[1], probe(home.root / recording.original)[1], atol=1e-4)
    with av.open(str(copy)) as container:
        assert not container.streams.audio
        assert not {"creation_time", "title", "location", "com.android.model"} & set(container.metadata)
    assert recording.name.encode() not in copy.read_bytes()
    (told,) = masked(home, learner, recording.id)
    assert (told["heads"], told["sound"], told["outdated"]) == ("others", False, False)
    assert told["name"] == "attempt-1-faces-masked-others.mp4"


def test_the_copy_is_outdated_once_somebody_points_anew(made: Made) -> None:
    """Whoever was pointed at after the copy was made may be masked in it, and somebody else not: that is told."""
    home, learner, recording, _ = made
    with repository(home) as repo:
        point(repo, learner, recording, 0.5, 0.5, 0.5)
    assert [each["outdated"] for each in masked(home, learner, recording.id)] == [True]


def test_a_peer_may_neither_make_nor_take_one(made: Made) -> None:
    """A copy for sharing is for those who keep the film."""
    home, _, recording, _ = made
    with repository(home) as repo:
        peer = ensure(repo, "P-03", Role.PEER)
    for deed in (mask_heads, masked_file, drop_copy):
        with pytest.raises(NotAllowed, match="masked faces"):
            deed(home, peer, recording.id, Heads.OTHERS)


@pytest.fixture
def short(tmp_path: Path) -> tuple[Home, Person, Recording]:
    """Add a film of a third of a second without anybody in it."""
    home, learner = learners_home(tmp_path / "home")
    film = make_film(tmp_path / "film.mp4", even_times(10), (256, 192))
    return home, learner, recordings.add(home, learner, film)


def test_breaking_off_leaves_nothing_and_keeps_the_earlier_copy(short: tuple[Home, Person, Recording]) -> None:
    """Whichever stage is broken off, no part stays, and a copy made before is still the same."""
    home, learner, recording = short
    folder = media_folder(home, recording.sha256)
    mask_heads(home, learner, recording.id, Heads.ALL)
    before = {path.name: path.read_bytes() for path in (folder / "masked").iterdir()}
    for stage in ("Reading the film", "Looking for heads", "Writing the copy"):

        def stop(now: str, share: float, stage: str = stage) -> None:
            if now == stage:
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            mask_heads(home, learner, recording.id, Heads.ALL, progress=stop)
        assert {path.name: path.read_bytes() for path in (folder / "masked").iterdir()} == before


def test_seconds_without_anybody_are_told(short: tuple[Home, Person, Recording]) -> None:
    """Where no head was found nothing is masked, and whoever shares the copy is told to look."""
    home, learner, recording = short
    copy = mask_heads(home, learner, recording.id, Heads.ALL)
    assert [str(one.why) for one in copy.doubtful] == ["nobody"]


def test_erasing_takes_the_copies_along(short: tuple[Home, Person, Recording]) -> None:
    """The receipt names them, and no file of the film or its copies stays."""
    home, learner, recording = short
    mask_heads(home, learner, recording.id, Heads.ALL)
    mask_heads(home, learner, recording.id, Heads.OTHERS)
    receipt = erase(home, learner, recording.id)
    assert "2 copies of it with masked faces" in receipt.notes
    assert not media_folder(home, recording.sha256).exists()


def test_a_film_erased_meanwhile_gets_no_copy(short: tuple[Home, Person, Recording]) -> None:
    """Erasing does not wait for a copy in the making: that ends by saying that there is no such recording."""
    home, learner, recording = short

    def gone(stage: str, share: float) -> None:
        if stage == "Writing the copy" and media_folder(home, recording.sha256).exists():
            erase(home, learner, recording.id)

    with pytest.raises(NotFound):
        mask_heads(home, learner, recording.id, Heads.ALL, progress=gone)
    assert not media_folder(home, recording.sha256).exists()


def test_a_copy_can_be_removed(short: tuple[Home, Person, Recording]) -> None:
    """A copy that is removed is gone, and asking for it says how to make it."""
    home, learner, recording = short
    mask_heads(home, learner, recording.id, Heads.ALL)
    assert drop_copy(home, learner, recording.id, Heads.ALL)
    assert not drop_copy(home, learner, recording.id, Heads.ALL)
    assert masked(home, learner, recording.id) == []
    with pytest.raises(NotFound, match="Have it made first"):
        masked_file(home, learner, recording.id, Heads.ALL)
