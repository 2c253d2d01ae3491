"""Are faults known of what is installed beside our own code? A public service is asked, by pip-audit.

Run: ``python -m tests.audit``. It ends with 1 where a fault is known, and where pip-audit itself fails. Where the
service cannot be asked it says that nothing was looked at, and ends with 0: a machine without a network is no fault.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import urllib.request
from collections.abc import Mapping
from http.client import HTTPException
from importlib.metadata import distributions
from pathlib import Path
from typing import Any, Final
from urllib.error import HTTPError

from packaging.utils import canonicalize_name

SERVICE: Final = "https://api.osv.dev/v1/query"
OWN: Final = "runthrough"
EXCEPTED: Final[Mapping[str, str]] = {}
"""Known faults that do not reach us, by id: why not, and when to look again. Each is printed with every audit."""

_PATIENCE_S: Final = 120.0
_PROBE_S: Final = 15.0
_NOT_LET_THROUGH: Final = (403, 407, 429)
"""What proxies and a service that is asked too much answer."""


def audit(service: str = SERVICE, excepted: Mapping[str, str] = EXCEPTED) -> tuple[int, list[str]]:
    """Have what is installed looked up, and return what to end with and the lines to print.

    Parameters
    ----------
    service
        Where questions of OSV's interface are answered.
    excepted
        Faults that are passed over: id and reason.
    """
    packages = installed()
    with tempfile.TemporaryDirectory() as folder:
        pinned, report = Path(folder) / "pinned.txt", Path(folder) / "report.json"
        pinned.write_text("".join(f"{name}=={held}\n" for name, held in packages.items()), "utf-8")
        order = [sys.executable, "-m", "pip_audit", "--requirement", str(pinned), "--no-deps", "--disable-pip"]
        order += ["--vulnerability-service", "osv", "--osv-url", service, "--progress-spinner", "off"]
        order += ["--format", "json", "--output", str(report), *(f"--ignore-vuln={one}" for one in excepted)]
        try:
            done = subprocess.run(order, capture_output=True, text=True, timeout=_PATIENCE_S)
        except subprocess.TimeoutExpired:
            return 0, [not_done(service, f"no end after {_PATIENCE_S:.0f} s")]
        if report.exists():
            passed_over = [f"passed over: {one}: {why}" for one, why in excepted.items()]
            ends_with, lines = judged(json.loads(report.read_text("utf-8")), len(packages))
            return ends_with, [*passed_over, *lines]
    why = out_of_reach(service)
    if why:
        return 0, [not_done(service, why)]
    last = (done.stderr.strip() or "it said nothing").splitlines()[-1]
    return 1, [f"pip-audit gave no report, though {service} can be asked: {last}"]


def installed() -> dict[str, str]:
    """Return what this Python finds beside our own code, by name, with its version."""
    named = {canonicalize_name(one.name): one.version for one in distributions()}
    return {name: held for name, held in sorted(named.items()) if name != OWN}


def judged(report: Mapping[str, Any], expected: int) -> tuple[int, list[str]]:
    """Return what to end with and the lines to print for a report of pip-audit on so many packages."""
    looked_up = [one for one in report["dependencies"] if "vulns" in one]
    if not looked_up or len(looked_up) != expected:
        return 1, [f"{len(looked_up)} packages were looked up; expected the {expected} that are installed."]
    faults = [fault_line(one, fault) for one in looked_up for fault in one["vulns"]]
    return int(bool(faults)), [*faults, f"{expected} packages were looked up, known faults: {len(faults)}"]


def fault_line(package: Mapping[str, Any], fault: Mapping[str, Any]) -> str:
    """Name package, version and fault, and the versions that are without it."""
    ids = " ".join([fault["id"], *fault["aliases"]])
    mended = ", ".join(fault["fix_versions"]) or "no version so far"
    return f"KNOWN FAULT: {package['name']} {package['version']}: {ids}; mended in {mended}"


def not_done(service: str, why: str) -> str:
    """Say that nothing was looked up."""
    return (
        f"THE AUDIT OF WHAT IS INSTALLED WAS NOT DONE: {service} cannot be asked ({why}). Whether faults are known "
        "was not looked up; run `python -m tests.audit` where there is a network."
    )


def out_of_reach(service: str) -> str:
    """Ask one question, and return why there is no answer; nothing where there is one."""
    question = {"package": {"name": "pip", "ecosystem": "PyPI"}, "version": "23.2.1"}
    try:
        with urllib.request.urlopen(service, json.dumps(question).encode(), timeout=_PROBE_S):
            return ""
    except HTTPError as error:
        return str(error) if error.code >= 500 or error.code in _NOT_LET_THROUGH else ""
    except (OSError, HTTPException) as error:
        return str(error)


if __name__ == "__main__":
    ends_with, told_lines = audit()
    print("\n".join(told_lines))
    sys.exit(ends_with)
