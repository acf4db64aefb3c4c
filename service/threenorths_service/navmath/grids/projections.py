"""The three projections behind the grids: transverse Mercator about longitude 0, and both polar stereographic ones.

One transverse Mercator serves all sixty UTM zones: it is given the longitude less the zone's central meridian. Each
ellipsoid has its own three, made when it is first asked for.

Source: DMA TM 8358.2, "The Universal Grids: Universal Transverse Mercator (UTM) and Universal Polar Stereographic
(UPS)", 1989, chapters 2 and 3, for the false origins and the scale factors (figures from memory, checked by the rows of
`tests/published/utm_examples.csv`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from pyproj import Transformer
from pyproj.enums import TransformDirection

from ..angle import FloatArray
from .ellipsoid import WGS84_ELLIPSOID, Ellipsoid

__all__ = [
    "UPS_FALSE_ORIGIN_M",
    "UPS_SCALE",
    "UTM_FALSE_EASTING_M",
    "UTM_SCALE",
    "UTM_SOUTH_FALSE_NORTHING_M",
    "stereographic_forward",
    "stereographic_inverse",
    "stereographic_scale",
    "transverse_mercator_forward",
    "transverse_mercator_inverse",
]

UTM_SCALE = 0.9996
UTM_FALSE_EASTING_M = 500_000.0
UTM_SOUTH_FALSE_NORTHING_M = 10_000_000.0
UPS_SCALE = 0.994
UPS_FALSE_ORIGIN_M = 2_000_000.0


@dataclass(frozen=True, slots=True)
class _Projections:
    transverse_mercator: Transformer
    north: Transformer
    south: Transformer


def _projection(ellipsoid: Ellipsoid, parameters: str) -> Transformer:
    """From longitude and latitude in degrees to easting and northing in metres.

    A pipeline of its own, since one made from two coordinate systems goes by their axis orders and areas of use.
    """
    return Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"+step +a={ellipsoid.semi_major_axis_m} +f={ellipsoid.flattening} {parameters}"
    )


@cache
def _projections(ellipsoid: Ellipsoid) -> _Projections:
    transverse_mercator = _projection(
        ellipsoid, f"+proj=tmerc +lon_0=0 +k={UTM_SCALE} +x_0={UTM_FALSE_EASTING_M}"
    )
    north, south = (
        _projection(
            ellipsoid,
            f"+proj=stere +lat_0={pole} +k={UPS_SCALE} +x_0={UPS_FALSE_ORIGIN_M} +y_0={UPS_FALSE_ORIGIN_M}",
        )
        for pole in (90, -90)
    )
    return _Projections(transverse_mercator, north, south)


def _stereographic(south: bool, ellipsoid: Ellipsoid) -> Transformer:
    projections = _projections(ellipsoid)
    return projections.south if south else projections.north


def _transformed(
    projection: Transformer, first: FloatArray, second: FloatArray, *, back: bool = False
) -> tuple[FloatArray, FloatArray]:
    direction = TransformDirection.INVERSE if back else TransformDirection.FORWARD
    if first.shape == (1,):
        # The library would take an array of one for a number, by a conversion that numpy has deprecated.
        one, other = projection.transform(first.item(), second.item(), direction=direction)
        return np.array([one]), np.array([other])
    one, other = projection.transform(first, second, direction=direction)
    return one, other


def transverse_mercator_forward(
    lat_deg: FloatArray, lon_difference_deg: FloatArray, ellipsoid: Ellipsoid = WGS84_ELLIPSOID
) -> tuple[FloatArray, FloatArray]:
    """Easting, and northing from the equator (negative to the south of it), on a UTM zone's grid. [metre]"""
    return _transformed(_projections(ellipsoid).transverse_mercator, lon_difference_deg, lat_deg)


def transverse_mercator_inverse(
    easting_m: FloatArray, northing_m: FloatArray, ellipsoid: Ellipsoid = WGS84_ELLIPSOID
) -> tuple[FloatArray, FloatArray]:
    """Latitude and longitude difference of an easting and a northing from the equator. [degree]"""
    projection = _projections(ellipsoid).transverse_mercator
    difference_deg, lat_deg = _transformed(projection, easting_m, northing_m, back=True)
    return lat_deg, difference_deg


def stereographic_forward(
    lat_deg: FloatArray, lon_deg: FloatArray, south: bool, ellipsoid: Ellipsoid = WGS84_ELLIPSOID
) -> tuple[FloatArray, FloatArray]:
    """UPS easting and northing, on the grid of the south or the north pole. [metre]"""
    return _transformed(_stereographic(south, ellipsoid), lon_deg, lat_deg)


def stereographic_inverse(
    easting_m: FloatArray, northing_m: FloatArray, south: bool, ellipsoid: Ellipsoid = WGS84_ELLIPSOID
) -> tuple[FloatArray, FloatArray]:
    """Latitude and longitude of UPS coordinates; at the pole itself the longitude is 0. [degree]"""
    lon_deg, lat_deg = _transformed(_stereographic(south, ellipsoid), easting_m, northing_m, back=True)
    return lat_deg, lon_deg


def stereographic_scale(
    lat_deg: FloatArray, south: bool, ellipsoid: Ellipsoid = WGS84_ELLIPSOID
) -> FloatArray:
    """UPS point scale factor at a latitude; 0.994 at the pole.

    J. P. Snyder, "Map Projections: A Working Manual", USGS Professional Paper 1395, 1987, eqs (15-9), (14-15), (21-32)
    and (21-33), with cos(latitude) divided out of the last two, so that the pole needs no case of its own.
    """
    e = ellipsoid.eccentricity
    pole_factor = 2.0 * UPS_SCALE / math.sqrt((1.0 + e) ** (1.0 + e) * (1.0 - e) ** (1.0 - e))
    sine = np.sin(np.radians(-lat_deg if south else lat_deg))
    conformal = ((1.0 + e * sine) / (1.0 - e * sine)) ** (e / 2.0)
    # The other pole is infinitely far; it is kept finite, for nothing is put on the grid from there.
    towards_pole = np.maximum(1.0 + sine, np.finfo(np.float64).eps)
    flattened = np.sqrt(1.0 - ellipsoid.eccentricity_squared * sine * sine)
    return pole_factor * conformal * flattened / towards_pole
