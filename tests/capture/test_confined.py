"""Processes that read films are kept from the network."""

from __future__ import annotations

import platform
import subprocess
import sys

import pytest

from review.capture.confined import confine
from review.pipeline.executors import local_pool

pytestmark = pytest.mark.skipif(
    sys.platform != "linux" or platform.machine() not in ("x86_64", "aarch64"), reason="known of these machines only"
)

TRIES = """
import ctypes, os, socket, threading
from review.capture.confined import confine

told, go = [], threading.Event()

def tried(what, *given):
    try:
        what(*given)
        told.append("done")
    except PermissionError:
        told.append("refused")

def begun_before():
    go.wait()
    tried(socket.socket, socket.AF_INET6, socket.SOCK_DGRAM)

thread = threading.Thread(target=begun_before)
thread.start()
assert confine()
go.set()
thread.join()
tried(socket.create_connection, ("127.0.0.1", 9))
tried(socket.socket, socket.AF_PACKET, socket.SOCK_RAW)
tried(socket.socketpair, socket.AF_UNIX)
libc = ctypes.CDLL(None, use_errno=True)
told += ["refused" if libc.ptrace(16, 1, 0, 0) == -1 and ctypes.get_errno() == 1 else "done"]
told += ["refused" if libc.syscall(425, 1, 0) == -1 and ctypes.get_errno() == 1 else "done"]
print(*told, [line for line in open("/proc/self/status") if line.startswith(("Seccomp:", "NoNewPrivs:"))])
"""


def test_sockets_of_the_network_are_refused_in_every_thread() -> None:
    """Local ones go on; ptrace and the kernel's ring, by which sockets could come as well, are refused too."""
    said = subprocess.run([sys.executable, "-W", "ignore", "-c", TRIES], capture_output=True, text=True, check=True)
    tried, _, facts = said.stdout.partition("[")
    assert tried.split() == ["refused", "refused", "refused", "done", "refused", "refused"]
    assert "NoNewPrivs:\\t1" in facts
    assert "Seccomp:\\t2" in facts


def _connected() -> str:
    import socket

    try:
        socket.create_connection(("127.0.0.1", 9), timeout=1)
    except OSError as error:
        return type(error).__name__
    return "connected"


def test_workers_reach_no_network() -> None:
    """A worker of the pool is refused a connection, which this process would be let try."""
    assert _connected() == "ConnectionRefusedError"
    with local_pool(1) as pool:
        assert pool.submit(_connected).result() == "PermissionError"


def test_elsewhere_nothing_is_done(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a machine whose calls are not known, no filter is set, and that is said."""
    monkeypatch.setattr(platform, "machine", lambda: "riscv64")
    assert not confine()
