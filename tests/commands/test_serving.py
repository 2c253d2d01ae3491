"""`doctor --server`: whether a machine is fit to serve a school."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from review.__main__ import main
from review.actions.courses import start
from review.actions.recordings import add
from review.commands.serving import server_checks
from review.domain.errors import InputError, WorkersAway
from review.pipeline.cluster import Cluster
from review.store.home import Home
from review.store.repository import repository
from review.store.rows import Job
from review.store.settings import SETTINGS_FILE, settings_of
from tests import cluster
from tests.homes import learners_home


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Return a home with a learner."""
    return learners_home(tmp_path / "home")[0]


def _refused(home: Home, name: str) -> str:
    with pytest.raises(InputError) as refused:
        server_checks(home)[name]()
    return str(refused.value)


_NO_FSYNC = "the server of the tests keeps nothing through a loss of power, for speed, and is told so"


@pytest.mark.laptop(_NO_FSYNC)
def test_a_home_without_accounts_is_no_server(home: Home) -> None:
    """All else of a fresh home is fine."""
    for name, check in server_checks(home).items():
        if name != "people":
            assert check()
    assert "whoever reaches the pages may do everything" in _refused(home, "people")


def test_what_others_can_read_is_told(home: Home) -> None:
    """The settings, which may hold a password, and the folder with the films."""
    (home.root / SETTINGS_FILE).write_text(f'metrics_token = "{"x" * 24}"\n')
    settings_of.cache_clear()
    (home.root / SETTINGS_FILE).chmod(0o644)
    assert _refused(home, "settings").endswith("chmod 600")
    (home.root / SETTINGS_FILE).chmod(0o600)
    assert "owner alone" in server_checks(home)["settings"]()
    assert "whoever has the token" in server_checks(home)["figures"]()
    home.root.chmod(0o750)
    assert _refused(home, "shared folder").endswith("chmod 700")


@pytest.mark.server
@pytest.mark.filterwarnings("ignore::distributed.versions.VersionMismatchWarning")
def test_workers_are_told(home: Home, tmp_path: Path) -> None:
    """How many there are, and which of them cannot be used; of a scheduler that is gone how it is asked for."""
    with cluster.running(tmp_path / "cluster", "one") as machines:
        (home.root / SETTINGS_FILE).write_text(f'cluster = "{machines.address}"\n')
        settings_of.cache_clear()
        assert server_checks(home)["workers"]() == f"1 worker with 1 thread at {machines.address}"
        (tmp_path / "other" / "numpy-9.9.9.dist-info").mkdir(parents=True)
        (tmp_path / "other" / "numpy-9.9.9.dist-info" / "METADATA").write_text("Name: numpy\nVersion: 9.9.9\n")
        machines.start_worker("odd", {"PYTHONPATH": str(tmp_path / "other")})
        machines.ready(2)
        assert "1 worker can be used" in (said := _refused(home, "workers"))
        assert "numpy is 9.9.9" in said
    with pytest.raises(WorkersAway, match="See that its scheduler runs"):
        server_checks(home)["workers"]()


@pytest.mark.parametrize(
    ("address", "within"),
    [
        ("tcp://127.0.0.1:8786", True),
        ("tcp://[::1]:8786", True),
        ("tcp://localhost:8786", True),
        ("tcp://10.0.0.7:8786", False),
        ("tcp://3rd.example:8786", False),
        ("tcp://[fe80::1]:8786", False),
    ],
)
def test_a_cluster_that_others_reach_wants_certificates(
    home: Home, monkeypatch: pytest.MonkeyPatch, address: str, within: bool
) -> None:
    """Within one machine it may do without."""
    (home.root / SETTINGS_FILE).write_text(f'cluster = "{address}"\n')
    settings_of.cache_clear()
    monkeypatch.setattr(Cluster, "who", lambda self: ({"one": 2}, {}))
    if within:
        assert server_checks(home)["workers"]() == f"1 worker with 2 threads at {address}"
    else:
        assert "use tls://" in _refused(home, "workers")


def test_a_folder_that_takes_nothing_is_told(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """The fault is the system's own; nothing is left behind where it works."""

    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    server_checks(home)["shared folder"]()
    assert not list(home.incoming.glob("*doctor*"))
    monkeypatch.setattr(Path, "replace", full)
    assert "No space left on device" in _refused(home, "shared folder")


@pytest.mark.parametrize(("hours", "holder", "told"), [(2.0, "", True), (0.5, "", False), (2.0, "somebody", False)])
def test_films_that_nobody_takes_are_told(home: Home, tiny_film: Path, hours: float, holder: str, told: bool) -> None:
    """An analysis that waits for long while nobody is at work."""
    now = datetime.now(UTC)
    with repository(home) as repo:
        learner = repo.person("L-07")
    film = add(home, learner, tiny_film)
    with repository(home) as repo:
        repo.put_job(Job(film.id, "waiting", 0, 9, "", now - timedelta(hours=hours), None))
        if holder:
            repo.leases().take(film.id, "0-9", holder, now, 60.0)
    if told:
        assert _refused(home, "analyses").startswith("1 film waited")
    else:
        assert server_checks(home)["analyses"]().startswith("1 waiting")


@pytest.mark.laptop(_NO_FSYNC)
def test_the_command_looks_at_all_of_it(home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    """What is missing is named last, all at once; where people sign in the same home is fine."""
    order = ["doctor", "--server", "--home", str(home.root)]
    assert main(order) != 0
    said = capsys.readouterr()
    assert "missing  people:" in said.out
    assert "1 of 13 checks failed: people." in said.err
    with repository(home) as repo:
        start(repo, "balance", "Balance lab", "I-02")
    assert main(order) == 0
    assert "ok       people: people sign in, 1 course" in capsys.readouterr().out
