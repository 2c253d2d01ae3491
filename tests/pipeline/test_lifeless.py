"""A film of a picture of a person: found by the models, and yet nothing is measured."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import av
import numpy as np
import pytest
import xarray as xr

from review.actions.recordings import add
from review.domain.model import Reason, Recording
from review.domain.tracks import FOUND, OF_A_BODY
from review.measures import registry
from review.pipeline.analyse import analyse
from review.pipeline.values import film_values
from review.store.home import Home
from review.store.repository import reading
from sample_clips import clip_path
from tests.films import Picture, even_times, make_film
from tests.homes import learners_home

SIZE = (640, 360)


def _photograph() -> Picture:
    """Return one frame of a rendered face."""
    with av.open(str(clip_path("face"))) as film:
        frame = next(film.decode(video=0))
        return frame.reformat(*SIZE, "rgb24").to_ndarray()


@pytest.fixture(scope="module")
def pictured(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, Recording, xr.Dataset]:
    """Film the photograph for 12 s, five times a second, with a sensor's noise, and analyse the film."""
    folder = tmp_path_factory.mktemp("pictured")
    home, learner = learners_home(folder / "home")
    photograph, random = _photograph().astype(float), np.random.default_rng(4)

    def noisy(number: int) -> Picture:
        return np.clip(photograph + random.normal(0, 4, photograph.shape), 0, 255).astype(np.uint8)

    recording = add(home, learner, make_film(folder / "photograph.mp4", even_times(60, 5.0), SIZE, picture=noisy))
    with ThreadPoolExecutor(1) as pool:
        return home, recording, analyse(home, recording, executor=pool).load()


def test_a_photograph_is_found_and_known_not_to_live(pictured: tuple[Home, Recording, xr.Dataset]) -> None:
    """The face model finds the face in every frame; that it never moves is noted with the tracks."""
    tracks = pictured[2]
    assert (tracks["face_state"].values == FOUND).all()
    assert tracks.attrs["lifeless"] is True


def test_no_measure_reads_a_photograph(pictured: tuple[Home, Recording, xr.Dataset]) -> None:
    """Every measure of face, body or hands gives no number and no event; those of face and body say why."""
    home, recording, tracks = pictured
    of_body = {name for name, one in registry().items() if {need.stream for need in one.needs} & {*OF_A_BODY}}
    values = [value for value in film_values(tracks, recording.id) if value.measure in of_body]
    assert {value.measure for value in values} == of_body
    assert {value.estimate.value for value in values} == {None}
    assert all(not value.events for value in values)
    assert sum(Reason.LIFELESS in value.estimate.reasons for value in values) > 0.7 * len(values)
    with reading(home) as repo:
        kept = [value for value in repo.values(recording.id) if value.measure in of_body]
    assert {value.estimate.value for value in kept} == {None}
