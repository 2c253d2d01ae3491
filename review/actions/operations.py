"""Applying the queue of operations that a browser sends, each exactly once.

The browser numbers its operations and sends those that were not acknowledged again and again; what is sent is not
trusted. An operation is a mapping with ``seq`` (its number, from 1), ``op`` (one of `KINDS`) and the fields of its
kind::

    mark             step, side, onset_s, offset_s, [mark_id]
    remove_mark      mark_id
    grade            step, side, level, [criterion], [confidence]
    withdraw_grade   step, side, [criterion]
    enter            step, side, text
    withdraw_entry   step, side
    comment          text, and either reply_to or onset_s, [offset_s], [step], [side], [shape]; [comment_id]
    remove_comment   comment_id
    restore_comment  comment_id
    resolve_comment  comment_id, resolved
    uncover          [step], [side]
    keep_phrase      phrase_id, text
    drop_phrase      phrase_id
    attach_exemplar  exemplar_id, step, side, onset_s, offset_s, [recording]
    detach_exemplar  exemplar_id
    refuse           refusal_id, step, side, onset_s, offset_s
    take_back_refusal  refusal_id
    point            time_s, x, y
    unpoint
    sign_off         result, conditions, versions, ground
    take_back_sign_off  reason, versions

``comment`` with the id of a comment of one's own changes its text; ``shape`` is what `review.actions.shapes.read_shape`
reads. ``uncover`` without a step uncovers all. The seconds of an exemplar are those of ``recording``, which is the one
under review if none is named. ``versions`` and ``ground`` say what the signer saw (`review.actions.signing.Seen`). A
field in brackets, and ``side``, may be missing or null. Any operation on a mark, grade, entry, comment or refusal may
carry ``was``, see `review.actions.unchanged.demand_unchanged`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final, TypeVar

from review.access import Deed, allowed
from review.actions import comments, entries, exemplars, grades, marks, phrases, pointings, proposals, signing
from review.actions.shapes import read_shape
from review.actions.unchanged import demand_unchanged
from review.actions.uncovering import uncover
from review.domain.errors import EntryRefused, InputError, NotFound
from review.domain.model import Person, Recording, Shape, Side
from review.domain.signoff import Finding
from review.domain.text import check_text
from review.store.repository import Repository

MOST_AT_ONCE: Final = 500
"""How many operations one call looks at; what is beyond is left for the next."""

_HIGHEST_NUMBER: Final = 2**53 - 1
_LONGEST_NAME: Final = 80
_LONGEST_TEXT: Final = 10_000

Found = TypeVar("Found")


class Fields:
    """The fields of one operation; each is checked when it is asked for."""

    def __init__(self, fields: Mapping[str, object]) -> None:
        self._fields = fields

    def _take(self, name: str, kind: type[Found] | tuple[type[Found], ...], words: str) -> Found | None:
        given = self._fields.get(name)
        if given is None:
            return None
        if not isinstance(given, kind) or isinstance(given, bool):
            raise EntryRefused(f"{name} came as {type(given).__name__}; expected {words}. Nothing was changed.")
        return given

    def name(self, name: str) -> str | None:
        """Return a short text, or None."""
        text = self._take(name, str, "a short text")
        if text is not None and not 1 <= len(text) <= _LONGEST_NAME:
            raise EntryRefused(
                f"{name} has {len(text)} characters; expected 1 to {_LONGEST_NAME}. Nothing was changed."
            )
        return None if text is None else check_text(text)

    def text(self, name: str) -> str:
        """Return a long text."""
        text = self.needed(name, self._take(name, str, "a text"))
        if len(text) > _LONGEST_TEXT:
            raise EntryRefused(f"{name} has {len(text)} characters, which is far too long. Nothing was changed.")
        return check_text(text)

    def number(self, name: str) -> float | None:
        """Return a number, or None."""
        number: float | None = self._take(name, (int, float), "a number")
        try:
            return None if number is None else float(number)
        except OverflowError as error:
            raise EntryRefused(f"{name} is far too large a number. Nothing was changed.") from error

    def whole(self, name: str) -> int | None:
        """Return a whole number, or None."""
        number = self._take(name, int, "a whole number")
        if number is not None and abs(number) > _HIGHEST_NUMBER:
            raise EntryRefused(f"{name} is far too large a number. Nothing was changed.")
        return number

    def side(self) -> Side | None:
        """Return the side, or None."""
        match self._fields.get("side"):
            case None | "":
                return None
            case "left":
                return "left"
            case "right":
                return "right"
            case _:
                raise EntryRefused("Something else came as side; expected left, right or none. Nothing was changed.")

    def yes(self, name: str) -> bool:
        """Return a yes or no that must be there."""
        given = self._fields.get(name)
        if not isinstance(given, bool):
            raise EntryRefused(f"{name} came as {type(given).__name__}; expected yes or no. Nothing was changed.")
        return given

    def shape(self) -> Shape | None:
        """Return what was drawn, or None."""
        return read_shape(self._fields.get("shape"))

    def needed(self, name: str, found: Found | None) -> Found:
        """Return what was found under a name that must be there."""
        if found is None:
            raise EntryRefused(f"{name} is missing from an operation. Nothing was changed; reload the page.")
        return found


def _mark(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    step_id = given.needed("step", given.name("step"))
    onset_s = given.needed("onset_s", given.number("onset_s"))
    offset_s = given.needed("offset_s", given.number("offset_s"))
    marks.place(repo, person, recording, step_id, given.side(), onset_s, offset_s, given.name("mark_id"))


def _remove_mark(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    mark_id = given.needed("mark_id", given.name("mark_id"))
    _expect_here(recording, repo.mark(mark_id).recording_id)
    marks.remove(repo, person, mark_id)


def _grade(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    step_id = given.needed("step", given.name("step"))
    level = given.needed("level", given.name("level"))
    criterion_id, confidence = given.name("criterion"), given.whole("confidence")
    grades.give(repo, person, recording, step_id, given.side(), level, criterion_id, confidence)


def _withdraw_grade(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    step_id = given.needed("step", given.name("step"))
    grades.withdraw(repo, person, recording, step_id, given.side(), given.name("criterion"))


def _enter(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    step_id = given.needed("step", given.name("step"))
    entries.enter(repo, person, recording, step_id, given.side(), given.text("text"))


def _withdraw_entry(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    entries.withdraw(repo, person, recording, given.needed("step", given.name("step")), given.side())


def _comment(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    text, comment_id, reply_to = given.text("text"), given.name("comment_id"), given.name("reply_to")
    known = repo.comment_history(comment_id) if comment_id else ()
    if known:
        _expect_here(recording, known[-1].recording_id)
        comments.change(repo, person, known[-1].id, text)
    elif reply_to:
        _expect_here(recording, repo.comment(reply_to).recording_id)
        comments.reply(repo, person, reply_to, text, comment_id)
    else:
        onset_s = given.needed("onset_s", given.number("onset_s"))
        step_id, offset_s = given.name("step"), given.number("offset_s")
        place = (step_id, given.side())
        comments.write(repo, person, recording, onset_s, offset_s, text, *place, comment_id, given.shape())


def _remove_comment(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    comment_id = given.needed("comment_id", given.name("comment_id"))
    _expect_here(recording, repo.comment(comment_id).recording_id)
    comments.remove(repo, person, comment_id)


def _restore_comment(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    comment_id = given.needed("comment_id", given.name("comment_id"))
    _expect_here(recording, repo.comment(comment_id).recording_id)
    comments.restore(repo, person, comment_id)


def _resolve_comment(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    comment_id = given.needed("comment_id", given.name("comment_id"))
    _expect_here(recording, repo.comment(comment_id).recording_id)
    comments.resolve(repo, person, comment_id, given.yes("resolved"))


def _uncover(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    uncover(repo, person, recording, given.name("step"), given.side())


def _keep_phrase(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    phrases.keep(repo, person, given.needed("phrase_id", given.name("phrase_id")), given.text("text"))


def _drop_phrase(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    phrases.drop(repo, person, given.needed("phrase_id", given.name("phrase_id")))


def _attach_exemplar(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    exemplar_id = given.needed("exemplar_id", given.name("exemplar_id"))
    step_id = given.needed("step", given.name("step"))
    onset_s = given.needed("onset_s", given.number("onset_s"))
    offset_s = given.needed("offset_s", given.number("offset_s"))
    named = given.name("recording")
    source = repo.recording(named) if named else recording
    place = (step_id, given.side())
    exemplars.attach(repo, person, recording, exemplar_id, *place, source, onset_s, offset_s)


def _detach_exemplar(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    exemplars.detach(repo, person, given.needed("exemplar_id", given.name("exemplar_id")))


def _refuse(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    refusal_id = given.needed("refusal_id", given.name("refusal_id"))
    step_id = given.needed("step", given.name("step"))
    onset_s = given.needed("onset_s", given.number("onset_s"))
    offset_s = given.needed("offset_s", given.number("offset_s"))
    proposals.refuse(repo, person, recording, refusal_id, step_id, given.side(), onset_s, offset_s)


def _take_back_refusal(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    refusal_id = given.needed("refusal_id", given.name("refusal_id"))
    _expect_here(recording, repo.refusals().get(refusal_id).recording_id)
    proposals.take_back(repo, person, refusal_id)


def _point(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    time_s, x, y = (given.needed(name, given.number(name)) for name in ("time_s", "x", "y"))
    pointings.point(repo, person, recording, time_s, x, y)


def _unpoint(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    pointings.unpoint(repo, person, recording)


def _sign_off(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    asked = given.needed("result", given.name("result"))
    if asked not in set(Finding):
        raise NotFound.among("result", asked, list(Finding))
    ground = given.needed("ground", given.name("ground"))
    seen = signing.Seen(given.needed("versions", given.whole("versions")), ground)
    signing.sign(repo, person, recording, Finding(asked), given.text("conditions"), seen)


def _take_back_sign_off(repo: Repository, person: Person, recording: Recording, given: Fields) -> None:
    seen = signing.Seen(given.needed("versions", given.whole("versions")), "")
    signing.take_back(repo, person, recording, given.text("reason"), seen)


def _expect_here(recording: Recording, recording_id: str) -> None:
    if recording_id != recording.id:
        raise EntryRefused("This entry belongs to another recording. Nothing was changed; reload the page.")


KINDS: Final[Mapping[str, Callable[[Repository, Person, Recording, Fields], None]]] = MappingProxyType(
    {
        "mark": _mark,
        "remove_mark": _remove_mark,
        "grade": _grade,
        "withdraw_grade": _withdraw_grade,
        "enter": _enter,
        "withdraw_entry": _withdraw_entry,
        "comment": _comment,
        "remove_comment": _remove_comment,
        "restore_comment": _restore_comment,
        "resolve_comment": _resolve_comment,
        "uncover": _uncover,
        "keep_phrase": _keep_phrase,
        "drop_phrase": _drop_phrase,
        "attach_exemplar": _attach_exemplar,
        "detach_exemplar": _detach_exemplar,
        "refuse": _refuse,
        "take_back_refusal": _take_back_refusal,
        "point": _point,
        "unpoint": _unpoint,
        "sign_off": _sign_off,
        "take_back_sign_off": _take_back_sign_off,
    }
)
"""What each kind of operation does."""


def apply(
    repo: Repository, person: Person, recording_id: str, client: str, ops: Sequence[Mapping[str, Any]]
) -> tuple[int, list[dict[str, Any]]]:
    """Apply what was not applied before, in the order of its numbers.

    An operation with a fault changes nothing, is told of, counts as handled, and does not stop those behind it.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who acts.
    recording_id
        Where.
    client
        Id that the browser made for itself, 8 to 64 letters, digits and hyphens. Where people sign in, each person has
        a queue of its own under it, so that nobody can have another's operations taken for done.
    ops
        The browser's queue.

    Returns
    -------
    ack : int
        Number of the last operation handled, for the browser to drop its queue up to.
    faults : list of dict
        ``{"seq", "message"}`` for each operation with a fault; ``seq`` is 0 where no number could be read.

    Raises
    ------
    EntryRefused
        If the client's id or the queue is not of that form.
    NotAllowed
        If the person may not see the recording.
    """
    if not isinstance(client, str) or not re.fullmatch(r"[A-Za-z0-9-]{8,64}", client):
        raise EntryRefused("A browser's id is 8 to 64 letters, digits and hyphens; another came. Reload the page.")
    if not isinstance(ops, list | tuple):
        raise EntryRefused(f"A queue came as {type(ops).__name__}; expected a list of operations. Reload the page.")
    recording = allowed(repo, person, Deed.SEE, recording_id)
    queue, last = _queue(person, client), acknowledged(repo, person, client)
    numbered, faults = _numbered(ops[:MOST_AT_ONCE])
    ack = last
    for seq, operation in sorted(numbered.items()):
        if seq <= last:
            continue
        try:
            with repo.savepoint():
                _apply_one(repo, person, recording, operation)
        except InputError as error:
            faults.append({"seq": seq, "message": str(error)})
        ack = seq
    if ack > last:
        repo.set_applied(queue, ack)
    return ack, faults


def acknowledged(repo: Repository, person: Person, client: str) -> int:
    """Return the number of the last operation of a browser that was handled; 0 before the first."""
    return repo.applied(_queue(person, client))


def _queue(person: Person, client: str) -> str:
    return client if person.courses is None else f"{person.id}:{client}"


def _numbered(ops: Sequence[Mapping[str, Any]]) -> tuple[dict[int, Mapping[str, Any]], list[dict[str, Any]]]:
    """Sort operations by their numbers; of two with the same the first counts."""
    numbered: dict[int, Mapping[str, Any]] = {}
    faults: list[dict[str, Any]] = []
    for operation in ops:
        seq = operation.get("seq") if isinstance(operation, Mapping) else None
        if isinstance(seq, int) and not isinstance(seq, bool) and 1 <= seq <= _HIGHEST_NUMBER:
            numbered.setdefault(seq, operation)
        else:
            faults.append(
                {"seq": 0, "message": "An operation came without a number. It was left out; reload the page."}
            )
    return numbered, faults


def _apply_one(repo: Repository, person: Person, recording: Recording, operation: Mapping[str, Any]) -> None:
    kind = operation.get("op")
    deed = KINDS.get(kind) if isinstance(kind, str) else None
    if deed is None:
        came = repr(kind[:40]) if isinstance(kind, str) else type(kind).__name__
        raise EntryRefused(f"{came} came as an operation; expected one of {', '.join(KINDS)}. Reload the page.")
    demand_unchanged(repo, person, recording, operation)
    deed(repo, person, recording, Fields(operation))
