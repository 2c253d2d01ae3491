"""The audit of what is installed fails where a fault is known, and says so where nothing could be asked."""

from __future__ import annotations

import json
import socket
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.metadata import version
from typing import Any

import pytest

from tests.audit import OWN, audit, judged

FAULT = {
    "id": "PYSEC-2026-0",
    "aliases": ["CVE-2026-0"],
    "summary": "invented for this test",
    "affected": [
        {
            "package": {"name": "pytest", "ecosystem": "PyPI"},
            "ranges": [{"type": "ECOSYSTEM", "events": [{"introduced": "0"}, {"fixed": "99.1"}]}],
        }
    ],
}


@dataclass(slots=True)
class Service:
    """A server on this machine that answers questions of OSV's interface: what it was asked, and what it answers."""

    address: str = ""
    status: int = 200
    faulty: str = ""
    asked: list[dict[str, Any]] = field(default_factory=list)

    def answer(self, question: dict[str, Any]) -> bytes:
        """Return the fault for the faulty package, and nothing for all others."""
        self.asked.append(question)
        return json.dumps({"vulns": [FAULT]} if question["package"]["name"] == self.faulty else {}).encode()


@pytest.fixture
def service(monkeypatch: pytest.MonkeyPatch) -> Iterator[Service]:
    """Serve on a free port, asked without a proxy."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    stands_in = Service()

    class Answer(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"
        wbufsize = -1

        def do_POST(self) -> None:
            body = stands_in.answer(json.loads(self.rfile.read(int(self.headers["Content-Length"]))))
            self.send_response(stands_in.status)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *said: Any) -> None:
            """Say nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Answer) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        stands_in.address = f"http://127.0.0.1:{server.server_port}/v1/query"
        yield stands_in
        server.shutdown()


def test_a_known_fault_fails_and_is_named(service: Service) -> None:
    """Package, version, ids and the version without it are told, and all libraries but our own code are looked up."""
    service.faulty = "pytest"
    ends_with, told = audit(service.address)
    named = f"KNOWN FAULT: pytest {version('pytest')}: PYSEC-2026-0 CVE-2026-0; mended in 99.1"
    assert (ends_with, told) == (1, [named, f"{len(service.asked)} packages were looked up, known faults: 1"])
    asked = {one["package"]["name"]: one["version"] for one in service.asked}
    for name in ("streamlit", "mediapipe", "sqlalchemy", "opencv-python", "pip-audit"):
        assert asked[name] == version(name)
    assert OWN not in asked


def test_what_is_excepted_is_passed_over_and_told(service: Service) -> None:
    """By any of a fault's ids, with the reason each time."""
    service.faulty = "pytest"
    ends_with, told = audit(service.address, {"CVE-2026-0": "invented for this test"})
    assert (ends_with, told[0]) == (0, "passed over: CVE-2026-0: invented for this test")


def test_where_no_fault_is_known_it_passes(service: Service) -> None:
    """And tells how many packages were looked up."""
    ends_with, told = audit(service.address)
    assert (ends_with, told) == (0, [f"{len(service.asked)} packages were looked up, known faults: 0"])


def test_where_nobody_answers_it_says_so_and_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a closed port one loud line is told."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    with socket.socket() as closed:
        closed.bind(("127.0.0.1", 0))
        ends_with, (told,) = audit(f"http://127.0.0.1:{closed.getsockname()[1]}/v1/query")
    assert ends_with == 0
    assert told.startswith("THE AUDIT OF WHAT IS INSTALLED WAS NOT DONE: http://127.0.0.1:")
    assert "refused" in told


@pytest.mark.parametrize(("status", "ends_with", "said"), [(503, 0, "WAS NOT DONE"), (400, 1, "gave no report")])
def test_a_service_out_of_order_is_told_from_questions_it_does_not_take(
    service: Service, status: int, ends_with: int, said: str
) -> None:
    """The first is nobody's fault here; the second is, and would stay unseen else."""
    service.status = status
    ended, (told,) = audit(service.address)
    assert (ended, said in told) == (ends_with, True)


def test_a_report_that_leaves_packages_out_is_no_pass() -> None:
    """All that are installed have to be in it, and one at least."""
    one = {"name": "fine", "version": "1", "vulns": []}
    left_out = {"name": "odd", "skip_reason": "could not be found"}
    assert judged({"dependencies": [one]}, 1) == (0, ["1 packages were looked up, known faults: 0"])
    assert judged({"dependencies": [one, left_out]}, 2)[0] == 1
    assert judged({"dependencies": []}, 0)[0] == 1
