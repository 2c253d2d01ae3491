"""How many faces are still found in copies with all heads masked: run by hand on films of any kind.

::

    python -m tests.benchmarks.masked FOLDER FILM ...

writes a copy of each film into the folder, and frames of it (one a second) as PNG to look at. It prints, film by film,
the share of frames in which a face is found before and after: by the landmark model on the whole picture, by the
detector on the whole picture and on all its parts, and by the cascades that OpenCV brings (frontal and profile), which
had no part in the masking. What is found in both at the same place is written as a PNG of its own: look whether it is
a face.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from review.capture.all_heads import find_heads
from review.capture.circles import about, head_of_face
from review.capture.detectors import Detectors
from review.capture.head_finders import HeadFinders
from review.capture.intake import probe
from review.capture.masked import make_masked
from review.capture.models import find_models
from review.capture.video import frames
from review.domain.masking import Heads
from review.pipeline.masking import mask_plan

EVERY = 5
LONG_SIDE_PX = 1920
CASCADES = ("haarcascade_frontalface_alt2.xml", "haarcascade_profileface.xml")

Picture = npt.NDArray[np.uint8]
Circles = npt.NDArray[np.float64]


def by_cascades() -> Callable[[Picture], Circles]:
    """Return what finds faces by OpenCV's cascades, as circles."""
    known = [cv2.CascadeClassifier(f"{cv2.data.haarcascades}{name}") for name in CASCADES]

    def find(picture: Picture) -> Circles:
        grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
        boxes = [box for one in known for box in one.detectMultiScale(grey, 1.1, 6, minSize=(24, 24))]
        return np.array([(x + w / 2, y + h / 2, 0.7 * w) for x, y, w, h in boxes]).reshape(-1, 3)

    return find


def by_landmarks(detectors: Detectors) -> Callable[[Picture], Circles]:
    """Return what finds the face by the landmark model on the whole picture."""

    def find(picture: Picture) -> Circles:
        face = detectors.face_cut(picture)
        if face is None:
            return np.zeros((0, 3))
        xy = face.xy * picture.shape[1::-1]
        return np.array([[*xy.mean(axis=0), np.ptp(xy[:, 1]) * 0.7]])

    return find


def by_detector(finders: HeadFinders) -> Callable[[Picture], Circles]:
    """Return what finds faces by the detector on the whole picture and on every part."""
    return lambda picture: np.array([head_of_face(face)[0] for face in finders.all_faces(picture)]).reshape(-1, 3)


def report(film: Path, folder: Path) -> None:
    """Mask one film, and print what is still found."""
    facts, times = probe(film)
    size = (facts.width_px, facts.height_px)
    began = time.perf_counter()
    found = find_heads(film, times, size)
    sought = time.perf_counter()
    plan = mask_plan(found, Heads.ALL, (), False, float(times[-1]))
    copy = folder / f"{film.stem}.masked.mp4"
    make_masked(film, facts, copy, plan.masks)
    print(
        f"{film.name}: {facts.duration_s:.1f} s of {size[0]} x {size[1]}; {sought - began:.0f} s to look, "
        f"{time.perf_counter() - sought:.0f} s to write; {len(np.unique(found.head))} heads; doubtful: "
        + (", ".join(f"{one.start_s:.1f}-{one.stop_s:.1f} {one.why}" for one in plan.doubtful) or "nothing")
    )
    copied = probe(copy)[1]
    print(f"  times differ by {1000 * np.abs(copied - times[: len(copied)]).max():.3f} ms at most")
    with Detectors(find_models()) as detectors, HeadFinders(find_models()) as finders:
        ways = {"landmarks": by_landmarks(detectors), "detector": by_detector(finders), "cascades": by_cascades()}
        compare(film, copy, times, copied, ways, folder)


def compare(
    film: Path,
    copy: Path,
    times: npt.NDArray[np.float64],
    copied: npt.NDArray[np.float64],
    ways: dict[str, Callable[[Picture], Circles]],
    folder: Path,
) -> None:
    """Print the shares of frames in which each way finds a face in the film, in the copy, and in both at one place."""
    counts = {name: np.zeros(3, dtype=int) for name in ways}
    pairs = zip(
        frames(film, times, 0, len(times), LONG_SIDE_PX),
        frames(copy, copied, 0, len(copied), LONG_SIDE_PX),
        strict=True,
    )
    looked, shown_s = 0, -1.0
    for before, after in pairs:
        if after.time_s - shown_s >= 1:
            shown_s = after.time_s
            cv2.imwrite(str(folder / f"{film.stem}_{after.time_s:06.2f}.png"), after.picture[:, :, ::-1])
        if before.index % EVERY:
            continue
        looked += 1
        for name, way in ways.items():
            was, now = way(before.picture), way(after.picture)
            both = [circle for circle in now if about(circle, was).any()]
            counts[name] += (len(was) > 0, len(now) > 0, len(both) > 0)
            for x, y, radius in both:
                cut = after.picture[
                    max(0, int(y - radius)) : int(y + radius), max(0, int(x - radius)) : int(x + radius)
                ]
                cv2.imwrite(
                    str(folder / f"{film.stem}_{after.time_s:06.2f}_{name}_{int(x)}_{int(y)}.png"), cut[:, :, ::-1]
                )
    for name, (was, now, both) in counts.items():
        print(f"  {name:10s} film {was / looked:6.1%}  copy {now / looked:6.1%}  same place {both / looked:6.1%}")


def main() -> None:
    """Run it on the films named at the command line."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for film in sys.argv[2:]:
        report(Path(film), folder)


if __name__ == "__main__":
    main()
