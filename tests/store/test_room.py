"""Whether there is room: what a home holds is counted rightly, and not for every slice."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from review.domain.errors import InputError
from review.store import room
from review.store.home import Home
from review.store.room import QUOTA_VARIABLE, expect_room, grown, held_bytes, no_room


def test_a_file_under_two_names_counts_once(home: Home) -> None:
    """An upload that is being kept has two names and takes its bytes once."""
    (home.incoming / "film").write_bytes(bytes(1000))
    (home.media / "original").hardlink_to(home.incoming / "film")
    (home.media / "times").write_bytes(bytes(50))
    assert held_bytes(home) == 1050


def test_the_home_is_not_walked_for_every_slice(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """A thousand slices in a moment are counted as they come, and the folders are looked through once."""
    walks: list[Path] = []
    walk = os.walk
    monkeypatch.setattr(room, "_COUNTED_FOR_S", 3600.0)
    monkeypatch.setattr(os, "walk", lambda root: (walks.append(root), walk(root))[1])
    monkeypatch.setenv(QUOTA_VARIABLE, "0.001")
    taken = 0
    while no_room(home, 1000) is None:
        grown(home, 1000)
        taken += 1
    assert (taken, len(walks)) == (1000, 1)


def test_what_a_film_needs_is_named_part_by_part(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a quota of 10 MB a film of 8 MB and a copy of 3 MB are refused, and the way out is told; 7 MB fit."""
    monkeypatch.setenv(QUOTA_VARIABLE, "0.01")
    expect_room(home, "film.mov", {"original": 4_000_000, "copy": 3_000_000})
    with pytest.raises(InputError) as refused:
        expect_room(home, "film.mov", {"original": 8_000_000, "copy": 3_000_000, "nothing": 0})
    said = str(refused.value)
    assert said.startswith("There is no room for film.mov (original 8.0 MB, copy 3.0 MB). Runthrough may hold 10.0 MB")
    assert "Erase a recording or raise the quota, then add it again." in said
