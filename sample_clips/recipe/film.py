"""Acts one clip before the camera: draws every frame, writes film and truth."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from PIL import Image

from .acts import ACTS
from .acts.act import FRAMES_PER_SECOND, Act
from .encode import presentation_times, write_film
from .person import Figure, Person, Pose
from .renderer import Picture, Renderer
from .truth import TruthWriter


class Set:
    """An act, its person and a renderer, ready to be filmed."""

    def __init__(self, clip: str, assets: Path) -> None:
        kind = ACTS[clip]
        person = Person(assets, fine_head=kind.fine_head, hair=kind.hair)
        self.act: Act = kind(person)
        self._renderer = Renderer(person, kind.camera, self.act.boxes(), kind.thinnest_strand_px)
        self._renderer.show(person.at(self.act.pose(0.0)))
        self._renderer.bake_occlusion(kind.sky_look)

    def shoot(self, time_s: float) -> tuple[Picture, Pose, Figure]:
        """Return the picture at a moment, with the pose and the figure it shows."""
        pose = self.act.pose(time_s)
        figure = self.act.person.at(pose)
        self._renderer.show(figure)
        for name, transform in self.act.props(time_s).items():
            self._renderer.place(name, transform)
        lid_height = 0.42 + 0.012 * pose.gaze[1]
        return self._renderer.draw(lid_height), pose, figure


def make_clip(clip: str, assets: Path, folder: Path) -> None:
    """Write ``<clip>.mp4`` and ``<clip>.truth.json`` into `folder`."""
    stage = Set(clip, assets)
    writer = TruthWriter(stage.act)

    def pictures() -> Iterator[Picture]:
        for number in range(stage.act.frames):
            time_s = number / FRAMES_PER_SECOND
            picture, pose, figure = stage.shoot(time_s)
            writer.add(pose, figure, stage.act.props(time_s))
            if number % FRAMES_PER_SECOND == 0:
                print(f"{clip}: {number} of {stage.act.frames} frames", flush=True)
            yield picture

    path = folder / f"{clip}.mp4"
    write_film(path, pictures())
    writer.write(folder / f"{clip}.truth.json", clip, presentation_times(path))


def make_stills(clip: str, assets: Path, folder: Path, times_s: list[float]) -> None:
    """Write single pictures of a clip as PNG files, to look at before a long run."""
    stage = Set(clip, assets)
    for time_s in times_s:
        Image.fromarray(stage.shoot(time_s)[0]).save(folder / f"{clip}_{time_s:05.2f}.png")
