"""Edges as rows of points, so near together that the straight lines between them in longitude and latitude are the edge."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from ..angle import FloatArray, normalise_signed
from ..grids.ellipsoid import SEMI_MAJOR_AXIS_M

__all__ = ["EDGE_TOLERANCE_M", "Edge", "traced_boundary", "unit_vectors"]

#: How far an edge as given by its points may be from the true one. [metre]
EDGE_TOLERANCE_M = 0.5

#: An edge: from an array of shares of its length, 0 to 1, the latitudes and longitudes there. [degree]
Edge = Callable[[FloatArray], tuple[FloatArray, FloatArray]]

#: Where between two points of an edge its line is looked at. Two places, neither in the middle: a line may swing evenly.
_PROBES = (0.3, 0.6)
#: Halvings of an edge. After so many its parts are millimetres even of an edge half around the earth.
_MOST_HALVINGS = 34


def unit_vectors(lat_deg: FloatArray, lon_deg: FloatArray) -> FloatArray:
    """The directions straight up from places, shape (*S, 3), toward the north pole last."""
    lat, lon = np.radians(lat_deg), np.radians(lon_deg)
    vectors: FloatArray = np.stack(
        (np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)), axis=-1
    )
    return vectors


def traced_boundary(edges: Sequence[Edge]) -> tuple[FloatArray, FloatArray]:
    """The closed boundary that edges make, each beginning where the one before it ends.

    Returns
    -------
    lat_deg, lon_deg : ndarray, shape (N,)
        The last point is the first; longitudes run on without a jump, and so end a turn from where they began if the
        boundary goes around a pole. [degree]
    """
    traced = [_traced(edge) for edge in edges]
    lat = np.concatenate([lat[:-1] for lat, _lon in traced])
    lon = np.concatenate([lon[:-1] for _lat, lon in traced])
    lat, lon = np.append(lat, lat[0]), np.append(lon, lon[0])
    steps = normalise_signed(np.diff(lon))
    lon = np.concatenate(([lon[0]], lon[0] + np.cumsum(steps)))
    lon[-1] = lon[0] + 360.0 * np.round((lon[-1] - lon[0]) / 360.0)
    return lat, lon


def _traced(edge: Edge) -> tuple[FloatArray, FloatArray]:
    """Points of an edge from its first to its last, set by halving wherever the line between two is not yet the edge."""
    share = np.array([0.0, 1.0])
    for _ in range(_MOST_HALVINGS):
        coarse = _misses_m(edge, share) > EDGE_TOLERANCE_M
        if not coarse.any():
            break
        middles = (share[:-1] + share[1:]) / 2.0
        share = np.sort(np.concatenate((share, middles[coarse])))
    return edge(share)


def _misses_m(edge: Edge, share: FloatArray) -> FloatArray:
    """How far, between each point and the next, the edge is from the straight line in longitude and latitude."""
    lat, lon = edge(share)
    lat_step, lon_step = np.diff(lat), normalise_signed(np.diff(lon))
    most_m: FloatArray = np.zeros(len(share) - 1)
    for probe in _PROBES:
        true = unit_vectors(*edge(share[:-1] + probe * np.diff(share)))
        straight = unit_vectors(lat[:-1] + probe * lat_step, lon[:-1] + probe * lon_step)
        most_m = np.maximum(most_m, np.linalg.norm(true - straight, axis=-1) * SEMI_MAJOR_AXIS_M)
    return most_m
