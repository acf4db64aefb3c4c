"""A place on the datum and the grid of the sheet in hand, where these are not WGS 84 with UTM or UPS."""

from __future__ import annotations

from dataclasses import dataclass

from ..angle import FloatArray, normalise_longitude
from ..datums.datum import WGS84, Datum
from ..datums.datum_shift import shifted_from_wgs84
from ..errors import NavigationError
from ..grids.grid import convergence_and_scale, to_grid
from ..grids.lettered_grid import LETTERED_GRIDS
from ..grids.projected_grid import FIRST_EPSG_CODE, projected_grid
from ..grids.zones import band_of
from ..references.mgrs import spaced_mgrs, write_mgrs_from_grid
from .place import FINEST_DIGITS, Place, digits_no_finer_than

__all__ = ["LocalPosition", "local_position"]


@dataclass(frozen=True, slots=True)
class LocalPosition:
    """One place on a datum and grid. Angles in degrees, lengths in metres.

    ``zone`` and ``hemisphere`` are of UTM (zone 0: UPS) and ``None`` on a national grid; ``epsg`` the other way about.
    ``reference`` is ``None`` on a grid that is written without letters.
    """

    datum: str
    datum_epsg: int
    lat_deg: float
    lon_deg: float
    grid: str
    zone: int | None
    hemisphere: str | None
    epsg: int | None
    easting_m: float
    northing_m: float
    reference: str | None
    convergence_deg: FloatArray
    point_scale_factor: FloatArray
    operation: str | None
    accuracy_m: float | None


def local_position(
    place: Place, digits: int | None, datum: Datum, *, allow_ballpark: bool = False
) -> LocalPosition | None:
    """The place on ``datum`` and the grid that it is worked on; ``None`` where that is WGS 84 with UTM or UPS.

    On a national grid, which brings its own datum, ``datum`` plays no part. The reference is written to ``digits`` a side;
    left out, as finely as the place is known on that datum.

    Raises
    ------
    OutsideDatumAreaError, BallparkShiftError
        There is no way from WGS 84 to the datum at the place.
    """
    zone, south = place.grid_zone, place.grid_south
    national = zone >= FIRST_EPSG_CODE
    datum = projected_grid(zone).datum if national else datum
    if datum.epsg == WGS84.epsg and not national:
        return None
    lat_deg, lon_deg, operation, accuracy_m = _on_datum(place, datum, allow_ballpark)
    on_own_datum = datum.epsg == place.datum.epsg
    given_m = place.given_m if on_own_datum else None
    easting, northing = given_m or _coordinates(zone, south, lat_deg, lon_deg, datum)
    if digits is None:
        # What was given on the datum is as fine as it was given; what comes to it no finer than the way there.
        limit = FINEST_DIGITS if on_own_datum else digits_no_finer_than(accuracy_m or 0.0)
        digits = min(place.given_digits, limit)
    if national:
        name, reference = projected_grid(zone).name, _lettered_reference(zone, easting, northing, digits)
    else:
        name = place.grid_name
        reference = _reference(zone, lat_deg, lon_deg, (easting, northing), digits, datum)
    convergence_deg, scale = convergence_and_scale(place.lat_deg, place.lon_deg, zone, south)
    return LocalPosition(
        datum=datum.name,
        datum_epsg=datum.epsg,
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        grid=name,
        zone=None if national else zone,
        hemisphere=None if national else "south" if south else "north",
        epsg=zone if national else None,
        easting_m=easting,
        northing_m=northing,
        reference=reference,
        convergence_deg=convergence_deg,
        point_scale_factor=scale,
        operation=operation,
        accuracy_m=accuracy_m,
    )


def _coordinates(zone: int, south: bool, lat_deg: float, lon_deg: float, datum: Datum) -> tuple[float, float]:
    """Easting and northing of a place of the datum. [metre]"""
    if zone >= FIRST_EPSG_CODE:
        easting, northing = projected_grid(zone).to_grid(lat_deg, lon_deg)
        return float(easting), float(northing)
    # UTM counts its meridians from Greenwich, whatever the datum does.
    lon_deg = float(normalise_longitude(lon_deg + datum.prime_meridian_deg))
    on_grid = to_grid(lat_deg, lon_deg, zone, south, ellipsoid=datum.ellipsoid)
    return float(on_grid.easting_m), float(on_grid.northing_m)


def _lettered_reference(epsg: int, easting_m: float, northing_m: float, digits: int) -> str | None:
    """The grid reference on a national grid; ``None`` of one without letters, or where it has no lettered square."""
    for grid in LETTERED_GRIDS.values():
        if grid.epsg == epsg and grid.holds(easting_m, northing_m):
            return grid.spaced(str(grid.write(easting_m, northing_m, digits)))
    return None


def _reference(
    zone: int,
    lat_deg: float,
    lon_deg: float,
    on_grid_m: tuple[float, float],
    digits: int,
    datum: Datum,
) -> str | None:
    """The grid reference in the zone; ``None`` where the zone has no squares so far out."""
    band = str(band_of(lat_deg, float(normalise_longitude(lon_deg + datum.prime_meridian_deg))))
    try:
        reference = write_mgrs_from_grid(zone, band, *on_grid_m, digits, ellipsoid=datum.ellipsoid)
    except NavigationError:
        return None
    return spaced_mgrs(str(reference))


def _on_datum(
    place: Place, datum: Datum, allow_ballpark: bool
) -> tuple[float, float, str | None, float | None]:
    """Latitude and longitude on the datum, the operation that says so and its accuracy; those of its giving, if on it."""
    if datum.epsg == WGS84.epsg:
        return place.lat_deg, place.lon_deg, None, None
    shift = place.shift
    if shift is None or shift.datum.epsg != datum.epsg:
        _, _, shift = shifted_from_wgs84(datum, place.lat_deg, place.lon_deg, allow_ballpark=allow_ballpark)
    return shift.lat_deg, shift.lon_deg, shift.operation, shift.accuracy_m
