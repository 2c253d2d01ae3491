"""The closed list of reasons why a file is no film for Runthrough, each with its one sentence."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path

from review.domain.errors import FilmRefused


class Refusal(StrEnum):
    """A reason; its value is the sentence that follows the file's name, with gaps in braces."""

    NO_FILE = "there is no such file to read in {folder}; check the path."
    FOLDER = "this is a folder, expected a film such as MP4, MOV, WebM or MKV; name one file in it."
    NO_ORDINARY_FILE = "this is a device or a pipe, expected a film such as MP4, MOV, WebM or MKV; name a file."
    NOT_READABLE = "the file cannot be read ({reason}); check the path and who may read it."
    EMPTY = (
        "the file is empty (0 bytes), expected a film such as MP4, MOV, WebM or MKV; copy it again from the phone or "
        "camera."
    )
    NO_INDEX = (
        "this looks like an MP4 or MOV film without its index (moov), which is written last: the recording or the "
        "copying was cut off; copy it again, or repair it with the recording app."
    )
    NO_FILM = "this is no film that can be read, expected one such as MP4, MOV, WebM or MKV; choose another file."
    OTHER_KIND = "this is {kind}, expected a film such as MP4, MOV, WebM or MKV; choose another file."
    A_PICTURE = (
        "this is a single picture, expected a film such as MP4, MOV, WebM or MKV; choose the film of the attempt."
    )
    NO_PICTURE = (
        "the file holds {kind} and no picture, expected a film such as MP4, MOV, WebM or MKV; choose another file."
    )
    UNKNOWN_CODEC = (
        "its picture is coded in a way that no decoder here knows; export it anew as MP4 with H.264 and add that."
    )
    NO_FRAME = (
        "not one frame of its {codec} picture can be decoded; the file is damaged or was cut off: copy it again, or "
        "choose another file."
    )
    ABSURD_SIZE = (
        "its picture is {width} x {height} pixels, expected sides from {low} to {high}, none more than {ratio} times "
        "the other; export the film again at a usual size."
    )
    TOO_LARGE = (
        "its picture is {width} x {height} pixels, expected no more than 8192 x 4320 has; export the film again at a "
        "usual size."
    )
    TOO_MANY_STREAMS = (
        "it holds {count} streams, expected {most} at most; export it anew as MP4 with one picture and one sound."
    )
    BEGINS_AGAIN = (
        "its times begin again in the middle, as when films are joined byte after byte; join them with a video editor, "
        "or add the parts one by one."
    )
    LASTS_TOO_LONG = "it lasts {hours:.1f} hours, expected {most} at most; cut it into shorter films and add those."
    TOO_MANY_FRAMES = "it holds more than {most} frames; cut it into shorter films and add those."
    TOOK_TOO_LONG = (
        "reading it took longer than {seconds:.0f} seconds and was stopped; the film is damaged or very unusual: "
        "export it anew as MP4 and add that."
    )
    TOO_MUCH_MEMORY = (
        "reading it takes more than the {gigabytes:.1f} GB of memory that one film may use; export it again at a "
        "smaller size."
    )
    READER_DIED = (
        "the process that read it ended before its time ({how}); the film is damaged in a way the decoders do not "
        "survive, or the machine ran out of memory: close other programs and try again, or export the film anew."
    )
    DECODERS_GAVE_UP = (
        "the decoders gave up on it ({reason}); the film is damaged or very unusual: export it anew as MP4 and add "
        "that."
    )
    NOT_FORESEEN = (
        "reading it failed in a way that was not foreseen ({reason}); export the film anew as MP4 and add that, and "
        "please report this sentence."
    )

    def of(self, path: Path, **gaps: object) -> FilmRefused:
        """Make the error for a file.

        Examples
        --------
        >>> str(Refusal.NO_FILE.of(Path("films/phone.mp4"), folder="films"))
        'phone.mp4: there is no such file to read in films; check the path.'
        """
        return FilmRefused(f"{path.name}: {self.value.format(**gaps)}")
