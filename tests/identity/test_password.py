"""Which passwords are accepted, and how they are kept."""

from __future__ import annotations

import pytest
from argon2 import PasswordHasher, extract_parameters
from argon2.profiles import CHEAPEST

from review.domain.errors import EntryRefused
from review.identity import password, secret

GOOD = "lantern tide marble owl"


@pytest.mark.parametrize(
    "text",
    [GOOD, "a" * 11 + "bcde", "        x yz q w", "Größe ist nicht alles", "pass word 1 2 3 but mine", "x1y2z" * 51],
    ids=str,
)
def test_long_ones_are_accepted(text: str) -> None:
    """Any signs, spaces too, of 15 to 256 characters: no rule of composition."""
    password.check_password(text, "L-07")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("fourteen signs", "14 characters; expected 15 to 256"),
        ("x1y2z" * 52, "260 characters"),
        ("Password-Password!", "tried first"),
        ("qwerty uiop asdfgh jkl", "tried first"),
        ("abababababababab", "fewer than 5 different"),
        ("i am l 07 and nobody else", "holds the code L-07"),
        ("", "0 characters"),
    ],
    ids=["short", "long", "common", "keyboard", "monotone", "code", "empty"],
)
def test_what_is_guessed_first_is_refused(text: str, words: str) -> None:
    """Short, common and monotone ones, and those with the person's code, whatever spaces and signs stand between."""
    with pytest.raises(EntryRefused, match=words):
        password.check_password(text, "L-07")


def test_a_password_is_kept_as_argon2id_of_rfc_9106() -> None:
    """Argon2id, 3 rounds, 64 MiB, 4 lanes, 128-bit salt: the second recommended option; a salt of its own each time."""
    first, second = password.kept(GOOD), password.kept(GOOD)
    assert first.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert extract_parameters(first).salt_len == 16
    assert first != second
    assert password.fits(GOOD, first)
    assert not password.fits(GOOD.upper(), first)


def test_the_form_in_which_letters_are_composed_does_not_count() -> None:
    """The same letter typed as one sign or as two opens the same account (NFKC)."""
    assert password.fits("cafe\u0301 with four seats", password.kept("caf\u00e9 with four seats"))


def test_where_nothing_is_kept_nothing_fits() -> None:
    """Not even what the stand-in was made of; a text that is no hash is no hash."""
    assert not password.fits("a password that nobody has", None)
    assert not password.fits(GOOD, "not a hash")


def test_other_parameters_are_outdated() -> None:
    """What was kept with less memory is told, so that it can be kept anew."""
    assert password.outdated(PasswordHasher.from_parameters(CHEAPEST).hash(GOOD))
    assert not password.outdated(password.kept(GOOD))


def test_secrets_have_256_bits_and_only_such_have_a_digest() -> None:
    """43 signs of base64url; anything else, however alike, has none."""
    one = secret.fresh()
    assert len(one) == 43
    assert one != secret.fresh()
    assert len(secret.digest(one) or "") == 64
    assert [secret.digest(text) for text in ("", one[:-1], one + "A", one[:-1] + "\n", one[:-1] + "=")] == [None] * 5
