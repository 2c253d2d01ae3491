"""How the server is started."""

from __future__ import annotations

import http.client
import os
import socket
from pathlib import Path
from typing import Any

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


def test_the_first_page_has_its_own_name_too(dashboard: str) -> None:
    """The address /recordings leads to the list, and what was asked with it goes along."""
    connection = http.client.HTTPConnection(dashboard.removeprefix("http://"), timeout=20)
    connection.request("GET", "/recordings?as=L-12")
    answer = connection.getresponse()
    assert (answer.status, answer.getheader("location")) == (307, "/?as=L-12")
    connection.close()


@pytest.mark.browser
@pytest.mark.parametrize("name", ["", "recordings"])
def test_the_list_opens_without_a_word_of_a_missing_page(chromium: Any, dashboard: str, name: str) -> None:
    """By either address the list of recordings is shown, for the person asked for, and no dialog lies over it."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.goto(f"{dashboard}/{name}?as=L-12")
    page.get_by_test_id("recording").first.wait_for(timeout=30_000)
    assert page.get_by_test_id("person").input_value() == "L-12"
    assert page.get_by_role("dialog").count() == 0
    page.close()
