"""One recording's work: what is to be done next, and what is kept of what came back."""

from __future__ import annotations

import time
from collections.abc import Container, Iterable, Sequence
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.checklist import Checklist
from review.domain.errors import StoreBroken
from review.domain.measure import Filmed
from review.domain.model import Mark, Pointing, Recording
from review.domain.sightings import ASKED
from review.domain.tracks import FOUND, empty_tracks
from review.domain.transcript import Listening
from review.measures import registry
from review.measures.life import lifeless
from review.pipeline.choose import chosen
from review.pipeline.chunk import SOUND, Chunk
from review.pipeline.hearing import listening_chunks
from review.pipeline.listening import Heard, ListeningOrder
from review.pipeline.orders import Order, Seen
from review.pipeline.people import Bodies, bodies_of
from review.pipeline.plan import (
    BASE_NEEDS,
    STAGES,
    SURVEY,
    Span,
    glances,
    plan,
    plan_marked,
    rates,
    sound_chunk,
    still_to_do,
)
from review.pipeline.spoken import hints
from review.pipeline.values import step_measures
from review.pipeline.who import Examined, examined
from review.store.files import locked_if_free
from review.store.home import Home
from review.store.media import film_lock, load_times
from review.store.sightings import SightingStore
from review.store.track_vault import bring_tracks
from review.store.trackstore import TrackStore
from review.store.vault import at_hand
from review.store.words import WordStore

_ABOUT_S: Final = 1.5
"""Somebody seen in the first look counts as about for this long before and after, seconds."""

_SAME_S: Final = 0.12
_ASTRAY: Final = 0.6
"""A nose further than this from the body that was seen at that moment, in shoulder widths, is somebody else's."""

_TELLING_MS: Final = 500.0
_WHO: Final = "who:"


class Desk:
    """The work on one recording, as one process sees it.

    Parameters
    ----------
    home, recording
        Where and which.
    models_folder
        Folder with the model files, if not those of the installed package.
    """

    def __init__(self, home: Home, recording: Recording, models_folder: Path | None = None) -> None:
        self.recording = recording
        self._home = home
        self._models_folder = models_folder
        self._tracks = TrackStore(home, recording.id)
        self._sightings = SightingStore(home, recording.id)
        self._times = load_times(home, recording.sha256)
        self._size = (recording.width_px, recording.height_px)
        self._filmed = _filmed(recording)
        self._bodies: dict[str, Bodies] = {}
        self._chosen: dict[str, tuple[list[int], list[bool]]] = {}
        self._first_look: tuple[list[str], tuple[Pointing, ...], tuple[Bodies, Examined]] | None = None
        self._spans: tuple[Span, ...] = ()
        self._pointings: tuple[Pointing, ...] = ()
        self._words = WordStore(home, recording.id)
        self._listening = Listening(on=False)
        self._hints = ""
        self._stretches: dict[str, tuple[Chunk, ...]] = {}
        self._planned: tuple[Chunk, ...] | None = None
        self._done_ms = 0.0
        self._earlier_ms: float | None = None
        self._since: float | None = None
        self._lay_out()

    def _lay_out(self) -> None:
        with suppress(StoreBroken), locked_if_free(film_lock(self._home, self.recording.sha256)) as free:
            if free:  # what cannot be brought back is looked at anew
                bring_tracks(self._home, self.recording)
        if self._tracks.outdated():
            self._tracks.erase()
            self._sightings.erase()
            self._words.erase()
        if not self._tracks.exists():
            facts = (self.recording.partner_height_mm, self.recording.slow_motion)
            self._tracks.create(empty_tracks(self._times, *self._size, *facts, read_only=True))

    def told(
        self,
        marks: Iterable[Mark],
        sheet: Checklist,
        pointings: Sequence[Pointing],
        listening: Listening = Listening(on=False),  # noqa: B008 - frozen
    ) -> None:
        """Take note of what people said: which steps lie where, who is examined, and whether to listen."""
        self._hints = hints(sheet)
        spans = tuple(_span(mark, sheet, self._filmed) for mark in marks if mark.interval.duration_s > 0)
        spans = tuple(span for span in spans if span.rates)
        if (spans, tuple(pointings), listening) != (self._spans, self._pointings, self._listening):
            self._spans, self._pointings, self._listening = spans, tuple(pointings), listening
            self._planned = None

    def waiting(self) -> tuple[Chunk, ...]:
        """Return what is to be done, in the order in which it should be; after the first look it can be more."""
        if self._planned is None:
            self._planned = self._plan()
        return self._planned

    def next(self, taken: Container[str], small: bool = False) -> Chunk | None:
        """Return what should be done next and nobody has taken; nothing is looked at closely before the first look.

        The sound comes first: where steps seem to lie is told as soon as all was listened to.

        Parameters
        ----------
        taken
            Keys of what others are at.
        small
            Whether memory is to be spared: nothing is looked at beside the recogniser, which is large enough.
        """
        waiting = self.waiting()
        early = any(chunk.stage == 0 for chunk in waiting)
        ears = small and self._listening.on and self.listens()
        free = (chunk for chunk in waiting if chunk.key not in taken and (chunk.hears or not ears))
        return next((chunk for chunk in free if chunk.stage == 0 or chunk.hears or not early), None)

    def listens(self) -> bool:
        """Tell whether there is sound that nobody has listened to yet."""
        return any(chunk.hears for chunk in self.waiting())

    def is_done(self, chunk: Chunk) -> bool:
        """Tell whether somebody finished a chunk; it is then no longer waited for."""
        if chunk.key not in self._tracks.done():
            return False
        self._planned = None
        return True

    def order(self, chunk: Chunk) -> Order | ListeningOrder:
        """Make the order for a chunk: to look, or to listen."""
        self._since = self._since or time.monotonic()
        film = at_hand(self._home, self.recording.original)
        if chunk.hears and chunk.key != SOUND:
            voice_model = Path(self._listening.model) if self._listening.model else None
            return ListeningOrder(chunk, film, self._times, voice_model, self._hints)
        return Order.of(film, self.recording, chunk, self._times, self._models_folder)

    def keep(self, chunk: Chunk, came: Seen | Heard) -> None:
        """Keep what came of a chunk; it is on the disk when this returns."""
        if isinstance(came, Heard):
            self._words.put(chunk.first, chunk.stop, came.words, came.again)
        else:
            self._keep_seen(chunk, came)
        self._tracks.mark_done(chunk.key)
        self._done_ms += chunk.cost
        if chunk.stage == 0 or (isinstance(came, Seen) and self._astray(came)):
            self._planned = None
        else:
            self._planned = tuple(one for one in self.waiting() if one.key != chunk.key)

    def _astray(self, seen: Seen) -> bool:
        """Tell whether somebody looked at alone turned out to be another one than was followed."""
        return seen.sightings is None and len(self._strays(seen.tracks)) > 0

    def _keep_seen(self, chunk: Chunk, seen: Seen) -> None:
        if seen.sightings is not None:
            self._sightings.put(chunk.key, seen.sightings)
            self._bodies[chunk.key] = bodies_of(seen.sightings)
            if chunk.stage > 0:
                self._write_chosen(chunk.key, self._who([*self._glanced(), chunk.key]))
        self._tracks.write(chunk.first, seen.tracks, seen.streams)

    def settled(self) -> bool:
        """Tell whether the examined person has been found in all that was seen, as it was pointed at last."""
        return self._who_key() in self._tracks.done()

    def settle(self) -> None:
        """Find the examined person in all that was seen, and write the tracks of everywhere where several were."""
        units = sorted(self._sightings.units())
        who = self._who(units)
        for unit in units:
            if not unit.startswith("glance"):
                self._write_chosen(unit, who)
        self._tracks.forget(_WHO)
        self._tracks.mark_done(self._who_key())

    def marked(self) -> bool:
        """Tell whether there are marked steps with measures: their values are computed when they are asked for."""
        return bool(self._spans)

    def judge(self) -> None:
        """Note whether what was found in the film lives, or is but a picture of a person or a dummy."""
        tracks = self._tracks.open({"pose", "face"})
        self._tracks.note("lifeless", lifeless(tracks.assign_attrs(lifeless=False)))

    def share(self) -> float:
        """Return about how much of the work is done, 0 to 1."""
        left = sum(chunk.cost for chunk in self.waiting())
        spent = self._done_ms + self._before_ms()
        return spent / max(1e-9, spent + left)

    def stage(self) -> str:
        """Return in words what is being done."""
        waiting = self.waiting()
        return STAGES[waiting[0].stage] if waiting else "Measuring"

    def left_s(self) -> float | None:
        """Return about how many seconds are left at the pace so far; None before anything was finished."""
        if self._done_ms < _TELLING_MS or self._since is None:
            return None
        left = sum(chunk.cost for chunk in self.waiting())
        return left * (time.monotonic() - self._since) / self._done_ms

    def _before_ms(self) -> float:
        """Work that was done before this process, estimated by the frames that are looked at."""
        if self._earlier_ms is None:
            whole = Chunk("", 0, len(self._times), self._looked_before())
            self._earlier_ms = max(0.0, whole.cost - self._done_ms)
        return self._earlier_ms

    def _looked_before(self) -> tuple[tuple[str, tuple[int, ...]], ...]:
        return tuple((stream, tuple(np.flatnonzero(mask).tolist())) for stream, mask in self._tracks.states().items())

    def _plan(self) -> tuple[Chunk, ...]:
        done = self._tracks.done()
        first = [chunk for chunk in glances(self._times) if chunk.key not in done]
        heard = [] if SOUND in done else [sound_chunk(len(self._times))]
        heard += [chunk for chunk in self._spoken(done) if chunk.key not in done]
        pace = self._times / self.recording.slow_motion
        marked = plan_marked(pace, [span.paced(self.recording.slow_motion) for span in self._spans])
        whole = plan(pace, SURVEY if marked else rates(registry().values(), self._filmed, BASE_NEEDS))
        crowd = None if first else self._crowd()
        looked = self._tracks.states()
        crowd = crowd or {"several": np.zeros(len(self._times), dtype=np.bool_)}
        wanted = [*still_to_do(marked, looked, crowd), *still_to_do(whole, looked, crowd)]
        return (*heard, *first, *(chunk for chunk in wanted if chunk.key not in done))

    def _spoken(self, done: Container[str]) -> tuple[Chunk, ...]:
        """Return what is listened to, once the sound is known; nobody understands a voice that is slowed down."""
        if not self._listening.on or SOUND not in done or self.recording.slow_motion != 1:
            return ()
        model = sha256(self._listening.model.encode()).hexdigest()[:6] if self._listening.model else ""
        if model not in self._stretches:
            self._stretches[model] = listening_chunks(self._tracks.open({"sound"}), model)
        return self._stretches[model]

    def _seen_first(self, glanced: list[str]) -> tuple[Bodies, Examined]:
        """Find the examined person in the first look alone; kept until more of it, or another pointing, comes."""
        if self._first_look is None or self._first_look[:2] != (glanced, self._pointings):
            self._first_look = (glanced, self._pointings, self._who(glanced))
        return self._first_look[2]

    def _glanced(self) -> list[str]:
        return [unit for unit in sorted(self._sightings.units()) if unit.startswith("glance")]

    def _crowd(self) -> dict[str, npt.NDArray[np.bool_]]:
        """Tell where more than one person is about, and what was looked at for everybody there."""
        glanced = self._glanced()
        several = np.zeros(len(self._times), dtype=np.bool_)
        if glanced:
            whole, who = self._seen_first(glanced)
            alone = (whole.there.sum(axis=1) == 1) & (who.place >= 0) & who.sure
            for moment in whole.time_s[whole.there.any(axis=1) & ~alone]:
                several[np.abs(self._times - moment) <= _ABOUT_S] = True
            for moment in self._strays(self._tracks.open()):
                several[np.abs(self._times - moment) <= _ABOUT_S] = True
        looked = {stream: np.zeros(len(self._times), dtype=np.bool_) for stream in ASKED}
        for unit in self._sightings.units() - set(glanced):
            seen = self._sightings.get(unit)
            rows = np.searchsorted(self._times, seen["time"].values)
            for place, stream in enumerate(ASKED):
                looked[stream][rows] |= seen["asked"].values[:, place] == 1
        return {"several": several, **looked}

    def _strays(self, tracks: xr.Dataset) -> npt.NDArray[np.float64]:
        """Return the moments of the first look whose examined person is not the body that was looked at closely then.

        The model for one body may follow somebody else than the one who was seen, or pointed at, in the first look.
        """
        glanced = self._glanced()
        found = np.flatnonzero(tracks["pose_state"].values == FOUND)
        if not glanced or not len(found):
            return np.empty(0)
        whole, who = self._seen_first(glanced)
        noses = tracks["pose_xy"].isel(pose_point=0, time=found).values
        times = tracks["time"].values[found]
        nearest = _nearest(times, whole.time_s)
        close = np.abs(times[nearest] - whole.time_s) <= _SAME_S
        known = np.flatnonzero((who.place >= 0) & who.sure & close)
        away = [float(whole.distance(row, noses[nearest[row]])[who.place[row]]) for row in known.tolist()]
        return np.asarray(whole.time_s[known[np.array(away, dtype=float) > _ASTRAY]])

    def _who(self, units: Sequence[str]) -> tuple[Bodies, Examined]:
        for unit in units:
            if unit not in self._bodies:
                self._bodies[unit] = bodies_of(self._sightings.get(unit))
        whole = Bodies.joined([self._bodies[unit] for unit in units])
        return whole, examined(whole, self._size, self._pointings)

    def _write_chosen(self, unit: str, found: tuple[Bodies, Examined]) -> None:
        whole, who = found
        seen = self._sightings.get(unit)
        moments = seen["time"].values
        if not len(moments):
            return
        mine = who.rows(np.searchsorted(whole.time_s, moments))
        choice = (mine.place.tolist(), mine.sure.tolist())
        if self._chosen.get(unit) == choice:
            return
        self._chosen[unit] = choice
        first, stop = np.searchsorted(self._times, [moments[0], moments[-1]])
        tracks = chosen(seen, mine, self._times[first : stop + 1], self._size)
        self._tracks.write(int(first), tracks, ASKED)

    def _who_key(self) -> str:
        said = repr([(one.time_s, one.x, one.y, one.at.isoformat()) for one in self._pointings])
        return f"{_WHO}{sha256(said.encode()).hexdigest()[:12]}"


def _nearest(times: npt.NDArray[np.float64], moments: npt.NDArray[np.float64]) -> npt.NDArray[np.intp]:
    """Return for each moment the index of the time nearest to it, the earlier of two; `times` rise."""
    after = np.minimum(np.searchsorted(times, moments), len(times) - 1)
    before = np.maximum(after - 1, 0)
    return np.where(moments - times[before] <= times[after] - moments, before, after)


def _span(mark: Mark, sheet: Checklist, filmed: Filmed) -> Span:
    needs = rates(step_measures(sheet.step(mark.step_id)), filmed)
    return Span(mark.interval.onset_s, mark.interval.offset_s, needs)


def _filmed(recording: Recording) -> Filmed:
    frames_a_second = recording.frames / recording.duration_s if recording.duration_s > 0 else 0.0
    return Filmed(recording.has_sound, frames_a_second * recording.slow_motion)
