"""Acts one clip before the camera: draws every frame, writes film and truth."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from .acts import ACTS
from .acts.act import Act
from .acts.scene import Scene
from .camera import Camera
from .encode import presentation_times, write_film
from .figure import Figure, Pose
from .lights import LIGHTS
from .look import Look
from .moment import Moment
from .noise import Sensor
from .overlap import overlap
from .pair_truth import PairTruthWriter
from .person import Person
from .renderer import Picture, Renderer
from .room import ROOM_BEHIND
from .rotations import Array
from .shooting import Shoot
from .truth import TruthWriter

ActKind = Callable[[dict[str, Person]], Scene]
"""A class of scenes, or `functools.partial` of one that takes further parameters."""


class Set:
    """A scene, its people and a renderer, ready to be filmed.

    Parameters
    ----------
    act
        Makes the scene.
    looks
        Who plays whom; by default as the scene says.
    shoot
        How it is filmed; by default by a still camera where the scene puts it.
    """

    def __init__(
        self, act: ActKind, assets: Path, looks: Mapping[str, Look] | None = None, shoot: Shoot | None = None
    ) -> None:
        kind: Any = act.func if isinstance(act, partial) else act
        self._people = {
            name: Person(assets, fine_head=kind.fine_head, hair=kind.hair, look=look, levels=0 if shoot else 1)
            for name, look in (looks or kind.looks).items()
        }
        self.scene: Scene = act(self._people)
        self.shoot = shoot
        self.camera: Camera = shoot.camera(self.scene.camera) if shoot else self.scene.camera
        self._sensor = Sensor(shoot.seed, shoot.gain) if shoot else None
        boxes = self.scene.boxes()
        lights = shoot.lights(0.0) if shoot else LIGHTS["even"]
        samples = 0 if shoot else 4
        self._renderer = Renderer(self._people, self.camera, boxes, kind.thinnest_strand_px, lights, samples)
        if shoot:
            for name in boxes.keys() & (ROOM_BEHIND.keys() - {"floor"}):
                self._renderer.place(name, shoot.turn(self.scene.camera))
        self._renderer.show(self._figures(self.scene.baking_poses()))
        self._renderer.bake_occlusion(kind.sky_look)
        self.scene.prepare(self._drawn)
        self._still: Moment | None = None

    def moment(self, time_s: float) -> Moment:
        """Return what there is at a moment; a scene that never moves is drawn once."""
        camera = self._aim(time_s)
        if self._still and camera == self._still.camera:
            return replace(self._still, picture=self._taken(self._still.picture))
        poses, props = self.scene.poses(time_s), self.scene.props(time_s)
        figures = self._figures(poses)
        self._show(figures, props)
        seen = {} if isinstance(self.scene, Act) else overlap(self._renderer.depths())
        moment = Moment(self._picture(time_s, camera), poses, figures, props, seen, camera)
        self._still = moment if self.scene.frozen else None
        return replace(moment, picture=self._taken(moment.picture))

    def picture(self, time_s: float) -> Picture:
        """Return the picture of a moment alone, without who covers whom, which costs less."""
        camera = self._aim(time_s)
        self._show(self._figures(self.scene.poses(time_s)), self.scene.props(time_s))
        return self._taken(self._picture(time_s, camera))

    def writer(self) -> TruthWriter | PairTruthWriter:
        """Return who writes down the truth, in the form for one person or for two."""
        if isinstance(self.scene, Act):
            return TruthWriter(self.scene, self.camera, self.shoot)
        return PairTruthWriter(self.scene)

    def _aim(self, time_s: float) -> Camera:
        """Bring the camera to where it is at a moment, and return it."""
        if not self.shoot:
            return self.camera
        camera = self.shoot.held(self.camera, time_s)
        self._renderer.aim(camera, self.shoot.lights(time_s))
        return camera

    def _show(self, figures: dict[str, Figure], props: dict[str, Array]) -> None:
        self._renderer.show(figures)
        for name, transform in props.items():
            self._renderer.place(name, transform)

    def _drawn(self, poses: dict[str, Pose], camera: Camera) -> Picture:
        """Draw people in poses from another camera, in the film's size and without the sensor."""
        lights = self.shoot.lights(0.0) if self.shoot else LIGHTS["even"]
        larger = self.camera.size_px[1] / camera.size_px[1]
        self._renderer.aim(replace(camera, focal_px=camera.focal_px * larger, size_px=self.camera.size_px), lights)
        self._renderer.show(self._figures(poses))
        picture = self._renderer.draw()
        self._renderer.aim(self.camera, lights)
        return picture

    def _picture(self, time_s: float, camera: Camera) -> Picture:
        """Return the picture of what is shown, blurred by what moves around then."""
        pictures = [self._renderer.draw()]
        for shift_s in self.shoot.blur_shifts_s(self.scene.fps) if self.shoot else ():
            self._aim(time_s + shift_s)
            self._show(self._figures(self.scene.poses(time_s + shift_s)), self.scene.props(time_s + shift_s))
            pictures.append(self._renderer.draw())
        picture = pictures[0] if len(pictures) == 1 else np.mean(pictures, axis=0).round().astype(np.uint8)
        return self.scene.retouched(picture, camera)

    def _taken(self, picture: Picture) -> Picture:
        """Return a picture as the sensor takes it."""
        return self._sensor.taken(picture) if self._sensor else picture

    def _figures(self, poses: dict[str, Pose]) -> dict[str, Figure]:
        return {name: self._people[name].at(pose) for name, pose in poses.items()}


def make_film(
    act: ActKind, looks: Mapping[str, Look] | Look, shoot: Shoot, assets: Path, folder: Path, name: str
) -> Path:
    """Write ``<name>.mp4`` and ``<name>.truth.json`` of an act by somebody of the cast.

    Parameters
    ----------
    act
        Makes the scene: a class of scenes, or `functools.partial` of one.
    looks
        Who plays, by the scene's names; one look alone plays ``person``.
    shoot
        How it is filmed.
    assets
        Folder that `assets.fetch` filled.
    folder, name
        Where the film goes, and its name.

    Returns
    -------
    Path
        The film. Both files are written under other names first, so that what is there is whole.
    """
    cast = {"person": looks} if isinstance(looks, Look) else looks
    return _film(Set(act, assets, cast, shoot), folder, name, shoot.coarseness, "veryfast")


def make_clip(clip: str, assets: Path, folder: Path) -> None:
    """Write ``<clip>.mp4`` and ``<clip>.truth.json`` into `folder`."""
    _film(Set(ACTS[clip], assets), folder, clip, ACTS[clip].crf, "slow")


def make_stills(clip: str, assets: Path, folder: Path, times_s: list[float]) -> None:
    """Write single pictures of a clip as PNG files, to look at before a long run."""
    stage = Set(ACTS[clip], assets)
    for time_s in times_s:
        Image.fromarray(stage.moment(time_s).picture).save(folder / f"{clip}_{time_s:05.2f}.png")


def _film(stage: Set, folder: Path, name: str, crf: int, preset: str) -> Path:
    scene, writer = stage.scene, stage.writer()

    def pictures() -> Iterator[Picture]:
        for number in range(scene.frames):
            moment = stage.moment(number / scene.fps)
            writer.add(moment)
            if number % scene.fps == 0:
                print(f"{name}: {number} of {scene.frames} frames", flush=True)
            yield moment.picture

    film, truth = folder / f"{name}.mp4", folder / f"{name}.truth.json"
    unfinished, unfinished_truth = (path.with_name(f"unfinished_{path.name}") for path in (film, truth))
    write_film(unfinished, pictures(), stage.camera.size_px, crf, preset, scene.fps)
    writer.write(unfinished_truth, name, presentation_times(unfinished))
    unfinished_truth.rename(truth)
    unfinished.rename(film)
    return film
