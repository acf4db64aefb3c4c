"""The places of a batch: of the rows that give one in a plain way, all at once.

Plain is a grid reference (MGRS or USNG) on WGS 84, and a latitude and longitude or UTM coordinates as numbers. Whatever
else people write, old datums, sheets, and what is wrong in any way are left to the reading of single texts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from ..navmath.angle import FloatArray, normalise_longitude
from ..navmath.cautions import Caution, caution
from ..navmath.grids.grid import band_of, band_on_grid, from_grid, to_grid, zone_of
from ..navmath.grids.grid_limits import within_utm
from ..navmath.references.mgrs import MgrsStatus, read_mgrs_joined, write_mgrs_from_grid
from ..navmath.rows import BoolArray, IntArray
from .rows import Rows

__all__ = ["PlaceColumns", "geodetic_places", "place_members", "places_of", "references_of"]

FINEST_DIGITS = 5
_GEODETIC = ("lat_deg", "lon_deg")
_UTM = ("zone", "hemisphere", "easting_m", "northing_m")
#: A latitude at which UTM ends. [degree]
SOUTH_END_DEG, NORTH_END_DEG = -80.0, 84.0


@dataclass(slots=True)
class PlaceColumns:
    """Places as `navmath.places.place.Place` has one, by columns; where ``plain`` is false they mean nothing.

    ``form`` is 0 for a grid reference, 1 for a latitude and longitude, 2 for UTM coordinates. The resolution is NaN where
    the place was given by numbers.
    """

    plain: BoolArray
    form: NDArray[np.int8]
    lat_deg: FloatArray
    lon_deg: FloatArray
    zone: IntArray
    south: BoolArray
    band: NDArray[np.str_]
    easting_m: FloatArray
    northing_m: FloatArray
    digits: IntArray
    resolution_m: FloatArray
    cut: BoolArray
    overlap: BoolArray

    @property
    def sd_m(self) -> FloatArray:
        """As `Place.sd_m`. [metre]"""
        return np.asarray(np.nan_to_num(self.resolution_m) / np.sqrt(12.0))

    def cautions(self) -> dict[int, list[Caution]]:
        """What is to be said of the reading, by row."""
        said: dict[int, list[Caution]] = {}
        for rows, code in ((self.cut, "square_cut_by_zone"), (self.overlap, "outside_zone")):
            for row in np.flatnonzero(rows & self.plain).tolist():
                said.setdefault(row, []).append(caution(code))
        return said

    def copy_from(self, rows: NDArray[np.intp], places: PlaceColumns) -> None:
        """Put ``places`` into ``rows``."""
        for name in PlaceColumns.__slots__:
            getattr(self, name)[rows] = getattr(places, name)


def place_members(root: str) -> frozenset[str]:
    """The members of a position called ``root`` that are known here."""
    return frozenset([root, *(f"{root}.{name}" for name in (*_GEODETIC, *_UTM))])


def places_of(rows: Rows, root: str, *, on_grid: bool = True) -> PlaceColumns:
    """The places that the member ``root`` names.

    Without ``on_grid`` latitudes and longitudes are not brought to their grid: their zones are known, but not their bands,
    eastings and northings, which take half the time.
    """
    given = {name: rows.given(f"{root}.{name}") for name in (*_GEODETIC, *_UTM)}
    written = rows.given(root)
    geodetic, utm = given["lat_deg"] | given["lon_deg"], given["zone"] | given["easting_m"]
    for member in ("hemisphere", "northing_m"):
        utm |= given[member]
    if written.all() and not (geodetic | utm).any():
        return _from_texts(rows.texts(root))
    if geodetic.all() and not (written | utm).any():
        return geodetic_places(*(rows.numbers(f"{root}.{name}") for name in _GEODETIC), on_grid=on_grid)
    ways = written.astype(np.int8) + geodetic + utm
    places = _nowhere(rows.count)
    for kind, read in (
        (written, _texts_at),
        (geodetic, partial(_geodetic_at, on_grid=on_grid)),
        (utm, _utm_at),
    ):
        alone = np.flatnonzero(kind & (ways == 1))
        if alone.size:
            places.copy_from(alone, read(rows, root, alone))
    return places


def references_of(places: PlaceColumns, digits: IntArray) -> pa.Array:
    """The grid reference of each place, to so many digits a side; null where the place is not plain."""
    texts = np.full(len(digits), "", dtype="U15")
    for number in range(FINEST_DIGITS + 1):
        at = np.flatnonzero(places.plain & (digits == number))
        if at.size:
            where = (places.zone[at], places.band[at], places.easting_m[at], places.northing_m[at])
            texts[at] = write_mgrs_from_grid(*where, number)
    return pa.array(texts, pa.string())


def _nowhere(count: int) -> PlaceColumns:
    return PlaceColumns(
        plain=np.zeros(count, dtype=np.bool_),
        form=np.zeros(count, dtype=np.int8),
        lat_deg=np.zeros(count),
        lon_deg=np.zeros(count),
        zone=np.full(count, 31),
        south=np.zeros(count, dtype=np.bool_),
        band=np.full(count, "N"),
        easting_m=np.full(count, 500_000.0),
        northing_m=np.zeros(count),
        digits=np.full(count, FINEST_DIGITS),
        resolution_m=np.full(count, np.nan),
        cut=np.zeros(count, dtype=np.bool_),
        overlap=np.zeros(count, dtype=np.bool_),
    )


def _from_texts(texts: pa.StringArray) -> PlaceColumns:
    count = len(texts)
    squares = read_mgrs_joined(_joined(texts), count)
    half_m = squares.size_m / 2.0
    places = PlaceColumns(
        plain=squares.status == MgrsStatus.OK,
        form=np.zeros(count, dtype=np.int8),
        lat_deg=squares.lat_deg,
        lon_deg=squares.lon_deg,
        zone=squares.zone,
        south=squares.south,
        band=squares.band,
        easting_m=squares.easting_m + half_m,
        northing_m=squares.northing_m + half_m,
        digits=squares.digits,
        resolution_m=squares.size_m,
        cut=squares.cut,
        overlap=squares.overlap,
    )
    cut = np.flatnonzero(places.cut)
    if cut.size:
        grid = to_grid(places.lat_deg[cut], places.lon_deg[cut], places.zone[cut], places.south[cut])
        places.easting_m[cut], places.northing_m[cut] = grid.easting_m, grid.northing_m
    if not places.plain.all():
        bad = np.flatnonzero(~places.plain)
        places.copy_from(bad, _nowhere(bad.size))
    return places


def _joined(texts: pa.StringArray) -> bytes:
    """All texts in one run of bytes, as `read_mgrs_joined` wants them."""
    count = len(texts)
    if count == 0:
        return b""
    joined = bytes(
        pc.binary_join(pa.ListArray.from_arrays(pa.array([0, count], pa.int32()), texts), "\0")[0].as_buffer()
    )
    if joined.count(b"\0") != count - 1:
        return _joined(pc.replace_substring(texts, "\0", "?"))
    return joined


def _texts_at(rows: Rows, root: str, at: NDArray[np.intp]) -> PlaceColumns:
    return _from_texts(rows.texts(root).take(pa.array(at)))


def _geodetic_at(rows: Rows, root: str, at: NDArray[np.intp], *, on_grid: bool) -> PlaceColumns:
    lat_deg, lon_deg = (rows.numbers(f"{root}.{name}")[at] for name in _GEODETIC)
    return geodetic_places(lat_deg, lon_deg, on_grid=on_grid)


def geodetic_places(lat_deg: FloatArray, lon_deg: FloatArray, *, on_grid: bool = True) -> PlaceColumns:
    """The places of latitudes and longitudes; plain are those in [-90, 90] and [-180, 360). [degree]"""
    places = _nowhere(lat_deg.size)
    places.plain = (np.abs(lat_deg) <= 90.0) & (lon_deg >= -180.0) & (lon_deg < 360.0)
    if not places.plain.all():
        lat_deg, lon_deg = np.where(places.plain, lat_deg, 0.0), np.where(places.plain, lon_deg, 0.0)
    places.lat_deg, places.lon_deg = lat_deg, normalise_longitude(lon_deg)
    places.form[:] = 1
    if not on_grid:
        places.zone, places.south = zone_of(places.lat_deg, places.lon_deg), places.lat_deg < 0.0
        return places
    grid = to_grid(places.lat_deg, places.lon_deg)
    places.zone, places.south = grid.zone, grid.south
    places.band = band_on_grid(places.lat_deg, places.lon_deg, grid)
    places.easting_m, places.northing_m = grid.easting_m, grid.northing_m
    return places


def _utm_at(rows: Rows, root: str, at: NDArray[np.intp]) -> PlaceColumns:
    zone, easting_m, northing_m = (
        rows.numbers(f"{root}.{name}")[at] for name in ("zone", "easting_m", "northing_m")
    )
    hemisphere = rows.texts(f"{root}.hemisphere").take(pa.array(at))
    south, north = (np.asarray(pc.equal(hemisphere, name)) for name in ("south", "north"))
    places = _nowhere(at.size)
    good = (south | north) & (zone >= 1.0) & (zone <= 60.0) & (zone == np.floor(zone))
    good &= within_utm(south, easting_m, northing_m)
    zone, easting_m, northing_m = (
        np.where(good, given, stand_in)
        for given, stand_in in ((zone, 31.0), (easting_m, 500_000.0), (northing_m, 0.0))
    )
    south &= good
    lat_deg, lon_deg = from_grid(zone, south, easting_m, northing_m)
    # Beyond these parallels the grid is printed on, but its places have no band of their own.
    places.plain = good & (lat_deg >= SOUTH_END_DEG) & (lat_deg < NORTH_END_DEG)
    places.form[:] = 2
    places.lat_deg, places.lon_deg = lat_deg, lon_deg
    places.zone, places.south, places.easting_m, places.northing_m = (
        zone.astype(np.int64),
        south,
        easting_m,
        northing_m,
    )
    places.band = band_of(np.clip(lat_deg, SOUTH_END_DEG, NORTH_END_DEG), lon_deg)
    places.plain &= ~((places.band == "X") & np.isin(places.zone, (32, 34, 36)))
    return places
