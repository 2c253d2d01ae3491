"""What is no film is refused with one sentence of a closed list, and the manual shows that list."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from review.capture import packets
from review.capture.film import MOST_STREAMS
from review.capture.intake import probe
from review.capture.refusals import Refusal
from review.domain.errors import FilmRefused
from tests.films import cut_off, even_times, make_film, make_picture, make_sound_only, refused_by, spoil_packet

ROOT = Path(__file__).parents[2]


def _empty(folder: Path) -> Path:
    (folder / "zero.mp4").write_bytes(b"")
    return folder / "zero.mp4"


def _text(folder: Path) -> Path:
    (folder / "notes.mp4").write_text("feet together, eyes closed\n" * 50)
    return folder / "notes.mp4"


def _terminal_text(folder: Path) -> Path:
    (folder / "notes.txt").write_text("feet together, eyes closed\n" * 50)
    return folder / "notes.txt"


def _playlist(folder: Path) -> Path:
    make_film(folder / "part.ts", even_times(5))
    (folder / "list.m3u8").write_text("#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\npart.ts\n#EXT-X-ENDLIST\n")
    return folder / "list.m3u8"


def _no_index(folder: Path) -> Path:
    return cut_off(make_film(folder / "phone.mp4", even_times(60)), 0.6)


def _no_frame(folder: Path) -> Path:
    return spoil_packet(make_film(folder / "broken.mp4", even_times(1)), 0)


def _unknown_codec(folder: Path) -> Path:
    film = make_film(folder / "new.mp4", even_times(5))
    film.write_bytes(film.read_bytes().replace(b"avc1", b"new1"))
    return film


def _joined(folder: Path) -> Path:
    parts = [make_film(folder / f"part{count}.ts", even_times(count)) for count in (90, 60)]
    (folder / "joined.ts").write_bytes(b"".join(part.read_bytes() for part in parts))
    return folder / "joined.ts"


def _many_streams(folder: Path) -> Path:
    with av.open(str(folder / "many.mkv"), "w") as out:
        voices = [out.add_stream("pcm_s16le", rate=8000, layout="mono") for _ in range(MOST_STREAMS + 1)]
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 800), np.int16), format="s16", layout="mono")
        frame.sample_rate = 8000
        for voice in voices:
            out.mux(voice.encode(frame))
    return folder / "many.mkv"


def _picture(name: str, codec: str, pixels: str) -> Callable[[Path], Path]:
    return lambda folder: make_picture(folder / name, codec, pixels)


def _large(folder: Path) -> Path:
    return make_film(folder / "large.mkv", [0.0], size=(8208, 4320), codec="mjpeg", pixels="yuvj420p")


@pytest.mark.parametrize(
    ("make", "reason"),
    [
        pytest.param(lambda folder: folder / "gone.mp4", Refusal.NO_FILE, id="no-such-file"),
        pytest.param(lambda folder: folder, Refusal.FOLDER, id="a-folder"),
        pytest.param(_empty, Refusal.EMPTY, id="zero-bytes"),
        pytest.param(_text, Refusal.NO_FILM, id="text-named-mp4"),
        pytest.param(_terminal_text, Refusal.OTHER_KIND, id="text"),
        pytest.param(_playlist, Refusal.OTHER_KIND, id="playlist"),
        pytest.param(_picture("photo.png", "png", "rgb24"), Refusal.A_PICTURE, id="png"),
        pytest.param(_picture("a.jpg", "mjpeg", "yuvj420p"), Refusal.A_PICTURE, id="jpeg"),
        pytest.param(_picture("a.gif", "gif", "rgb8"), Refusal.A_PICTURE, id="still-gif"),
        pytest.param(_picture("a.webp", "libwebp", "yuv420p"), Refusal.A_PICTURE, id="webp"),
        pytest.param(_picture("a.avif", "libsvtav1", "yuv420p"), Refusal.A_PICTURE, id="avif"),
        pytest.param(make_sound_only, Refusal.NO_PICTURE, id="sound-only"),
        pytest.param(_no_index, Refusal.NO_INDEX, id="index-missing"),
        pytest.param(_unknown_codec, Refusal.UNKNOWN_CODEC, id="codec-nobody-knows"),
        pytest.param(_no_frame, Refusal.NO_FRAME, id="no-frame-decodes"),
        pytest.param(
            lambda folder: make_film(folder / "tiny.mkv", even_times(3), size=(8, 8)), Refusal.ABSURD_SIZE, id="tiny"
        ),
        pytest.param(
            lambda folder: make_film(folder / "stripe.mkv", even_times(3), size=(640, 16)),
            Refusal.ABSURD_SIZE,
            id="a-stripe",
        ),
        pytest.param(_large, Refusal.TOO_LARGE, id="larger-than-any-camera"),
        pytest.param(_joined, Refusal.BEGINS_AGAIN, id="two-films-in-one"),
        pytest.param(_many_streams, Refusal.TOO_MANY_STREAMS, id="33-streams"),
        pytest.param(
            lambda folder: make_film(folder / "day.mkv", [0.0, 5 * 3600.0]), Refusal.LASTS_TOO_LONG, id="five-hours"
        ),
    ],
)
def test_what_is_no_film_is_refused_with_a_remedy(
    tmp_path: Path, make: Callable[[Path], Path], reason: Refusal
) -> None:
    """A file that cannot be a recording is refused with the sentence meant for it, after its name."""
    path = make(tmp_path)
    with pytest.raises(FilmRefused) as refusal:
        probe(path)
    assert refused_by(refusal.value) is reason
    assert str(refusal.value).startswith(f"{path.name}: ")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes among the files here")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    """A pipe among the files is refused at once; opening it would wait for somebody to write."""
    os.mkfifo(tmp_path / "pipe.mp4")
    with pytest.raises(FilmRefused) as refusal:
        probe(tmp_path / "pipe.mp4")
    assert refused_by(refusal.value) is Refusal.NO_ORDINARY_FILE


def test_a_file_nobody_may_read_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file without leave to read it is refused by that reason, in the system's words."""

    def closed(path: Path, mode: str) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    path = _text(tmp_path)
    monkeypatch.setattr(Path, "open", closed)
    with pytest.raises(FilmRefused, match=r"\(Permission denied\)") as refusal:
        probe(path)
    assert refused_by(refusal.value) is Refusal.NOT_READABLE


def test_too_many_frames_are_not_read_to_the_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A film with more frames than are taken is refused, whatever it says of itself."""
    monkeypatch.setattr(packets, "MOST_FRAMES", 20)
    assert probe(make_film(tmp_path / "some.mp4", even_times(20)))[0].frames == 20
    with pytest.raises(FilmRefused) as refusal:
        probe(make_film(tmp_path / "many.mp4", even_times(21)))
    assert refused_by(refusal.value) is Refusal.TOO_MANY_FRAMES


@pytest.mark.parametrize("reason", Refusal)
def test_each_refusal_is_one_sentence(reason: Refusal) -> None:
    """A reason is one line that begins small, after the file's name, and ends as a sentence."""
    assert re.fullmatch(r"[a-z][^\n]*[^.\n]\.", reason.value)


def test_every_refusal_comes_from_the_list() -> None:
    """No other module of capture has sentences of its own; the one that speaks for the reader repeats them."""
    own = [
        path.name
        for path in sorted((ROOT / "review" / "capture").glob("*.py"))
        if re.search(r"\bFilmRefused\(", path.read_text("utf-8"))
    ]
    assert own == ["apart.py", "refusals.py"]


def test_the_manual_has_the_whole_list() -> None:
    """The table of refusals in docs/films.md says the same sentences as the code, all of them and no other."""
    text = (ROOT / "docs" / "films.md").read_text("utf-8")
    section = re.split(r"^## ", text.split("## What is refused\n")[1], flags=re.MULTILINE)[0]
    rows = [line.strip("|").split("|") for line in section.splitlines() if line.startswith("|")][2:]
    assert sorted(row[1].strip() for row in rows) == sorted(reason.value for reason in Refusal)
