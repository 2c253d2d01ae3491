"""Keeping a process that reads films from the network: what a crafted film makes it do stays in it.

References
----------
Linux: seccomp(2), bpf(2), prctl(2); numbers of calls from the kernel's tables for x86-64 and ARM 64 (from memory, held
by `tests/capture/test_confined.py`).
"""

from __future__ import annotations

import ctypes
import errno
import platform
import socket
import sys
from dataclasses import dataclass
from typing import Final

_NO_NEW_PRIVILEGES: Final = 38
_SET_FILTER: Final = 1
_ALL_THREADS: Final = 1
_ALLOW: Final = 0x7FFF0000
_REFUSE: Final = 0x00050000 | errno.EPERM
_LOAD, _IF_EQUAL, _IF_AT_LEAST, _RETURN = 0x20, 0x15, 0x35, 0x06
_NUMBER_AT, _MACHINE_AT, _FIRST_ARGUMENT_AT = 0, 4, 16
_OTHER_TABLE: Final = 0x40000000
"""Calls from here on are those of x86-64's second table."""


@dataclass(frozen=True, slots=True)
class _Machine:
    """A kind of processor: its mark in the kernel, and its numbers of calls."""

    mark: int
    seccomp: int
    socket: int
    ptrace: int


_MACHINES: Final = {
    "x86_64": _Machine(0xC000003E, 317, 41, 101),
    "aarch64": _Machine(0xC00000B7, 277, 198, 117),
}
_RING: Final = 425
"""The call that hands other calls to the kernel in a queue, sockets among them; the same on both."""


class _Step(ctypes.Structure):
    _fields_ = (("code", ctypes.c_uint16), ("yes", ctypes.c_uint8), ("no", ctypes.c_uint8), ("value", ctypes.c_uint32))


class _Program(ctypes.Structure):
    _fields_ = (("length", ctypes.c_uint16), ("steps", ctypes.POINTER(_Step)))


def confine() -> bool:
    """Have the system refuse this process, for good, sockets other than local ones, more rights, and other processes.

    All its threads are held, and those that it starts. Nothing is done but on Linux, on x86-64 and ARM 64.

    Returns
    -------
    bool
        Whether it is confined.
    """
    machine = _MACHINES.get(platform.machine()) if sys.platform == "linux" else None
    if machine is None:
        return False
    libc = ctypes.CDLL(None, use_errno=True)
    if libc.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0) != 0:
        return False
    steps = _steps(machine)
    program = _Program(len(steps), (_Step * len(steps))(*steps))
    return bool(libc.syscall(machine.seccomp, _SET_FILTER, _ALL_THREADS, ctypes.byref(program)) == 0)


def _steps(machine: _Machine) -> list[_Step]:
    """Return the filter: each step goes on, or jumps over so many of the next ones."""
    refused = (_RING, machine.ptrace)
    steps = [
        _Step(_LOAD, 0, 0, _MACHINE_AT),
        _Step(_IF_EQUAL, 0, 5 + len(refused), machine.mark),
        _Step(_LOAD, 0, 0, _NUMBER_AT),
        _Step(_IF_AT_LEAST, 3 + len(refused), 0, _OTHER_TABLE),
    ]
    steps += [_Step(_IF_EQUAL, 2 + len(refused) - place, 0, call) for place, call in enumerate(refused)]
    return [
        *steps,
        _Step(_IF_EQUAL, 0, 3, machine.socket),
        _Step(_LOAD, 0, 0, _FIRST_ARGUMENT_AT),
        _Step(_IF_EQUAL, 1, 0, int(socket.AF_UNIX)),
        _Step(_RETURN, 0, 0, _REFUSE),
        _Step(_RETURN, 0, 0, _ALLOW),
    ]
