"""Whether what is said in films is written down: a setting of the home, set by whoever runs the machine."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from review.domain.errors import StoreBroken
from review.domain.model import Recording
from review.domain.transcript import Listening
from review.pipeline.chunk import WORDS
from review.speech.model import find_voice_model
from review.store.home import Home
from review.store.media import film_alone
from review.store.repository import reading, repository
from review.store.track_vault import stow_tracks, withdraw_tracks
from review.store.trackstore import TrackStore
from review.store.words import WordStore


def listening_of(home: Home) -> Listening:
    """Return the setting."""
    with reading(home) as repo:
        return repo.listenings().get()


def listen(home: Home, model: Path | None = None) -> Listening:
    """Have what is said written down when films are analysed from now on.

    Parameters
    ----------
    home
        The home.
    model
        Folder of another voice model than the installed one.

    Raises
    ------
    ModelRefused
        If the voice model cannot be used; the setting stays as it was.
    """
    folder = model.expanduser().absolute() if model is not None else None
    find_voice_model(folder)
    return _put(home, Listening(True, str(folder) if folder is not None else ""))


def leave_words_out(home: Home) -> Listening:
    """Have no words written down from now on; those that are there stay."""
    return _put(home, Listening(False, listening_of(home).model))


def erase_words(home: Home) -> int:
    """Erase the words of all recordings, what people corrected in them too; return of how many there were any.

    Those in the bucket go first, film by film; the rest of what was seen and heard is put there again.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used: the words of the films that had their turn are gone, those of others are there.
    """
    with reading(home) as repo:
        recordings = repo.recordings()
    count = 0
    for recording in recordings:
        with film_alone(home, recording.sha256):
            count += _erase_words_of(home, recording)
    with repository(home) as repo:
        repo.corrections().erase()
        repo.erased = True
    return count


def _erase_words_of(home: Home, recording: Recording) -> bool:
    """Erase the words of one recording, whose film's lock is held; tell whether there were any."""
    withdraw_tracks(home, recording)
    words = WordStore(home, recording.id)
    there = words.transcript() is not None
    if there:
        TrackStore(home, recording.id).forget(WORDS)
        words.erase()
    with suppress(StoreBroken):  # it is out of reach since just now; `runthrough bucket` puts it there
        stow_tracks(home, recording)
    return there


def _put(home: Home, listening: Listening) -> Listening:
    with repository(home) as repo:
        repo.listenings().put(listening)
    return listening
