"""Frames a second of the analysis, against the usual loop and against the limit, in one run on one clip.

Run: ``python -m tests.benchmarks.throughput CLIP [--processes N] [--rounds N] [--stretch S] [--marked] [--json]``

Five ways, each with the same number of processes, each process taking its own part of the clip, models opened in the
measured time, processes started as those of the analysis are and libraries imported before it. The ways take turns for
some rounds, and each is judged by its fastest round, since other work on the machine can only slow one down:

(a) models alone: body and face, one after the other, on frames already in memory at the size we hand them;
(b) decoding alone, at our size;
(c) the usual loop: OpenCV reads at full size, the colours are converted, both models run one after the other;
(d) ours at full rate: body and face;
(e) our first look, for everybody in the picture, about once a second.

The limit of a machine that does nothing but decode and run the models, one after the other, is 1 / (1/a + 1/b). Of a
long film (a) to (d) take a stretch from its middle, the first look the whole film; both are told in frames of film a
second. With ``--marked`` a whole attempt is marked and analysed as well, see `tests.benchmarks.demand`.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from itertools import pairwise
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from review.capture.detectors import Detectors, native_image
from review.capture.glance import glance
from review.capture.intake import probe
from review.capture.landmarker import LONG_SIDE_PX, Look, look
from review.capture.models import find_models
from review.capture.video import frames
from review.pipeline.executors import be_worker
from tests.benchmarks import demand

IN_MEMORY = 150
"""Frames held in memory for (a); they are gone over as often as the clip is long."""


@dataclass(frozen=True)
class Span:
    """A part of a clip, and what is known of the clip before any way begins."""

    film: Path
    first: int
    stop: int
    times: npt.NDArray[np.float64]
    size: tuple[int, int]

    @property
    def frames(self) -> int:
        """Number of frames."""
        return self.stop - self.first


def _get_ready(_: int) -> None:
    """Bring in what a worker needs, so that the measured time holds none of it."""
    import cv2  # noqa: F401 - imported for its time

    with Detectors(find_models()) as detectors:
        blank = np.zeros((360, 640, 3), np.uint8)
        detectors.pose(native_image(blank), 0.0, (640, 360))
        detectors.face(native_image(blank), 0.0)
    time.sleep(0.5)


def models_alone(span: Span) -> int:
    """Run (a), both models on frames in memory, and return the frames looked at; the reading is not timed."""
    last = min(span.stop, span.first + IN_MEMORY)
    held = list(frames(span.film, span.times, span.first, last, LONG_SIDE_PX))
    started = time.perf_counter()
    with Detectors(find_models()) as detectors:
        for place in range(span.frames):
            picture = held[place % len(held)].picture
            detectors.pose(native_image(picture), place / 30, (picture.shape[1], picture.shape[0]))
            detectors.face(native_image(picture), place / 30)
    _TIMED.append(time.perf_counter() - started)
    return span.frames


_TIMED: list[float] = []
"""Seconds of the measured part of (a), inside one worker."""


def models_alone_timed(span: Span) -> float:
    """Run (a) and return its seconds."""
    models_alone(span)
    return _TIMED[-1]


def decoding_alone(span: Span) -> int:
    """Run (b): read every frame at our size and drop it."""
    return sum(1 for _ in frames(span.film, span.times, span.first, span.stop, LONG_SIDE_PX))


def usual_loop(span: Span) -> int:
    """Run (c): the loop that most sample programs have."""
    import cv2
    import mediapipe as mp
    from mediapipe.tasks.python import vision
    from mediapipe.tasks.python.core.base_options import BaseOptions

    models = find_models()
    video = vision.RunningMode.VIDEO

    def opened(kind: Any, options: Any, path: Path, **more: Any) -> Any:
        base = BaseOptions(model_asset_buffer=path.read_bytes())
        return kind.create_from_options(options(base_options=base, running_mode=video, **more))

    count = 0
    with ExitStack() as stack:
        pose = stack.enter_context(opened(vision.PoseLandmarker, vision.PoseLandmarkerOptions, models.pose))
        more = {"output_face_blendshapes": True, "output_facial_transformation_matrixes": True}
        face = stack.enter_context(opened(vision.FaceLandmarker, vision.FaceLandmarkerOptions, models.face, **more))
        capture = cv2.VideoCapture(str(span.film))
        capture.set(cv2.CAP_PROP_POS_FRAMES, span.first)
        while count < span.frames:
            got, picture = capture.read()
            if not got:
                break
            image = mp.Image(mp.ImageFormat.SRGB, cv2.cvtColor(picture, cv2.COLOR_BGR2RGB))
            pose.detect_for_video(image, count * 33 + 1)
            face.detect_for_video(image, count * 33 + 1)
            count += 1
        capture.release()
    return count


def ours(span: Span) -> int:
    """Run (d): our unit of work, body and face at full rate."""
    every = tuple(range(span.first, span.stop))
    look(Look(span.film, span.first, span.stop, (("pose", every), ("face", every))), span.times, *span.size)
    return span.frames


def first_look(span: Span) -> int:
    """Run (e)."""
    glance(Look(span.film, span.first, span.stop, ()), span.times, *span.size)
    return span.frames


def measured(work: Callable[[Span], int], spans: list[Span]) -> float:
    """Return the frames a second of one way, over all processes."""
    with ProcessPoolExecutor(len(spans), get_context("spawn"), be_worker) as pool:
        list(pool.map(_get_ready, range(len(spans))))
        if work is models_alone:
            seconds = max(pool.map(models_alone_timed, spans))
            return sum(span.frames for span in spans) / seconds
        started = time.perf_counter()
        done = sum(pool.map(work, spans))
        return done / (time.perf_counter() - started)


def parts(film: Path, processes: int, stretch_s: float = float("inf")) -> list[Span]:
    """Cut a film, or a stretch from its middle, into a part for each process."""
    facts, times = probe(film)
    middle, half = float(times[-1]) / 2, stretch_s / 2
    first, stop = np.searchsorted(times, [middle - half, middle + half])
    edges = np.linspace(first, stop, processes + 1).astype(int)
    size = (facts.width_px, facts.height_px)
    return [Span(film, int(low), int(high), times, size) for low, high in pairwise(edges)]


def figures(film: Path, processes: int, rounds: int, stretch_s: float) -> dict[str, float]:
    """Measure all ways in turns and return the frames a second of each one's fastest round, and ratios."""
    spans, whole = parts(film, processes, stretch_s), parts(film, processes)
    ways = ((models_alone, spans), (decoding_alone, spans), (usual_loop, spans), (ours, spans), (first_look, whole))
    fastest = np.max([[measured(work, those) for work, those in ways] for _ in range(rounds)], axis=0)
    a, b, c, d, e = fastest.tolist()
    limit = 1 / (1 / a + 1 / b)
    return {
        "models_alone_fps": a,
        "decoding_alone_fps": b,
        "sample_loop_fps": c,
        "ours_fps": d,
        "first_look_fps": e,
        "limit_fps": limit,
        "vs_sample_loop": d / c,
        "of_limit": d / limit,
        "first_look_vs_sample_loop": e / c,
    }


def main() -> None:
    """Print the figures of one clip."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("clip", type=Path)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument(
        "--stretch", type=float, default=30.0, metavar="S", help="seconds of a long film for (a) to (d)"
    )
    parser.add_argument("--marked", action="store_true", help="analyse a marked attempt as well")
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    numbers = figures(args.clip, args.processes, args.rounds, args.stretch)
    if args.marked:
        numbers |= demand.figures(args.clip)
    found = {"processes": args.processes, **{name: round(number, 3) for name, number in numbers.items()}}
    if args.json:
        print(json.dumps(found))
    else:
        for name, value in found.items():
            print(f"{name:>28}  {value:g}")


if __name__ == "__main__":
    main()
