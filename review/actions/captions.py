"""Correcting captions: what was said is written in the place of what was heard, one by one or from a file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Final
from uuid import uuid4

from review.access import Deed, allowed
from review.actions.checks import check_id, check_interval
from review.domain.captions import Caption, Correction, as_heard_again, captions_of
from review.domain.errors import EntryRefused, ExchangeRefused
from review.domain.model import Interval, Person, Recording
from review.domain.text import check_text
from review.domain.transcript import Transcript
from review.domain.wording import counted
from review.exchange.caption_reading import read_captions
from review.exchange.cues import milliseconds
from review.exchange.timed_text import TimedText, clock
from review.store.home import Home
from review.store.repository import Repository, repository
from review.store.words import WordStore

MOST_CHARACTERS: Final = 300
"""Length above which the text of a caption is refused."""

MOST_CAPTIONS: Final = 10_000
"""How many captions a file may hold; a film of an hour has about a thousand."""

LARGEST_BYTES: Final = 4 * 1024 * 1024
"""Size above which a file of captions is refused."""


def correct(
    repo: Repository,
    person: Person,
    recording_id: str,
    correction_id: str,
    seen: int,
    seconds: tuple[float, float],
    text: str,
) -> Correction:
    """Write what is said in a stretch of a film, in the place of what was heard or written there.

    Parameters
    ----------
    repo
        Open transaction.
    person, recording_id
        Who, of which recording.
    correction_id
        That of the caption's correction, or a new UUID where there is none yet.
    seen
        Revision of the correction that the person saw; 0 where there is none yet.
    seconds
        When the caption is shown, from and until; one that was corrected before stays where it is.
    text
        What is said; blanks and line ends become one blank each. Empty: nothing is, and no caption is shown.

    Raises
    ------
    EntryRefused
        If the caption was changed meanwhile, by this correction or another one, or the text is too long.
    """
    recording = allowed(repo, person, Deed.CORRECT_CAPTIONS, recording_id)
    line = " ".join(check_text(text).split())
    if len(line) > MOST_CHARACTERS:
        raise EntryRefused(
            f"A caption of {len(line)} characters came; expected at most {MOST_CHARACTERS}. Nothing was changed."
        )
    known = check_id(correction_id)
    last = repo.corrections().last(known)
    interval = _stretch(recording, *seconds) if last is None else last.interval
    _expect_unchanged(repo, recording, known, seen, interval)
    now = datetime.now(UTC)
    correction = Correction(known, recording.id, interval, line, person.id, now, seen + 1)
    repo.corrections().put(correction)
    return correction


def as_heard(repo: Repository, person: Person, recording_id: str, correction_id: str, seen: int) -> None:
    """Have what was heard stand again in the place of a correction; its revisions are kept.

    Parameters
    ----------
    repo, person, recording_id, correction_id, seen
        As for `correct`.

    Raises
    ------
    EntryRefused
        If there is no such correction, or it was changed meanwhile.
    """
    recording = allowed(repo, person, Deed.CORRECT_CAPTIONS, recording_id)
    last = repo.corrections().last(check_id(correction_id))
    if last is None or last.removed:
        raise EntryRefused("What was heard stands here already. Nothing was changed.")
    _expect_unchanged(repo, recording, last.id, seen, last.interval)
    repo.corrections().put(as_heard_again(last, person.id, datetime.now(UTC)))


def _stretch(recording: Recording, onset_s: float, offset_s: float) -> Interval:
    interval = check_interval(recording, onset_s, offset_s)
    if interval.offset_s <= interval.onset_s:
        raise EntryRefused("A caption without any length came; expected an end after its start. Nothing was changed.")
    return interval


def _expect_unchanged(repo: Repository, recording: Recording, own: str, seen: int, interval: Interval) -> None:
    """Go on only if a caption is as the person saw it: the same revision, and no other correction of these seconds."""
    last = repo.corrections().last(own)
    newer = last if (last.revision if last else 0) != seen else None
    standing = [one for one in repo.corrections().of(recording.id) if one.id != own]
    others = [one for one in standing if seen == 0 and _share(one.interval, interval)]
    for one in [*([newer] if newer else []), *others]:
        who = repo.person(one.person_id).code
        now = "what was heard stands again" if one.removed else f"it now says \u201c{one.text}\u201d"
        raise EntryRefused(
            f"{who} changed this caption meanwhile: {now}. Nothing was changed; look at it, then decide."
        )


def _share(one: Interval, other: Interval) -> bool:
    return one.onset_s < other.offset_s and other.onset_s < one.offset_s


def read_in(home: Home, person: Person, recording_id: str, name: str, body: bytes, replaces: bool) -> list[str]:
    """Take the captions of a WebVTT file for those of a recording, and return what came of it in sentences.

    Those that are as they stand here stay as they are; the others are kept as corrections of the person's, and what
    was heard elsewhere is left out, so that the captions are those of the file.

    Parameters
    ----------
    home, person, recording_id
        Where, who, of which recording.
    name, body
        The file.
    replaces
        Whether the file takes the place of corrections that stand here; their revisions are kept.

    Raises
    ------
    EntryRefused
        If there are such corrections and `replaces` is not set.
    ExchangeRefused
        If anything in the file cannot be taken; it holds all faults, and nothing was changed.
    """
    with repository(home) as repo:
        recording = allowed(repo, person, Deed.CORRECT_CAPTIONS, recording_id)
        cues = _cues(recording, name, body)
        desk = _Desk(repo, person, recording, WordStore(home, recording.id).transcript() or ())
        if desk.differing(cues) and not replaces:
            raise EntryRefused(
                f"{counted(desk.differing(cues), 'corrected caption')} of {recording.name} would give way to those of "
                "the file. Nothing was changed; take the corrected ones out first if you want them, then say that the "
                "file replaces them."
            )
        return desk.take(cues)


def _cues(recording: Recording, name: str, body: bytes) -> list[TimedText]:
    """Return the cues of a file of captions, or refuse it with all its faults."""
    if len(body) > LARGEST_BYTES:
        raise ExchangeRefused(name, [f"it has {len(body) / 1e6:.0f} MB; expected at most {LARGEST_BYTES / 1e6:.0f} MB"])
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ExchangeRefused(name, [f"byte {error.start} is no UTF-8; expected a WebVTT file"]) from error
    faults: list[str] = []
    cues = list(read_captions(text, faults))
    faults += [fault for cue in cues for fault in _faults(cue, milliseconds(recording.duration_s))]
    if not cues and not faults:
        faults.append("no caption is in it; expected cues with words")
    if len(cues) > MOST_CAPTIONS:
        faults.append(f"it has {len(cues)} captions; expected at most {MOST_CAPTIONS}")
    if faults:
        raise ExchangeRefused(name, faults)
    return cues


def _faults(cue: TimedText, end_ms: int) -> Iterator[str]:
    where = f"cue at line {cue.line}"
    if cue.offset_ms > end_ms:
        yield f"{where}: it ends at {clock(cue.offset_ms)}, and the film at {clock(end_ms)}"
    if len(cue.text) > MOST_CHARACTERS:
        yield f"{where}: it has {len(cue.text)} characters; expected at most {MOST_CHARACTERS}"


_Key = tuple[int, int, str]


def _key(caption: Caption) -> _Key:
    interval = caption.interval
    return milliseconds(interval.onset_s), milliseconds(interval.offset_s), caption.text


class _Desk:
    """Takes the captions of a file for those of a recording, within one transaction."""

    def __init__(self, repo: Repository, person: Person, recording: Recording, words: Transcript) -> None:
        self._repo = repo
        self._recording = recording
        self._words = words
        self._by = (person.id, datetime.now(UTC))
        self._standing = repo.corrections().of(recording.id)

    def _shown(self, corrections: Sequence[Correction]) -> tuple[Caption, ...]:
        return captions_of(self._words, corrections, self._recording.duration_s)

    def differing(self, cues: Sequence[TimedText]) -> int:
        """Return how many corrections stand here that the file does not hold."""
        wanted = {(cue.onset_ms, cue.offset_ms, cue.text) for cue in cues}
        return sum(1 for one in self._standing if one.text and _key(Caption(one.interval, one.text)) not in wanted)

    def take(self, cues: Sequence[TimedText]) -> list[str]:
        """Store what makes the captions those of the file, and return what came of it."""
        wanted = [(cue.onset_ms, cue.offset_ms, cue.text) for cue in cues]
        here = {_key(one) for one in self._shown(self._standing) if one.text}
        kept = [one for one in self._standing if one.text and _key(Caption(one.interval, one.text)) in set(wanted)]
        fresh = self._completed(kept, [one for one in wanted if one not in here], set(wanted))
        if sorted(_key(one) for one in self._shown([*kept, *fresh]) if one.text) != sorted(wanted):
            kept, fresh = [], self._completed([], wanted, set(wanted))
        gone = [one for one in self._standing if one not in kept]
        for one in gone:
            self._repo.corrections().put(as_heard_again(one, *self._by))
        for one in fresh:
            self._repo.corrections().put(one)
        return _told(len(wanted), sum(1 for one in fresh if one.text), sum(1 for one in fresh if not one.text), gone)

    def _completed(self, kept: list[Correction], wanted: Sequence[_Key], all_wanted: set[_Key]) -> list[Correction]:
        """Return corrections that show what is wanted, and leave out what was heard beside it."""
        fresh = [self._correction(Interval(onset / 1000, offset / 1000), text) for onset, offset, text in wanted]
        heard = [one for one in self._shown([*kept, *fresh]) if one.correction is None and _key(one) not in all_wanted]
        return fresh + [self._correction(Interval(one.words[0].onset_s, one.words[-1].offset_s), "") for one in heard]

    def _correction(self, interval: Interval, text: str) -> Correction:
        within = replace(interval, offset_s=min(interval.offset_s, self._recording.duration_s))
        return Correction(str(uuid4()), self._recording.id, within, text, *self._by)


def _told(count: int, other: int, left_out: int, gone: Sequence[Correction]) -> list[str]:
    told = [f"{counted(count, 'caption')} read in; {other} of them differ from what stood here."]
    if left_out:
        told.append(f"{counted(left_out, 'caption')} that had been heard and are not in the file are left out.")
    if gone:
        told.append(
            f"{counted(len(gone), 'earlier correction')} gave way; what they said is kept with their recording."
        )
    return told
