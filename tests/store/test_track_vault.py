"""What was seen and heard in a film, put into a bucket and brought back, on a real server that speaks S3."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from review.__main__ import main
from review.actions.erasing import erase_for
from review.actions.listening import erase_words
from review.domain.errors import StoreBroken
from review.domain.model import Recording
from review.domain.sightings import empty_sightings
from review.domain.tracks import FOUND, empty_tracks
from review.domain.transcript import Word
from review.pipeline.desk import Desk
from review.store.backup import back_up, put_back
from review.store.home import Home, find_home
from review.store.leftovers import sweep
from review.store.settings import SETTINGS_FILE, settings_of
from review.store.sightings import SightingStore
from review.store.track_vault import ARCHIVE, bring_tracks, stow_tracks
from review.store.trackstore import TrackStore
from review.store.vault import beginning_of
from review.store.words import WordStore
from tests.s3 import S3
from tests.store.test_bucket import kept_film

pytestmark = pytest.mark.server

TIMES = np.array([0.0, 0.04, 0.09])
SAID = (Word("romberg", 0.01, 0.05, 0.9),)


@pytest.fixture
def bucket(s3: S3, home: Home) -> str:
    """Make a bucket, and name it in the settings of the home."""
    name = s3.bucket()
    s3.settle(home, name)
    return name


@pytest.fixture
def film(home: Home, bucket: str) -> Recording:
    """Make a film in which something was seen and heard."""
    film = kept_film(home)
    tracks = TrackStore(home, film.id)
    seen = empty_tracks(TIMES, 640, 480, None, 1.0)
    tracks.create(seen)
    seen["pose_state"][:] = FOUND
    seen["pose_xy"][:] = 3.5
    tracks.write(0, seen, ("pose",))
    tracks.mark_done("0-3:pose@30")
    WordStore(home, film.id).put(0, 3, SAID)
    SightingStore(home, film.id).put("glance:0-3", empty_sightings(TIMES))
    return film


def _lose(home: Home, film: Recording) -> xr.Dataset:
    """Return the tracks as they are, and remove all that was seen and heard."""
    tracks = TrackStore(home, film.id).open().load()
    for ending in ("", ".words", ".seen"):
        shutil.rmtree(home.tracks / f"{film.id}{ending}")
    return tracks


def _expect_all(home: Home, film: Recording, tracks: xr.Dataset) -> None:
    found = TrackStore(home, film.id)
    assert found.done() == {"0-3:pose@30"}
    xr.testing.assert_identical(found.open().load(), tracks)
    assert WordStore(home, film.id).transcript() == SAID
    assert SightingStore(home, film.id).units() == {"glance:0-3"}
    assert sorted(path.name for path in home.tracks.iterdir() if path.is_dir()) == [
        film.id, f"{film.id}.seen", f"{film.id}.words"
    ]  # fmt: skip


def test_it_goes_there_and_comes_back_as_it_was(home: Home, film: Recording, s3: S3, bucket: str) -> None:
    """It is put once as long as nothing changes, and anew after that; what is in the home is never written over."""
    assert stow_tracks(home, film)
    assert not stow_tracks(home, film)
    assert f"school/{beginning_of(film.sha256)}{ARCHIVE}" in s3.keys(bucket)
    assert not bring_tracks(home, film)
    lost = _lose(home, film)
    assert not stow_tracks(home, film)
    assert bring_tracks(home, film)
    _expect_all(home, film, lost)
    WordStore(home, film.id).put(0, 3, ())
    assert stow_tracks(home, film)


def test_the_command_brings_back_what_the_home_lost(
    home: Home, film: Recording, capsys: pytest.CaptureFixture[str]
) -> None:
    """It says of how many films; where nothing is lost it does nothing."""
    assert main(["bucket", "--quiet", "--home", str(home.root)]) == 0
    lost = _lose(home, film)
    assert main(["bucket", "--back", "--quiet", "--home", str(home.root)]) == 0
    assert "seen and heard in 1 film\n" in capsys.readouterr().out
    _expect_all(home, film, lost)
    assert main(["bucket", "--back", "--quiet", "--home", str(home.root)]) == 0
    assert "seen and heard in 0 films\n" in capsys.readouterr().out


def test_the_command_refuses_to_do_both_at_once(home: Home) -> None:
    """Making room and bringing back are asked for one at a time."""
    with pytest.raises(SystemExit, match="2"):
        main(["bucket", "--back", "--keep-gb", "1", "--home", str(home.root)])


def test_what_was_looked_at_is_not_looked_at_anew(home: Home, film: Recording) -> None:
    """Who is about to analyse a film whose tracks are lost brings them back first."""
    stow_tracks(home, film)
    lost = _lose(home, film)
    Desk(home, film)
    _expect_all(home, film, lost)


def test_erasing_takes_it_along(home: Home, film: Recording, s3: S3, bucket: str) -> None:
    """Nothing of it is left in the bucket, and the receipt names it."""
    stow_tracks(home, film)
    receipt = erase_for(home, film, "asked for", None)
    assert s3.keys(bucket) == []
    assert any(one.path.endswith(ARCHIVE) for one in receipt.files)


def test_words_that_are_erased_are_erased_there_too(home: Home, film: Recording, s3: S3, bucket: str) -> None:
    """In every version, also where the home had lost them; what was seen stays, and is put there again."""
    s3.client.put_bucket_versioning(Bucket=bucket, VersioningConfiguration={"Status": "Enabled"})
    stow_tracks(home, film)
    _lose(home, film)
    assert erase_words(home) == 1
    assert TrackStore(home, film.id).done() == {"0-3:pose@30"}
    assert WordStore(home, film.id).transcript() is None
    (key,) = [key for key in s3.keys(bucket) if key.endswith(ARCHIVE)]
    assert b"romberg" not in s3.client.get_object(Bucket=bucket, Key=key)["Body"].read()
    shutil.rmtree(home.tracks / film.id)
    assert bring_tracks(home, film)
    assert WordStore(home, film.id).transcript() is None


def test_no_words_are_erased_while_the_bucket_is_out_of_reach(home: Home, film: Recording, s3: S3) -> None:
    """Whoever asks is told; nothing was changed."""
    stow_tracks(home, film)
    s3.settle(home, "never-made")
    settings_of.cache_clear()
    with pytest.raises(StoreBroken, match="never-made"):
        erase_words(home)
    assert WordStore(home, film.id).transcript() == SAID


def test_a_backup_takes_it_once_and_brings_it_back_without_the_bucket(
    home: Home, film: Recording, tmp_path: Path
) -> None:
    """As folders where the home has it; as the archive where only the bucket does."""
    stow_tracks(home, film)
    back_up(home, tmp_path / "whole")
    assert not list((tmp_path / "whole").rglob(ARCHIVE))
    lost = _lose(home, film)
    back_up(home, tmp_path / "archive")
    restored = find_home(tmp_path / "restored")
    put_back(tmp_path / "archive", restored)
    assert not (restored.root / SETTINGS_FILE).exists()
    assert bring_tracks(restored, film)
    _expect_all(restored, film, lost)


def test_an_archive_that_is_none_is_told_and_leaves_nothing(home: Home, film: Recording) -> None:
    """The film is then looked at anew."""
    _lose(home, film)
    (home.root / beginning_of(film.sha256) / ARCHIVE).write_bytes(b"none")
    with pytest.raises(StoreBroken, match="does not hold what was seen"):
        bring_tracks(home, film)
    assert [path for path in home.tracks.iterdir() if path.is_dir()] == []
    Desk(home, film)
    assert TrackStore(home, film.id).done() == set()


def test_what_was_half_brought_is_swept(home: Home, film: Recording) -> None:
    """A process that died on the way leaves a folder; nobody takes it for tracks."""
    (home.tracks / f"{film.id}.coming" / "tracks").mkdir(parents=True)
    sweep(home)
    assert not (home.tracks / f"{film.id}.coming").exists()


def test_a_bucket_out_of_reach_costs_nothing(home: Home, film: Recording, s3: S3, bucket: str) -> None:
    """What is in the home stays; it is put there when the bucket is back."""
    s3.settle(home, "never-made")
    settings_of.cache_clear()
    with pytest.raises(StoreBroken, match="never-made"):
        stow_tracks(home, film)
    assert WordStore(home, film.id).transcript() == SAID
    s3.settle(home, bucket)
    settings_of.cache_clear()
    assert stow_tracks(home, film)
