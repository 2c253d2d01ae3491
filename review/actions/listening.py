"""Whether what is said in films is written down: a setting of the home, set by whoever runs the machine."""

from __future__ import annotations

from pathlib import Path

from review.domain.transcript import Listening
from review.pipeline.chunk import WORDS
from review.speech.model import find_voice_model
from review.store.home import Home
from review.store.repository import reading, repository
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
    """Erase the words of all recordings, what people corrected in them too; return of how many there were any."""
    with repository(home) as repo:
        recordings = repo.recordings()
        repo.corrections().erase()
        repo.erased = True
    kept = [recording.id for recording in recordings if WordStore(home, recording.id).transcript() is not None]
    for recording_id in kept:
        TrackStore(home, recording_id).forget(WORDS)
        WordStore(home, recording_id).erase()
    return len(kept)


def _put(home: Home, listening: Listening) -> Listening:
    with repository(home) as repo:
        repo.listenings().put(listening)
    return listening
