"""Shifts between the datums and WGS 84, each by one named operation that a table of ours pins.

The rule of choice: of the datum's operations in the order of the table, for which see `datum_table_from_epsg`, the first
whose box holds the place **on the datum** and whose grids, if any, are there and have a value at it. Nothing is
extrapolated: where no box holds the place there is no shift. How sure the shift is, `datum_trust` says.

Back from WGS 84 the operation is the first whose box holds the place that it comes from *by that same operation*, which
makes the two ways inverses of each other. The one exception lies along the edge between the areas of two operations, in a
strip as wide as they disagree, some metres mostly: there a place on WGS 84 can come from two places on the datum, or from
none that would itself choose that operation. The first operation is taken, and the places differ by no more than the two
operations do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_longitude
from ..errors import BallparkShiftError, OutOfRangeError, OutsideDatumAreaError
from ..rows import IntArray, as_rows, in_shape
from .datum import Datum, DatumShift
from .datum_pipeline import carried_back, carried_over
from .datum_table import DatumOperation, DatumOperations, operations_of, pinned_for
from .datum_trust import trusted_to_m

__all__ = [
    "BALLPARK_ACCURACY_M",
    "ShiftedPlaces",
    "from_wgs84",
    "shifted_from_wgs84",
    "shifted_to_wgs84",
    "to_wgs84",
]

#: How far a place may be off whose latitude and longitude were taken over as they stand: the largest shift of the table,
#: 2.2 km on Kosrae in Micronesia, rounded up. Of the datums that are known most are within 1 km. [metre]
BALLPARK_ACCURACY_M = 2500.0
#: Wider than any shift: places so near to a box on WGS 84 may lie in it on the datum. [degree]
REACH_OF_SHIFTS_DEG = 0.05
#: Rows worked on at a time, so that the boxes of many operations against many places need little memory.
BLOCK_ROWS = 65_536


@dataclass(frozen=True, slots=True)
class ShiftedPlaces:
    """Places carried from a datum to WGS 84 or back, row by row. Where ``operation`` is -1 the numbers are NaN."""

    lat_deg: FloatArray
    #: In [-180, 180); on the datum it counts from the prime meridian of that. [degree]
    lon_deg: FloatArray
    #: Index into ``operations``, or -1 where no operation's area holds the place.
    operation: IntArray
    #: How far from the truth the shift may put the place. [metre]
    accuracy_m: FloatArray
    operations: tuple[DatumOperation, ...]


def _carried(
    table: DatumOperations, lat_deg: FloatArray, lon_deg: FloatArray, back: bool
) -> tuple[FloatArray, FloatArray, IntArray, FloatArray]:
    """Latitude, longitude, operation and accuracy of one block of rows from Greenwich."""
    lat, lon = np.full(lat_deg.shape, np.nan), np.full(lat_deg.shape, np.nan)
    chosen = np.full(lat_deg.shape, -1)
    holds = table.bounds.holds(lat_deg, lon_deg, REACH_OF_SHIFTS_DEG if back else 0.0)
    for index in np.flatnonzero(holds.any(axis=1)).tolist():
        rows = np.flatnonzero(holds[index] & (chosen < 0))
        if not rows.size:
            continue
        carry = carried_back if back else carried_over
        there_lat, there_lon = carry(table.operations[index], lat_deg[rows], lon_deg[rows])
        found = np.isfinite(there_lat) & np.isfinite(there_lon)
        if back:
            found &= table.bounds.of(index).holds(there_lat, there_lon)[0]
        rows = rows[found]
        lat[rows], lon[rows], chosen[rows] = there_lat[found], there_lon[found], index
    known = np.flatnonzero(chosen >= 0)
    accuracy_m = np.full(lat_deg.shape, np.nan)
    on_datum_lat, on_datum_lon = (lat, lon) if back else (lat_deg, lon_deg)
    if known.size:
        accuracy_m[known] = trusted_to_m(table, chosen[known], on_datum_lat[known], on_datum_lon[known])
    return lat, lon, chosen, accuracy_m


def _checked_rows(lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[list[FloatArray], tuple[int, ...]]:
    rows, shape = as_rows(lat_deg, lon_deg)
    for name, values, limit in zip(("lat_deg", "lon_deg"), rows, (90.0, 360.0), strict=True):
        bad = ~(np.abs(values) <= limit)
        if bad.any():
            value = float(values[bad][0])
            raise OutOfRangeError(
                f"{name} is {value}", member=name, value=value, allowed=f"-{limit:g} to {limit:g}"
            )
    return rows, shape


def _shifted(datum: Datum, lat_deg: ArrayLike, lon_deg: ArrayLike, *, back: bool) -> ShiftedPlaces:
    (lat, lon), shape = _checked_rows(lat_deg, lon_deg)
    table = operations_of(datum.epsg)
    meridian_deg = datum.prime_meridian_deg
    lon = normalise_longitude(lon if back else lon + meridian_deg)
    blocks = [
        _carried(table, lat[start : start + BLOCK_ROWS], lon[start : start + BLOCK_ROWS], back)
        for start in range(0, max(lat.size, 1), BLOCK_ROWS)
    ]
    there_lat, there_lon, chosen, accuracy_m = (np.concatenate(parts) for parts in zip(*blocks, strict=True))
    there_lon = normalise_longitude(there_lon - meridian_deg if back else there_lon)
    return ShiftedPlaces(
        in_shape(there_lat, shape),
        in_shape(there_lon, shape),
        in_shape(chosen, shape),
        in_shape(accuracy_m, shape),
        table.operations,
    )


def to_wgs84(datum: Datum, lat_deg: ArrayLike, lon_deg: ArrayLike) -> ShiftedPlaces:
    """Places of a datum on WGS 84.

    Parameters
    ----------
    datum : Datum
        As `datum.find_datum` gives it.
    lat_deg, lon_deg : array_like
        Geodetic latitude in [-90, 90] and longitude from the datum's prime meridian; they broadcast. [degree]

    Raises
    ------
    OutOfRangeError
        A latitude is outside [-90, 90], a longitude outside [-360, 360], or one is NaN.
    """
    return _shifted(datum, lat_deg, lon_deg, back=False)


def from_wgs84(datum: Datum, lat_deg: ArrayLike, lon_deg: ArrayLike) -> ShiftedPlaces:
    """Places of WGS 84 on a datum: the inverse of `to_wgs84`, with the same errors."""
    return _shifted(datum, lat_deg, lon_deg, back=True)


def _outside(
    datum: Datum, operations: tuple[DatumOperation, ...], lat_deg: float, lon_deg: float
) -> OutsideDatumAreaError:
    areas = sorted({operation.area for operation in operations})
    return OutsideDatumAreaError(
        f"no shift between {datum.name} and WGS 84 was determined where latitude {lat_deg:.4f}, longitude "
        f"{lon_deg:.4f} lies",
        member="datum",
        value=datum.name,
        allowed=f"in {datum.name}: " + "; ".join(areas),
    )


def _only_ballpark(datum: Datum) -> BallparkShiftError:
    grids = sorted({names[0] for operation in pinned_for(datum.epsg) for names in operation.grids})
    provided = f", or the shift grid {' or '.join(grids)} in a folder of PROJ_DATA" if grids else ""
    return BallparkShiftError(
        f"no shift between {datum.name} and WGS 84 is known{' without a shift grid' if grids else ''}",
        member="datum",
        value=datum.name,
        allowed=f"another datum, or `allow_ballpark`{provided}",
    )


def _one(
    datum: Datum, lat_deg: float, lon_deg: float, *, allow_ballpark: bool, back: bool
) -> tuple[float, float, str, float, bool]:
    """Latitude, longitude, operation, accuracy and whether it is ballpark, of one place."""
    places = _shifted(datum, lat_deg, lon_deg, back=back)
    if places.operation >= 0:
        label = places.operations[int(places.operation)].label
        return float(places.lat_deg), float(places.lon_deg), label, float(places.accuracy_m), False
    if places.operations:
        raise _outside(datum, places.operations, lat_deg, lon_deg)
    if not allow_ballpark:
        raise _only_ballpark(datum)
    turned_deg = -datum.prime_meridian_deg if back else datum.prime_meridian_deg
    lon = float(normalise_longitude(lon_deg + turned_deg))
    return lat_deg, lon, "none: taken over as it stands", BALLPARK_ACCURACY_M, True


def shifted_to_wgs84(
    datum: Datum, lat_deg: float, lon_deg: float, *, allow_ballpark: bool = False
) -> tuple[float, float, DatumShift]:
    """Latitude and longitude on WGS 84 of one place on ``datum``, and how it came there.

    Raises
    ------
    OutsideDatumAreaError
        The datum has operations, and the area of none holds the place.
    BallparkShiftError
        The datum has no operation that can be applied, and ``allow_ballpark`` is not said.
    OutOfRangeError
        As of `to_wgs84`.
    """
    lat, lon, operation, accuracy_m, ballpark = _one(
        datum, lat_deg, lon_deg, allow_ballpark=allow_ballpark, back=False
    )
    return lat, lon, DatumShift(datum, lat_deg, lon_deg, operation, accuracy_m, ballpark)


def shifted_from_wgs84(
    datum: Datum, lat_deg: float, lon_deg: float, *, allow_ballpark: bool = False
) -> tuple[float, float, DatumShift]:
    """Latitude and longitude on ``datum`` of one place on WGS 84, and how it came there; errors as of `shifted_to_wgs84`."""
    lat, lon, operation, accuracy_m, ballpark = _one(
        datum, lat_deg, lon_deg, allow_ballpark=allow_ballpark, back=True
    )
    return lat, lon, DatumShift(datum, lat, lon, operation, accuracy_m, ballpark)
