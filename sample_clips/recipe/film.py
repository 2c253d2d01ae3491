"""Acts one clip before the camera: draws every frame, writes film and truth."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from PIL import Image

from .acts import ACTS
from .acts.act import Act
from .acts.scene import FRAMES_PER_SECOND, Scene
from .encode import presentation_times, write_film
from .figure import Figure, Pose
from .moment import Moment
from .overlap import overlap
from .pair_truth import PairTruthWriter
from .person import Person
from .renderer import Picture, Renderer
from .truth import TruthWriter


class Set:
    """A scene, its people and a renderer, ready to be filmed."""

    def __init__(self, clip: str, assets: Path) -> None:
        kind = ACTS[clip]
        self._people = {
            name: Person(assets, fine_head=kind.fine_head, hair=kind.hair, look=look)
            for name, look in kind.looks.items()
        }
        self.scene: Scene = kind(self._people)
        self._renderer = Renderer(self._people, kind.camera, self.scene.boxes(), kind.thinnest_strand_px)
        self._renderer.show(self._figures(self.scene.baking_poses()))
        self._renderer.bake_occlusion(kind.sky_look)

    def shoot(self, time_s: float) -> Moment:
        """Return what there is at a moment."""
        poses, props = self.scene.poses(time_s), self.scene.props(time_s)
        figures = self._figures(poses)
        self._renderer.show(figures)
        for name, transform in props.items():
            self._renderer.place(name, transform)
        picture = self._renderer.draw()
        return Moment(picture, poses, figures, props, overlap(self._renderer.depths()))

    def writer(self) -> TruthWriter | PairTruthWriter:
        """Return who writes down the truth, in the form for one person or for two."""
        return TruthWriter(self.scene) if isinstance(self.scene, Act) else PairTruthWriter(self.scene)

    def _figures(self, poses: dict[str, Pose]) -> dict[str, Figure]:
        return {name: self._people[name].at(pose) for name, pose in poses.items()}


def make_clip(clip: str, assets: Path, folder: Path) -> None:
    """Write ``<clip>.mp4`` and ``<clip>.truth.json`` into `folder`."""
    stage = Set(clip, assets)
    scene, writer = stage.scene, stage.writer()

    def pictures() -> Iterator[Picture]:
        for number in range(scene.frames):
            moment = stage.shoot(number / FRAMES_PER_SECOND)
            writer.add(moment)
            if number % FRAMES_PER_SECOND == 0:
                print(f"{clip}: {number} of {scene.frames} frames", flush=True)
            yield moment.picture

    path = folder / f"{clip}.mp4"
    write_film(path, pictures(), scene.camera.size_px, scene.crf)
    writer.write(folder / f"{clip}.truth.json", clip, presentation_times(path))


def make_stills(clip: str, assets: Path, folder: Path, times_s: list[float]) -> None:
    """Write single pictures of a clip as PNG files, to look at before a long run."""
    stage = Set(clip, assets)
    for time_s in times_s:
        Image.fromarray(stage.shoot(time_s).picture).save(folder / f"{clip}_{time_s:05.2f}.png")
