"""Correcting captions: what was written stands, nothing is lost when two write at once, files out and in agree."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import pytest

from review.actions import people
from review.actions.captions import as_heard, correct, read_in
from review.domain.errors import EntryRefused, ExchangeRefused, NotAllowed
from review.domain.model import Person, Recording, Role
from review.domain.transcript import Word
from review.report.captions import captions, captions_told
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.words import WordStore
from tests.store.made import recording

HEARD: Final = (
    Word("Rum", 1.0, 1.3, 0.4),
    Word("bird", 1.3, 1.6, 0.3),
    Word("negative.", 1.6, 2.2, 0.9),
    Word("Thank", 9.0, 9.3, 0.9),
    Word("you.", 9.3, 9.6, 0.9),
)

Said = tuple[Home, Recording, Person, Person]


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """Make a home once."""
    return find_home(tmp_path_factory.mktemp("captions") / "home")


@pytest.fixture
def said(home: Home) -> Said:
    """Add a film that was listened to; a learner and an instructor look at it."""
    with repository(home) as repo:
        learner, instructor = people.ensure(repo, "L-07", Role.LEARNER), people.ensure(repo, "I-02", Role.INSTRUCTOR)
        name = f"a{len(repo.recordings()):05d}"
        film = recording(name, added_by=learner.id, duration_s=20.0, checklist_id=None, checklist_version=None)
        repo.add_recording(film)
    WordStore(home, film.id).put(0, 600, HEARD)
    return home, film, learner, instructor


def named(said: Said, name: str) -> str:
    """Return an id for a correction that no other film has."""
    return f"5f0c1f9e-0000-4000-8000-{said[1].id[1:]}00000{name.rjust(2, '0')}"


def write(
    said: Said, person: Person, name: str, seen: int, text: str, seconds: tuple[float, float] = (1.0, 2.2)
) -> None:
    """Correct a caption."""
    with repository(said[0]) as repo:
        correct(repo, person, said[1].id, named(said, name), seen, seconds, text)


def texts(said: Said) -> list[str]:
    """Return the captions as the learner is told."""
    home, film, learner, _ = said
    return [one["text"] for one in captions_told(home, learner, film.id)["captions"]]


def test_a_caption_is_corrected_changed_and_taken_back(said: Said) -> None:
    """What was heard, and how sure, is told beside it; each revision says by whom; then it stands as heard again."""
    home, film, learner, instructor = said
    first = captions_told(home, learner, film.id)["captions"][0]
    assert (first["text"], first["unsure"], first["by"]) == ("Rum bird negative.", [[0, 3], [4, 8]], "")
    write(said, learner, "1", 0, "  Romberg\n negative. ")
    write(said, instructor, "1", 1, "Romberg is negative.")
    changed = captions_told(home, learner, film.id)["captions"][0]
    assert (changed["text"], changed["by"], changed["revision"]) == ("Romberg is negative.", "I-02", 2)
    assert (changed["heard"], changed["unsure"]) == ("Rum bird negative.", [])
    assert "Romberg is negative." in captions(home, learner, film.id)
    with repository(home) as repo:
        as_heard(repo, learner, film.id, named(said, "1"), 2)
    assert texts(said) == ["Rum bird negative.", "Thank you."]
    write(said, learner, "1", 3, "Romberg negative.")
    assert texts(said) == ["Romberg negative.", "Thank you."]


def test_a_correction_outlives_other_words(said: Said) -> None:
    """When the film is listened to anew, what was written stays and what is heard there then is left out."""
    home, film, learner, _ = said
    write(said, learner, "1", 0, "Romberg negative.")
    WordStore(home, film.id).put(0, 600, (Word("Run", 1.1, 1.9, 0.5), Word("Thanks.", 9.1, 9.5, 0.9)))
    assert texts(said) == ["Romberg negative.", "Thanks."]


@pytest.mark.parametrize(
    ("name", "seen"), [("1", 0), ("1", 5), ("2", 0)], ids=["as new", "another revision", "another correction"]
)
def test_nothing_is_lost_when_two_write_at_once(said: Said, name: str, seen: int) -> None:
    """Whoever comes second is told what it now says and by whom, and nothing changes."""
    write(said, said[3], "1", 0, "Romberg is negative.")
    with pytest.raises(EntryRefused, match=r"I-02 changed this caption meanwhile: it now says .Romberg is negative"):
        write(said, said[2], name, seen, "Romberg negative.")
    assert texts(said) == ["Romberg is negative.", "Thank you."]


@pytest.mark.parametrize(
    ("seconds", "text", "words"),
    [
        ((1.0, 21.0), "x", "within the film"),
        ((2.0, 2.0), "x", "end after its start"),
        ((float("nan"), 2.0), "x", "within the film"),
        ((1.0, 2.0), "x" * 301, "at most 300"),
        ((1.0, 2.0), "\ud83d", "half a character"),
    ],
    ids=["beyond the film", "no length", "no number", "too long", "half a character"],
)
def test_what_cannot_be_a_caption_is_refused(said: Said, seconds: tuple[float, float], text: str, words: str) -> None:
    """One sentence says what came and what was expected."""
    with pytest.raises(EntryRefused, match=words):
        write(said, said[2], "1", 0, text, seconds)


def test_a_file_out_and_in_changes_nothing(said: Said) -> None:
    """Captions that were taken out are read in without a correction, whether they were heard or corrected."""
    home, film, learner, _ = said
    write(said, learner, "1", 0, "Romberg negative & fine <2>.")
    out = captions(home, learner, film.id)
    told = read_in(home, learner, film.id, "x.vtt", out.encode(), replaces=False)
    assert told == ["2 captions read in; 0 of them differ from what stood here."]
    assert captions(home, learner, film.id) == out
    assert captions_told(home, learner, film.id)["corrected"] == 1


Change = Callable[[str], str]


@pytest.mark.parametrize(
    ("change", "wanted"),
    [
        (lambda text: text.replace("Rum bird", "Romberg"), ["Romberg negative.", "Thank you."]),
        (lambda text: text[: text.index("2\n00:00:09")], ["Rum bird negative."]),
        (lambda text: f"{text}\n00:12.000 --> 00:13.000\nDown.\n", ["Rum bird negative.", "Thank you.", "Down."]),
        (lambda _: "WEBVTT\n\n00:01.400 --> 00:09.200\nall else\n", ["all else"]),
    ],
    ids=["one changed", "one left out", "one more", "quite others"],
)  # fmt: skip
def test_captions_become_those_of_a_file(said: Said, change: Change, wanted: list[str]) -> None:
    """Whatever was changed in it, they are read out again as they were read in."""
    home, film, learner, _ = said
    text = change(captions(home, learner, film.id))
    read_in(home, learner, film.id, "x.vtt", text.encode(), replaces=False)
    assert [one for one in texts(said) if one] == wanted
    assert read_in(home, learner, film.id, "x.vtt", captions(home, learner, film.id).encode(), replaces=False)[0] == (
        f"{len(wanted)} caption{'s' if len(wanted) != 1 else ''} read in; 0 of them differ from what stood here."
    )


def test_corrections_give_way_to_a_file_only_when_that_is_said(said: Said) -> None:
    """Refused at first; then replaced, and the old words are kept with their revisions."""
    home, film, learner, _ = said
    write(said, learner, "1", 0, "Romberg negative.")
    body = b"WEBVTT\n\n00:01.000 --> 00:02.000\nLook up.\n"
    with pytest.raises(EntryRefused, match="1 corrected caption of"):
        read_in(home, learner, film.id, "x.vtt", body, replaces=False)
    assert texts(said) == ["Romberg negative.", "Thank you."]
    told = read_in(home, learner, film.id, "x.vtt", body, replaces=True)
    assert told[-1].startswith("1 earlier correction gave way")
    assert [one for one in texts(said) if one] == ["Look up."]
    with repository(home) as repo:
        last = repo.corrections().last(named(said, "1"))
    assert last is not None
    assert (last.removed, last.text) == (True, "Romberg negative.")


def test_all_faults_of_a_file_are_told_at_once(said: Said) -> None:
    """Times beyond the film, broken times, too long texts; nothing was changed."""
    home, film, learner, _ = said
    body = "WEBVTT\n\n00:01.000 --> 00:21.000\na\n\n00:02.000 --> 00:0\nb\n\n00:03.000 --> 00:04.000\n" + "x" * 301
    with pytest.raises(ExchangeRefused) as refused:
        read_in(home, learner, film.id, "x.vtt", body.encode(), replaces=False)
    told = str(refused.value)
    assert all(words in told for words in ("the film at 00:00:20.000", "line 6", "301 characters"))
    for wrong in (b"WEBVTT\n", b"\xff\xfe", b"PK\x03\x04"):
        with pytest.raises(ExchangeRefused):
            read_in(home, learner, film.id, "x.vtt", wrong, replaces=False)
    assert texts(said) == ["Rum bird negative.", "Thank you."]


def test_a_peer_reads_them_and_corrects_nothing(said: Said) -> None:
    """On a machine without accounts: all see the captions; a peer may not correct them."""
    home, film, *_ = said
    with repository(home) as repo:
        peer = people.ensure(repo, "P-03", Role.PEER)
    assert captions_told(home, peer, film.id)["may_correct"] is False
    with pytest.raises(NotAllowed, match="may not correct the captions"):
        write(said, peer, "1", 0, "x")
