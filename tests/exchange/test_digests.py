"""Names of films by what is in them."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.exchange.digests import film_sha256, film_uri


def test_the_example_of_the_standard() -> None:
    """RFC 6920, section 8.1: the name of the twelve characters "Hello World!"."""
    digest = hashlib.sha256(b"Hello World!").hexdigest()
    name = "ni:///sha-256;f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk"
    assert film_uri(digest) == name
    assert film_sha256(name) == digest


@given(st.binary(min_size=32, max_size=32))
def test_every_sum_comes_back(digest: bytes) -> None:
    """Any SHA-256 is read from the URI that names it."""
    assert film_sha256(film_uri(digest.hex())) == digest.hex()


@pytest.mark.parametrize(
    "text",
    ["", "ni:///sha-256;abc", "ni:///md5;f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk", "http://example.org/film"],
)
def test_other_texts_name_no_film(text: str) -> None:
    """What is not of the form names nothing."""
    assert film_sha256(text) is None
