"""The rule of the grid zones: which zone and latitude band a place belongs to, and where each of them ends.

A *designation*, such as 32T or Z, is a zone (0 for UPS) with a band letter. Between our own modules it is one whole
number, 26 times the zone plus the letter's place in the alphabet, so that every fact of a designation is one look-up.

Source: DMA TM 8358.1, "Datums, Ellipsoids, Grids, and Grid Reference Systems", 1990, sections 2-6 and 3-2. The overlaps
are from sections 2-6.3.1 and 2-6.3.2 as quoted by M. Rittri on the PROJ mailing list, 2011-06-21. The edges of the
zones of Norway and Svalbard are checked by the rows of `tests/published/mgrs_examples.csv`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray
from ..errors import OutOfRangeError
from ..rows import BoolArray, IntArray, as_rows, in_shape

__all__ = [
    "ALPHABET",
    "BANDS",
    "DESIGNATION_COUNT",
    "EDGES",
    "LETTERS_PER_ZONE",
    "OVERLAP_EDGES",
    "SOUTHERN",
    "ZoneEdges",
    "band_of",
    "check_places",
    "designation_of",
    "zone_of",
]

ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
BANDS = "CDEFGHJKLMNPQRSTUVWX"
LETTERS_PER_ZONE = len(ALPHABET)
DESIGNATION_COUNT = 61 * LETTERS_PER_ZONE

UTM_SOUTH_DEG = -80
UTM_NORTH_DEG = 84
#: Sheets print the grid of a zone this far beyond its edges; so do references read off them.
_OVERLAP_DEG = 0.5

#: Where the zones depart from the rule: south, north, then (west, east, zone) from the west onwards.
_NORWAY = (56, 64, ((3, 12, 32),))
_SVALBARD = (72, 84, ((0, 9, 31), (9, 21, 33), (21, 33, 35), (33, 42, 37)))

_LETTER_ARRAY = np.array(list(ALPHABET))
_A, _B, _Y, _Z = (ALPHABET.index(letter) for letter in "ABYZ")

#: Of each designation: whether it lies south of the equator, where UTM northings count from 10,000,000.
SOUTHERN: BoolArray = np.tile(_LETTER_ARRAY < "N", 61)


def _designations_by_whole_degree() -> NDArray[np.intp]:
    """Shape (181, 540): by the whole degree below the latitude, from -90, and below the longitude, from -180.

    All edges of zones and bands are whole degrees, so that this table decides without a rounding.
    """
    lat, lon = np.ogrid[-90:91, -180:360]
    lon = (lon + 180) % 360 - 180
    zone = np.broadcast_to((lon + 180) // 6 + 1, (181, 540)).copy()
    for south, north, exceptions in (_NORWAY, _SVALBARD):
        for west, east, number in exceptions:
            zone[(south <= lat) & (lat < north) & (west <= lon) & (lon < east)] = number
    band_letters = np.array([ALPHABET.index(letter) for letter in BANDS])
    # Band X is 12 degrees high where the others are 8: the last step belongs to it too.
    letter = band_letters[np.clip((lat - UTM_SOUTH_DEG) // 8, 0, len(BANDS) - 1)]
    utm = zone * LETTERS_PER_ZONE + letter
    west_half = lon < 0
    return np.where(
        lat < UTM_SOUTH_DEG,
        np.where(west_half, _A, _B),
        np.where(lat >= UTM_NORTH_DEG, np.where(west_half, _Y, _Z), utm),
    )


_DESIGNATIONS = _designations_by_whole_degree()


@dataclass(frozen=True, slots=True)
class ZoneEdges:
    """The edges of every designation, shape (DESIGNATION_COUNT,), NaN where there is no such designation. [degree]

    A place belongs to it where ``west_deg <= lon < east_deg`` and ``south_deg <= lat < north_deg``, with the longitude
    in [-180, 180). The halves of UPS are told apart by easting, so no meridian bounds them; nor does a pole.
    """

    west_deg: FloatArray
    east_deg: FloatArray
    south_deg: FloatArray
    north_deg: FloatArray


def _edges() -> ZoneEdges:
    lat, lon = np.mgrid[-90:91, -180:180]
    designations = _DESIGNATIONS[:, :360]
    west, south = np.full((2, DESIGNATION_COUNT), np.nan)
    east, north = np.full((2, DESIGNATION_COUNT), np.nan)
    np.fmin.at(west, designations, lon)
    np.fmin.at(south, designations, lat)
    np.fmax.at(east, designations, lon + 1)
    np.fmax.at(north, designations, lat + 1)
    west[:LETTERS_PER_ZONE] -= 360.0
    east[:LETTERS_PER_ZONE] += 360.0
    return ZoneEdges(west, east, south, north)


def _overlap_edges(edges: ZoneEdges) -> ZoneEdges:
    """The edges with the overlap of UTM and UPS added; that of neighbouring UTM zones is a distance, not degrees."""
    south, north = edges.south_deg.copy(), edges.north_deg.copy()
    south[(south == UTM_SOUTH_DEG) | (south == UTM_NORTH_DEG)] -= _OVERLAP_DEG
    north[(north == UTM_SOUTH_DEG) | (north == UTM_NORTH_DEG)] += _OVERLAP_DEG
    return ZoneEdges(edges.west_deg, edges.east_deg, south, north)


EDGES = _edges()
OVERLAP_EDGES = _overlap_edges(EDGES)


def check_places(lat_deg: FloatArray, lon_deg: FloatArray) -> None:
    """Raise `OutOfRangeError` unless all latitudes are in [-90, 90] and all longitudes in [-180, 360)."""
    if not np.abs(lat_deg).max(initial=0.0) <= 90.0:
        value = lat_deg[~(np.abs(lat_deg) <= 90.0)][0]
        raise OutOfRangeError(
            f"{value:g} is no latitude", member="lat_deg", value=float(value), allowed="-90 to 90"
        )
    if not (lon_deg.min(initial=0.0) >= -180.0 and lon_deg.max(initial=0.0) < 360.0):
        value = lon_deg[~((lon_deg >= -180.0) & (lon_deg < 360.0))][0]
        raise OutOfRangeError(
            f"{value:g} is no longitude", member="lon_deg", value=float(value), allowed="-180 to under 360"
        )


def designation_of(lat_deg: FloatArray, lon_deg: FloatArray) -> NDArray[np.intp]:
    """The designation of each place: arrays of equal shape, latitude in [-90, 90] and longitude in [-180, 360)."""
    row = np.floor(lat_deg).astype(np.intp) + 90
    column = np.floor(lon_deg).astype(np.intp) + 180
    return _DESIGNATIONS[row, column]


def zone_of(lat_deg: ArrayLike, lon_deg: ArrayLike) -> IntArray:
    """The grid zone of each place: 1 to 60 for UTM, 0 for UPS.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        Latitude in [-90, 90] and longitude in [-180, 360). [degree]

    Raises
    ------
    OutOfRangeError
        Any latitude or longitude is out of range or NaN.
    """
    (lat, lon), shape = as_rows(lat_deg, lon_deg)
    check_places(lat, lon)
    return in_shape(designation_of(lat, lon) // LETTERS_PER_ZONE, shape)


def band_of(lat_deg: ArrayLike, lon_deg: ArrayLike) -> NDArray[np.str_]:
    """The band letter of each place: C to X, or for UPS A or B (south) and Y or Z (north).

    A and Y are the halves where the UPS easting is under 2,000,000 m: west longitudes, less the meridian of 180 degrees
    and the pole itself. Parameters and errors are those of `zone_of`.
    """
    (lat, lon), shape = as_rows(lat_deg, lon_deg)
    check_places(lat, lon)
    letter = designation_of(lat, lon) % LETTERS_PER_ZONE
    on_the_edge = (np.abs(lat) == 90.0) | (np.abs(lon) == 180.0)
    letter += on_the_edge & ((letter == _A) | (letter == _Y))
    return in_shape(_LETTER_ARRAY[letter], shape)
