"""Distances and angles of points whose geometry is known."""

import numpy as np
import pytest
import xarray as xr

from review.signals.geometry import angle_deg, distance, midpoint, unfolded_deg


def place(*xy: float) -> xr.DataArray:
    """One point in one frame."""
    return xr.DataArray([list(xy)], dims=("time", "space"))


def test_distance_of_a_known_triangle() -> None:
    """The sides 3 and 4 have 5 between their ends."""
    assert distance(place(0, 0), place(3, 4)).item() == 5.0


def test_midpoint_lies_halfway() -> None:
    """The middle has the mean coordinates."""
    assert midpoint(place(0, 2), place(4, 4)).values.tolist() == [[2.0, 3.0]]


@pytest.mark.parametrize(
    ("end", "expected"),
    [
        pytest.param((1, 0), 0.0, id="same direction"),
        pytest.param((1, 1), 45.0, id="half a right angle"),
        pytest.param((0, -2), 90.0, id="right angle, other side"),
        pytest.param((-3, 0), 180.0, id="straight"),
    ],
)
def test_angle_of_known_directions(end: tuple[float, float], expected: float) -> None:
    """The angle at the origin between the x axis and a known direction."""
    assert angle_deg(place(1, 0), place(0, 0), place(*end)).item() == pytest.approx(expected, abs=1e-9)


def test_angle_of_an_arm_without_length_is_missing() -> None:
    """No direction, no angle."""
    assert np.isnan(angle_deg(place(0, 0), place(0, 0), place(1, 0)).item())


def test_missing_coordinate_makes_the_result_missing() -> None:
    """One unknown coordinate is enough."""
    assert np.isnan(distance(place(np.nan, 0), place(3, 4)).item())
    assert np.isnan(angle_deg(place(1, 0), place(0, np.nan), place(0, 1)).item())


@pytest.mark.parametrize("mirror", [1, -1])
def test_an_unfolded_angle_goes_on_beyond_the_straight_line(mirror: int) -> None:
    """A line that turns from 150 past 180 to 200 deg, either way round, and back past 0 to -20 deg."""
    angles = np.array([150.0, 160.0, 178.0, 182.0, 200.0, 90.0, 10.0, -20.0])
    turned = np.radians(mirror * angles)
    ends = xr.DataArray(np.stack([np.cos(turned), np.sin(turned)], axis=1), dims=("time", "space"))
    assert unfolded_deg(place(1, 0).isel(time=0), place(0, 0).isel(time=0), ends).values == pytest.approx(angles)


def test_an_unfolded_angle_of_nothing_is_missing() -> None:
    """Without any place there is no way round and no angle."""
    assert np.isnan(unfolded_deg(place(np.nan, 0), place(0, 0), place(1, 0)).item())
