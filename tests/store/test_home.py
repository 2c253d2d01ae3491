from __future__ import annotations

import stat
import sys
from pathlib import Path

import pytest

from review.domain.errors import InputError
from review.store.home import HOME_VARIABLE, find_home


def test_a_given_folder_wins_over_the_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder asked for is taken, whatever the environment says, and all its rooms are made."""
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path / "other"))
    home = find_home(tmp_path / "deep" / "mine")
    assert home.root == tmp_path / "deep" / "mine"
    assert all(folder.is_dir() for folder in (home.media, home.tracks, home.incoming))
    assert not (tmp_path / "other").exists()


def test_the_environment_names_the_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a given folder the environment variable counts."""
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path / "named"))
    assert find_home().root == tmp_path / "named"


@pytest.mark.skipif(sys.platform != "linux", reason="the usual place is told by XDG_DATA_HOME on Linux only")
def test_the_usual_place_is_the_users_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without anything said the home lies in the user's data folder."""
    monkeypatch.delenv(HOME_VARIABLE, raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert find_home().root == tmp_path / "runthrough"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps no such bits")
def test_only_the_owner_may_look_into_a_new_home(tmp_path: Path) -> None:
    """A new home is closed to the machine's other users."""
    assert stat.S_IMODE(find_home(tmp_path / "home").root.stat().st_mode) == 0o700


def test_a_home_that_cannot_be_made_is_one_clear_error(tmp_path: Path) -> None:
    """A path through a file is refused with the path and the way out."""
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(InputError, match=r"home folder .*file.* cannot be used.*--home"):
        find_home(tmp_path / "file" / "home")
