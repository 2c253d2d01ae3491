"""Curves on their way from Python to the browser."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
import xarray as xr

from review.domain.measure import with_reasons
from review.domain.model import Reason
from review.measures import registry
from review.report.tracks import trace_bytes
from tests.ui.conftest import Site

pytestmark = pytest.mark.browser


def test_unpacked_as_packed(chromium: Any, site: Site) -> None:
    """The browser reads back the columns, times, values and reasons that were packed."""
    times = np.array([0.0, 0.04, 0.08])
    trace = xr.DataArray(
        [[1.5, -2.0], [0.25, 4.0], [3.0, 8.0]], dims=("time", "side"), coords={"time": times, "side": ["left", "right"]}
    )
    trace = with_reasons(trace, np.array([0, int(Reason.FACE_SMALL), 0]), "mm")
    of = dataclasses.replace(next(iter(registry().values())), title="Lean")
    page = chromium.new_page()
    page.goto(f"{site.address}/assets/test/clock.js")
    code = """async (bytes) => {
        const { unpack } = await import("/assets/test/curves.js");
        const found = unpack(new Uint8Array(bytes).buffer);
        return [found.columns, found.unit, Array.from(found.times), found.values.map((one) => Array.from(one, String)),
                Array.from(found.reason), found.reasons[found.reason[1]]];
    }"""
    found = page.evaluate(code, list(trace_bytes(of, trace)))
    page.close()
    values = [["1.5", "NaN", "3"], ["-2", "NaN", "8"]]
    assert found == [["left", "right"], "mm", times.tolist(), values, [0, 4, 0], Reason.FACE_SMALL.words]


def test_frames_between_two_looks_are_no_gap(chromium: Any, site: Site) -> None:
    """Frames that were not looked at are left out between two near looks, and stay where a longer stretch was left."""
    page = chromium.new_page()
    page.goto(f"{site.address}/assets/test/clock.js")
    code = """async ([times, reason]) => {
        const { lookedAt } = await import("/assets/test/curves.js");
        return lookedAt(new Float64Array(times), new Int8Array(reason));
    }"""
    skipped = int(Reason.NOT_LOOKED)
    times = [0.0, 0.1, 0.2, 0.3, 0.4, 1.0, 1.5, 2.0, 2.1]
    reason = [0, skipped, skipped, 0, 5, skipped, skipped, 0, skipped]
    found = page.evaluate(code, [times, reason])
    page.close()
    assert found == [0, 3, 4, 5, 6, 7, 8]
