"""Stretches in addresses, against the official test cases of Media Fragments URI 1.0."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.exchange.media_fragments import Fragment, read_fragment, write_fragment

END_S = 9.97
"""About the length of the film of the official test cases."""

CASES = {
    # W3C, "UA test cases" of the Media Fragments working group (2008/WebVideo/Fragments/TC/ua-test-cases): the
    # fragment, and the stretch of the film that is to be played; None where the fragment is to be passed over.
    "t=,": None,
    "t=3,3": None,
    "t=7,3": None,
    "t=0,9.97": (0, END_S),
    "t=3,7": (3, 7),
    "t=3,15": (3, END_S),
    "t=15,20": (END_S, END_S),
    "t=3": (3, END_S),
    "t=3,": None,
    "t=15": (END_S, END_S),
    "t=,7": (0, 7),
    "t=,15": (0, END_S),
    "t=npt:3,7": (3, 7),
    "t=banana": None,
    "t=3,banana": None,
    "t=banana,7": None,
    "t='3'": None,
    "t=3-7": None,
    "t=3:7": None,
    "t=3,7,9": None,
    "t%3D3": None,
    "%74=3": (3, END_S),
    "t=%33": (3, END_S),
    "t=3%2C7": (3, 7),
    "t=%6Ept:3": (3, END_S),
    "t=npt%3A3": (3, END_S),
    "t=-1,3": None,
    "t=3&": (3, END_S),
    "u=12&t=3": (3, END_S),
    "t=foo:7&t=npt:3": (3, END_S),
    "&&=&=tom&jerry=&t=3&t=meow:0#": (3, END_S),
    "t=7&t=3": (3, END_S),
    "T=3,7": None,
    "t=smpte:00:00:01&t=npt:3": (3, END_S),
    "t=": None,
    "t=.": None,
    "t=.0": None,
    "t=0s": None,
    "t=,0s": None,
    "t=0s,0s": None,
    "t=00:00:00s": None,
    "t=s": None,
    "t=npt:": None,
    "t=1e-1": None,
    "t=00:00:01.1e-1": None,
    "t=3.": (3, END_S),
    "t=0:0:0": None,
    "t=0:00:60": None,
    "t=0:01:60": None,
    "t=0:60:00": None,
    "t=0:000:000": None,
    "t=00:00:03,00:00:07": (3, 7),
    "t=3,00:00:07": (3, 7),
    "t=00:00.": (0, END_S),
    "t=0:00:00.": (0, END_S),
    "t=0:00:10e-1": None,
    "t=0:00:60.000": None,
    "t=0:60:00.000": None,
    "t=3,7&t=foo": (3, 7),
    "foo&t=3,7": (3, 7),
    "t=3,7&foo": (3, 7),
    "t=3,7&&": (3, 7),
    "&t=3,7": (3, 7),
    "&&t=3,7": (3, 7),
    "&t=3,7&": (3, 7),
    "t%3d10": None,
    "t=10%26": None,
    "t=3,7,": None,
    "t=0:00:03,0:00:07": (3, 7),
}


@pytest.mark.parametrize(("text", "expected"), list(CASES.items()), ids=list(CASES))
def test_official_cases(text: str, expected: tuple[float, float] | None) -> None:
    """Each fragment of the working group's table is played from and to where the table says, or passed over."""
    found = read_fragment(text)
    assert (None if found is None else found.within(END_S)) == (None if expected is None else Fragment(*expected))


@given(onset_ms=st.integers(0, 10**8), length_ms=st.integers(1, 10**7))
def test_what_is_written_is_read(onset_ms: int, length_ms: int) -> None:
    """A stretch comes back to the millisecond, written in seconds with three decimals and no exponent."""
    found = read_fragment(write_fragment(onset_ms, onset_ms + length_ms))
    assert found is not None
    assert found.offset_s is not None
    assert (round(1000 * found.onset_s), round(1000 * found.offset_s)) == (onset_ms, onset_ms + length_ms)
