"""The door for films: facts and times, fingerprint, a copy that browsers play, still pictures."""

from review.capture.playback import copy_bytes, make_playback
from review.capture.probe import FilmFacts, fingerprint, probe
from review.capture.stills import still, stills

__all__ = ["FilmFacts", "copy_bytes", "fingerprint", "make_playback", "probe", "still", "stills"]
