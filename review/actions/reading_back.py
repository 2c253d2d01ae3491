"""Reading marks and comments back from a file that `review.report.exports` made, here or at another machine."""

from __future__ import annotations

import io
import zipfile
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from review.access import Deed, allowed, demand
from review.actions import comments, marks
from review.actions.checks import check_interval, check_place
from review.actions.shapes import read_shape
from review.domain.errors import EntryRefused, ExchangeRefused, InputError, StoreBroken
from review.domain.model import Comment, Interval, Mark, Person, Recording
from review.exchange.annotation_reading import read_annotations
from review.exchange.said import Heard, SaidComment, SaidMark
from review.exchange.table_reading import read_table
from review.exchange.timed_text import read_track
from review.store.home import Home
from review.store.media import load_times
from review.store.repository import Repository, repository

LARGEST_BYTES: Final = 32 * 1024 * 1024
"""Size above which a file, or what is packed in it, is refused."""

Verdict = Literal["new", "changed", "here", "newer_here"]
"""What became of a mark or a comment of a file."""

_ROUNDING_S: Final = 0.0006
_READ_FROM_PACK: Final = ("marks.csv", "comments.csv")


@dataclass(slots=True)
class ReadBack:
    """What came of a file: how many marks and comments are new, changed, here already or left as they are here.

    `others` counts, by code, what other people said; `passed_over` what is not read back, by its kind; `alone` the
    answers that stand as comments of their own, since what they answer is not here.
    """

    new: Counter[str] = field(default_factory=Counter)
    changed: Counter[str] = field(default_factory=Counter)
    here: Counter[str] = field(default_factory=Counter)
    newer_here: Counter[str] = field(default_factory=Counter)
    others: Counter[str] = field(default_factory=Counter)
    passed_over: Mapping[str, int] = field(default_factory=dict)
    alone: int = 0

    def count(self, verdict: Verdict, word: str) -> None:
        """Count a mark or a comment by what became of it."""
        counts: Counter[str] = getattr(self, verdict)
        counts[word] += 1

    def sentences(self) -> list[str]:
        """Say what came of it, one sentence for each thing."""
        told = [
            f"{_counted(counts)} {words}."
            for counts, words in (
                (self.new, "read in"),
                (self.changed, "brought up to date"),
                (self.here, "here already"),
                (self.newer_here, "left as they are here, where they were changed or removed later"),
            )
            if counts
        ]
        if self.alone:
            told.append(f"{self.alone} of the comments answered one that is not here and stand by themselves.")
        if self.others:
            codes = ", ".join(f"{code} ({count})" for code, count in sorted(self.others.items()))
            told.append(f"Left out, since everybody reads in their own only: what was said by {codes}.")
        if self.passed_over:
            told.append(f"Not read back: {_counted(Counter(self.passed_over))}; give those in the page.")
        return told or ["The file holds no marks and no comments."]


def _counted(counts: Counter[str]) -> str:
    return " and ".join(
        f"{count} {word}{'' if count == 1 or word.endswith('s') else 's'}" for word, count in counts.items()
    )


def read_back(home: Home, person: Person, recording: Recording, name: str, body: bytes) -> ReadBack:
    """Take a person's own marks and comments out of a file into the attempt whose film it names.

    Nothing is doubled: what has the same id is brought up to date if the file's is later, and else left. Ends that lie
    within rounding of a frame are put on it.

    Parameters
    ----------
    name
        Name of the file, for what is said of it.
    body
        A Web Annotation, WebVTT, CSV or ZIP file of ours; which one is told by what is in it.

    Raises
    ------
    ExchangeRefused
        If anything in the file cannot be read, or it is of another film; it holds all faults, and nothing was changed.
    """
    demand(person, Deed.MARK, recording)
    demand(person, Deed.COMMENT, recording)
    heard = _heard(name, body)
    strange = sorted(heard.films - {recording.sha256})
    if strange:
        heard.faults.insert(
            0,
            f"it is of the film with the SHA-256 {strange[0][:12]}..., and {recording.name!r} is that with "
            f"{recording.sha256[:12]}...; open the attempt with the same film, or add that film first",
        )
    if heard.faults:
        raise ExchangeRefused(name, heard.faults)
    with repository(home) as repo:
        recording = allowed(repo, person, Deed.MARK, recording.id)
        demand(person, Deed.COMMENT, recording)
        desk = _Desk(repo, person, recording, _clock(home, recording))
        desk.done.passed_over = heard.passed_over
        faults = desk.take(heard)
        if faults:
            raise ExchangeRefused(name, faults)
    return desk.done


def _heard(name: str, body: bytes) -> Heard:
    if len(body) > LARGEST_BYTES:
        raise ExchangeRefused(name, [f"it has {len(body) / 1e6:.0f} MB; expected at most {LARGEST_BYTES / 1e6:.0f} MB"])
    if body.startswith(b"PK\x03\x04"):
        return _unpacked(name, body)
    text = _text(name, body)
    if text.startswith("WEBVTT"):
        return read_track(text)
    return read_annotations(text) if text.lstrip()[:1] in ("{", "[") else read_table(text)


def _text(name: str, body: bytes) -> str:
    try:
        return body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ExchangeRefused(
            name, [f"byte {error.start} is no UTF-8; expected the file as it was exported"]
        ) from error


def _unpacked(name: str, body: bytes) -> Heard:
    whole = Heard()
    try:
        with zipfile.ZipFile(io.BytesIO(body)) as pack:
            inside = [one for one in pack.infolist() if one.filename in _READ_FROM_PACK]
            if sum(one.file_size for one in inside) > LARGEST_BYTES:
                raise ExchangeRefused(name, ["what is packed in it is too large; expected the file as it was exported"])
            texts = {one.filename: _text(one.filename, pack.read(one)) for one in inside}
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError) as error:
        raise ExchangeRefused(name, [f"it cannot be unpacked: {error}"]) from error
    if not texts:
        raise ExchangeRefused(name, ["neither marks.csv nor comments.csv is in it; expected the tables as exported"])
    for inner, text in texts.items():
        part = read_table(text)
        whole.films |= part.films
        whole.marks += [(f"{inner}, {where}", one) for where, one in part.marks]
        whole.comments += [(f"{inner}, {where}", one) for where, one in part.comments]
        whole.faults += [f"{inner}, {fault}" for fault in part.faults]
    return whole


def _clock(home: Home, recording: Recording) -> npt.NDArray[np.float64]:
    """Return the times of the film's frames; none where they are lost."""
    try:
        return load_times(home, recording.sha256)
    except StoreBroken:
        return np.empty(0)


class _Desk:
    """Takes what was heard into an attempt, within one transaction."""

    def __init__(self, repo: Repository, person: Person, recording: Recording, clock: npt.NDArray[np.float64]) -> None:
        self._repo = repo
        self._person = person
        self._recording = recording
        self._clock = clock
        self.done = ReadBack()

    def take(self, heard: Heard) -> list[str]:
        """Take all that is the person's own, and return what is wrong with it."""
        faults = []
        own_marks = [(where, one) for where, one in heard.marks if self._own(one)]
        own_comments = [(where, one) for where, one in heard.comments if self._own(one)]
        for where, mark in own_marks:
            faults += self._faults(where, mark) or _tried(where, partial(self._mark, mark))
        for where, comment in sorted(own_comments, key=lambda one: one[1].at):
            faults += self._faults(where, comment) or _tried(where, partial(self._comment, comment))
        return faults

    def _faults(self, where: str, one: SaidMark | SaidComment) -> list[str]:
        """Return all that is wrong with where a mark or comment lies, in the sheet and in the film."""
        ends = self._at(one.onset_ms), self._at(one.offset_ms)
        faults = _tried(where, partial(check_interval, self._recording, *ends))
        if one.step is not None:
            faults += _tried(where, partial(check_place, self._repo, self._recording, one.step, one.side))
        return faults

    def _own(self, one: SaidMark | SaidComment) -> bool:
        mine = one.by.code == self._person.code
        if not mine:
            self.done.others[one.by.code] += 1
        return mine

    def _mark(self, mark: SaidMark) -> None:
        seconds = self._seconds(mark)
        history = self._repo.mark_history(mark.id)
        verdict = self._verdict(mark, history[-1] if history else None, seconds)
        if verdict in ("new", "changed"):
            ends = (seconds.onset_s, seconds.offset_s)
            marks.place(self._repo, self._person, self._recording, mark.step, mark.side, *ends, mark_id=mark.id)
        self.done.count(verdict, "mark")

    def _comment(self, comment: SaidComment) -> None:
        seconds = self._seconds(comment)
        history = self._repo.comment_history(comment.id)
        last = history[-1] if history else None
        verdict = self._verdict(comment, last, seconds)
        if verdict == "new":
            self._write(comment, seconds)
        elif verdict == "changed" and last is not None:
            if last.removed:
                comments.restore(self._repo, self._person, comment.id)
            comments.change(self._repo, self._person, comment.id, comment.text)
        self.done.count(verdict, "comment")

    def _verdict(self, one: SaidMark | SaidComment, last: Mark | Comment | None, seconds: Interval) -> Verdict:
        """Compare something of a file with what is here under its id."""
        if last is None:
            return "new"
        demand(self._person, Deed.CHANGE_ENTRY, self._recording, last.person_id)
        if last.recording_id != self._recording.id:
            raise EntryRefused(f"its id, {one.id}, is that of something said of another recording.")
        if not last.removed and _same(one, last, seconds):
            return "here"
        return "changed" if one.at > last.at else "newer_here"

    def _write(self, comment: SaidComment, seconds: Interval) -> None:
        shape = read_shape(comment.shape)
        if comment.reply_to is not None:
            asked = self._repo.comment_history(comment.reply_to)
            if asked and not asked[-1].removed and asked[-1].recording_id == self._recording.id:
                comments.reply(self._repo, self._person, comment.reply_to, comment.text, comment_id=comment.id)
                return
            self.done.alone += 1
        comments.write(
            self._repo,
            self._person,
            self._recording,
            seconds.onset_s,
            seconds.offset_s,
            comment.text,
            step_id=comment.step,
            side=comment.side,
            comment_id=comment.id,
            shape=shape,
        )

    def _seconds(self, one: SaidMark | SaidComment) -> Interval:
        return Interval(self._at(one.onset_ms), self._at(one.offset_ms))

    def _at(self, ms: int) -> float:
        """Return a time in seconds: that of the frame it was rounded from, if there is one, else as it is."""
        time_s = ms / 1000
        if len(self._clock):
            nearest = float(self._clock[np.abs(self._clock - time_s).argmin()])
            time_s = nearest if abs(nearest - time_s) <= _ROUNDING_S else time_s
        return time_s


def _tried(where: str, deed: Callable[[], object]) -> list[str]:
    """Do something, and return what is wrong with it, if anything is."""
    try:
        deed()
    except InputError as error:
        return [f"{where}: {str(error).replace(' Nothing was changed.', '')}"]
    return []


def _same(one: SaidMark | SaidComment, last: Mark | Comment, seconds: Interval) -> bool:
    """Tell whether something of a file says what is here under its id; of comments the words alone can change."""
    if isinstance(one, SaidComment):
        return isinstance(last, Comment) and last.text == one.text.strip()
    near = all(
        abs(here - there) <= _ROUNDING_S
        for here, there in (
            (last.interval.onset_s, seconds.onset_s),
            (last.interval.offset_s, seconds.offset_s),
        )
    )
    return near and (last.step_id, last.side) == (one.step, one.side)
