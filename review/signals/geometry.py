"""Distances, midpoints and angles of labelled points; a missing coordinate makes the result missing."""

from __future__ import annotations

import numpy as np
import xarray as xr


def distance(first: xr.DataArray, second: xr.DataArray, dim: str = "space") -> xr.DataArray:
    """Return the Euclidean distance of two points, ``sqrt(sum((first - second)**2))``.

    Parameters
    ----------
    first, second
        Coordinates over `dim` and any other dimensions, in one unit.
    dim
        Dimension that holds the coordinates; it is gone from the result.

    Returns
    -------
    DataArray
        Distance in the unit of the points; NaN where any coordinate is NaN.
    """
    return ((first - second) ** 2).sum(dim, skipna=False) ** 0.5


def midpoint(first: xr.DataArray, second: xr.DataArray) -> xr.DataArray:
    """Return the point halfway between two points; NaN where either is NaN."""
    return (first + second) / 2


def angle_deg(first: xr.DataArray, vertex: xr.DataArray, second: xr.DataArray, dim: str = "space") -> xr.DataArray:
    """Return the angle at `vertex` between the lines to `first` and to `second`.

    Computed from the cosine of the two directions, so it needs no orientation and lies between 0 and 180 deg.

    Parameters
    ----------
    first, vertex, second
        Coordinates over `dim` and any other dimensions, in one unit.
    dim
        Dimension that holds the coordinates.

    Returns
    -------
    DataArray
        Angle in deg; NaN where a coordinate is NaN or an arm of the angle has no length.
    """
    one, other = first - vertex, second - vertex
    lengths = distance(first, vertex, dim) * distance(second, vertex, dim)
    cosine = (one * other).sum(dim, skipna=False) / lengths.where(lengths > 0)
    return cosine.clip(-1.0, 1.0).copy(data=np.degrees(np.arccos(cosine.clip(-1.0, 1.0).values)))


def unfolded_deg(first: xr.DataArray, vertex: xr.DataArray, second: xr.DataArray) -> xr.DataArray:
    """Return the angle at `vertex` as `angle_deg` does, but going on beyond 180 and below 0 deg.

    The angle between two lines in a plane goes back where they pass one another. Here it keeps its side: it is counted
    the way round in which its median is at most 180 deg, from -90 to 270 deg.

    Parameters
    ----------
    first, vertex, second
        Coordinates over ``time`` and ``space`` (two of them), in one unit.

    Returns
    -------
    DataArray
        Over ``time``, deg; NaN where a coordinate is NaN.
    """
    one, other = first - vertex, second - vertex
    across = one.isel(space=0) * other.isel(space=1) - one.isel(space=1) * other.isel(space=0)
    along = (one * other).sum("space", skipna=False)
    signed = np.degrees(np.arctan2(across.values, along.values))
    turned = float(np.sign(np.nansum(np.sin(np.radians(signed))))) or 1.0
    way = turned * signed
    return along.copy(data=np.where(way < -90.0, way + 360.0, way))
