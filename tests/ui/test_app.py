"""How the server is started."""

from __future__ import annotations

import os
import socket
from pathlib import Path

import pytest

from review.domain.errors import InputError
from review.store.home import HOME_VARIABLE, find_home
from ui.app import make_app, serve


def test_busy_port_is_one_clear_error(tmp_path: Path) -> None:
    """A port that another program listens on gives one sentence that names the port and the option."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(InputError, match=rf"Port {port} .*--port"):
            serve(find_home(tmp_path / "home"), port, open_browser=False)


@pytest.mark.parametrize("port", [-1, 70000])
def test_no_such_port(tmp_path: Path, port: int) -> None:
    """A number that is no port gives the same error."""
    with pytest.raises(InputError, match=rf"Port {port} .*--port"):
        serve(find_home(tmp_path / "home"), port, open_browser=False)


def test_pages_find_the_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The home of the server reaches the pages by the environment."""
    monkeypatch.setenv(HOME_VARIABLE, "elsewhere")
    home = find_home(tmp_path / "home")
    make_app(home)
    assert os.environ[HOME_VARIABLE] == str(home.root)
