"""A film that is added, lies in a bucket only, and is played, read and erased from there."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from review.actions import checklists, erasing, recordings
from review.actions.copies import lacking
from review.domain.model import Person, Role
from review.pipeline.stills import still_pictures
from review.store.home import find_home
from review.store.repository import repository
from review.store.vault import make_room
from tests.s3 import S3
from tests.screens import answering

pytestmark = pytest.mark.server


def test_the_whole_way_of_a_film(s3: S3, tiny_film: Path, tmp_path: Path) -> None:
    """Once added it is in the bucket; with no files in the home it is played by ranges, and erasing takes it."""
    home, bucket = find_home(tmp_path / "home"), s3.bucket()
    s3.settle(home, bucket)
    learner, instructor = Person("p-1", "L-07", Role.LEARNER), Person("p-2", "I-01", Role.INSTRUCTOR)
    with repository(home) as repo:
        checklists.install_shipped(repo)
        repo.put_person(learner)
        repo.put_person(instructor)
    film = recordings.add(home, learner, tiny_film)
    assert f"school/{film.original}" in s3.keys(bucket)
    whole = (home.root / film.playback).read_bytes()
    assert make_room(home, film.sha256) >= len(whole)
    assert not (home.root / film.playback).exists()
    assert lacking(home, film) == ()
    with answering(home, film) as site:
        part = site.ask("GET", f"/api/media/{film.id}?as=L-07", Range="bytes=100-199")
        beyond = site.ask("GET", f"/api/media/{film.id}?as=L-07", Range="bytes=99999999-")
        assert (part.status, part.body, beyond.status) == (206, whole[100:200], 416)
        assert part.headers["content-range"] == f"bytes 100-199/{len(whole)}"
        assert site.ask("GET", f"/api/media/{film.id}?as=L-07").body == whole
        assert not (home.root / film.playback).exists()
    assert still_pictures(home, replace(film, mirrored=True), [0.31], 48)[0][:2] == b"\xff\xd8"
    assert (home.root / film.original).read_bytes() == tiny_film.read_bytes()
    receipt = erasing.erase(home, learner, film.id)
    assert receipt.proof is not None
    assert receipt.proof.holds
    assert s3.keys(bucket) == []


def test_a_film_is_added_though_the_bucket_is_gone(s3: S3, tiny_film: Path, tmp_path: Path) -> None:
    """It stays in the home, and whoever adds it is told."""
    home = find_home(tmp_path / "home")
    s3.settle(home, "never-made")
    learner, told = Person("p-1", "L-07", Role.LEARNER), []
    with repository(home) as repo:
        checklists.install_shipped(repo)
        repo.put_person(learner)
    film = recordings.add(home, learner, tiny_film, progress=lambda stage, share: told.append(stage))
    assert (home.root / film.original).read_bytes() == tiny_film.read_bytes()
    assert "home only" in told[-1]
