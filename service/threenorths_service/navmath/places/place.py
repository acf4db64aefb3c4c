"""A place, however it was given: on WGS 84, with the grid that it is worked on and how well it is known."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

from ..angle import normalise_longitude
from ..cautions import Caution, caution
from ..datums.datum import WGS84, Datum, DatumShift
from ..datums.frame import WGS84_FRAME, Frame
from ..errors import OutsideGridError
from ..grids.grid import band_on_grid, to_grid
from ..grids.grid_limits import check_ups, check_utm
from ..grids.projected_grid import FIRST_EPSG_CODE
from ..grids.zones import band_of
from ..references.mgrs_letters import lettering_of
from ..texts.position_reading import GridSquare, PositionReading
from ..texts.position_text import read_position_text
from ..texts.position_written import write_decimal_degrees
from .expected import Expected

__all__ = [
    "FINEST_DIGITS",
    "TAKES",
    "Place",
    "datum_coarse",
    "digits_for",
    "digits_no_finer_than",
    "place_from_geodetic",
    "place_from_projected",
    "place_from_text",
    "place_from_ups",
    "place_from_utm",
]

TAKES = ("centre", "corner")
FINEST_DIGITS = 5
ABSENT_IN_BAND_X = (32, 34, 36)
#: A zone number with a bare S, which is a band as well as a hemisphere.
_S_AFTER_ZONE = re.compile(r"[0-9]\s*s(?![a-z])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Place:
    """A place on WGS 84, with its UTM or UPS coordinates and the grid that it is worked on.

    ``zone`` is 0 for UPS: the zone that the place was given in on WGS 84, otherwise its own by the zone rule.
    ``grid_zone`` and ``grid_south`` name the grid of the sheet that grid north is taken from: the same, unless the place
    was given on a grid of another datum or on a national grid, whose EPSG code it then is. ``digits`` and
    ``resolution_m`` are ``None`` where nothing was written that has them.
    """

    form: str
    read_as: str
    lat_deg: float
    lon_deg: float
    zone: int
    south: bool
    band: str
    easting_m: float
    northing_m: float
    grid_zone: int
    grid_south: bool
    #: Whether that grid was named, by the position itself or by the sheet, and so is that of the map in hand.
    grid_named: bool
    digits: int | None = None
    resolution_m: float | None = None
    cautions: tuple[Caution, ...] = ()
    square: GridSquare | None = None
    #: How the place came to WGS 84; ``None`` where it was given on it.
    shift: DatumShift | None = None
    #: Easting and northing on the grid of ``grid_zone``, where the place was given by these on another datum. [metre]
    given_m: tuple[float, float] | None = None

    @property
    def datum(self) -> Datum:
        """The datum that the place was given on."""
        return WGS84 if self.shift is None else self.shift.datum

    @property
    def grid_name(self) -> str:
        """The grid that the place is worked on, in words."""
        if self.grid_zone >= FIRST_EPSG_CODE:
            return f"EPSG:{self.grid_zone}"
        hemisphere = "south" if self.grid_south else "north"
        return f"UTM zone {self.grid_zone} {hemisphere}" if self.grid_zone else f"UPS {hemisphere}"

    @property
    def accuracy_m(self) -> float:
        """How far the shift of its datum may have put the place off; 0 where there was none. [metre]"""
        return 0.0 if self.shift is None else self.shift.accuracy_m

    @property
    def sd_m(self) -> float:
        """Standard deviation to the north and to the east of a place anywhere in a square of its resolution. [metre]

        The accuracy of a datum's shift is taken for the standard deviation of what it adds: the EPSG dataset does not say
        which confidence its figures have.
        """
        return math.hypot((self.resolution_m or 0.0) / math.sqrt(12.0), self.accuracy_m)

    @property
    def given_digits(self) -> int:
        """Digits a side to which the place was given, on its own datum, at most 5."""
        if self.digits is not None:
            return self.digits
        return FINEST_DIGITS if self.resolution_m is None else digits_for(self.resolution_m)

    @property
    def own_digits(self) -> int:
        """Digits a side to which the place is known on WGS 84: what a grid reference of it can mean, at most 5."""
        return min(self.given_digits, digits_no_finer_than(self.accuracy_m))

    @property
    def tolerance_m(self) -> float:
        """How far the place meant can be from this one: half the diagonal of the square that was written. [metre]"""
        return (self.resolution_m or 0.0) / math.sqrt(2.0)

    def on_grid(self, zone: int, south: bool, given_m: tuple[float, float] | None = None) -> Place:
        """The same place worked on another grid, such as that of the sheet in hand or the one that it was given on."""
        if (zone, south) == (self.grid_zone, self.grid_south):
            given_m = given_m or self.given_m
        return replace(self, grid_zone=zone, grid_south=south, grid_named=True, given_m=given_m)

    def cautioned(self, *cautions: Caution) -> Place:
        """The same place with more said of it."""
        return replace(self, cautions=(*self.cautions, *cautions))


def place_from_text(
    text: str, take: str = "centre", frame: Frame = WGS84_FRAME, expected: Expected | None = None
) -> Place:
    """The place that a written position names; of a grid reference's square, what ``take`` of `TAKES` says.

    ``frame`` is what the text is read on, and ``expected`` where a reference without its zone or square is looked for.
    Raises the errors of `read_position_text`.
    """
    reading = read_position_text(text, frame, expected)
    return _place_of_reading(reading, take, text)


def place_from_geodetic(lat_deg: float, lon_deg: float, frame: Frame = WGS84_FRAME) -> Place:
    """The place at a latitude in [-90, 90] and a longitude in [-180, 360) of the frame's datum. [degree]

    Raises the errors of `Frame.on_wgs84`.
    """
    lon_deg = float(normalise_longitude(lon_deg))
    lat, lon, shift = frame.on_wgs84(lat_deg, lon_deg)
    return _geodetic(lat, lon, write_decimal_degrees(lat_deg, lon_deg), shift=shift)


def place_from_utm(
    zone: int, south: bool, easting_m: float, northing_m: float, frame: Frame = WGS84_FRAME
) -> Place:
    """The place at UTM coordinates of the frame's datum; `check_utm` names what is out of reach."""
    check_utm(zone, south, easting_m, northing_m)
    lat, lon, shift = frame.from_grid(zone, south, easting_m, northing_m)
    band = str(band_of(lat, lon)) if -80.0 <= lat < 84.0 else "C" if south else "X"
    if band == "X" and zone in ABSENT_IN_BAND_X:
        raise OutsideGridError(
            f"there is no zone {zone} so far north",
            member="zone",
            value=zone,
            allowed="31, 33, 35 or 37 between 72 and 84 degrees north around Svalbard",
        )
    read_as = _written(f"UTM {zone}", south, easting_m, northing_m)
    if shift is not None:
        return _geodetic(lat, lon, read_as, form="utm", shift=shift).on_grid(
            zone, south, (easting_m, northing_m)
        )
    return Place(
        "utm", read_as, lat, lon, zone, south, band, easting_m, northing_m, zone, south, grid_named=True
    )


def place_from_ups(south: bool, easting_m: float, northing_m: float, frame: Frame = WGS84_FRAME) -> Place:
    """The place at UPS coordinates of the frame's datum; `check_ups` names what is out of reach."""
    check_ups(south, easting_m, northing_m)
    lat, lon, shift = frame.from_grid(0, south, easting_m, northing_m)
    band = ("AB" if south else "YZ")[easting_m >= 2_000_000.0]
    read_as = _written("UPS", south, easting_m, northing_m)
    if shift is not None:
        return _geodetic(lat, lon, read_as, form="ups", shift=shift).on_grid(
            0, south, (easting_m, northing_m)
        )
    return Place("ups", read_as, lat, lon, 0, south, band, easting_m, northing_m, 0, south, grid_named=True)


def place_from_projected(
    epsg: int, easting_m: float, northing_m: float, *, allow_ballpark: bool = False
) -> Place:
    """The place at coordinates of a projected CRS of the EPSG dataset, which brings its own datum.

    Raises
    ------
    UnknownGridError
        There is no such grid, or its axes do not point east and north.
    OutsideGridError
        The place lies outside the area that the grid is for.
    """
    lat, lon, shift = Frame(allow_ballpark=allow_ballpark).from_grid(epsg, False, easting_m, northing_m)
    read_as = f"EPSG:{epsg} {_plain(easting_m)} m E {_plain(northing_m)} m N"
    return _geodetic(lat, lon, read_as, form="projected", shift=shift).on_grid(
        epsg, False, (easting_m, northing_m)
    )


def digits_for(length_m: float) -> int:
    """Digits a side of the grid reference whose square is the largest that is not longer than a length, 0 to 5."""
    return min(max(FINEST_DIGITS - math.floor(math.log10(max(length_m, 1.0))), 0), FINEST_DIGITS)


def digits_no_finer_than(length_m: float) -> int:
    """Digits a side of the grid reference whose square is the smallest that is no shorter than a length, 0 to 5."""
    return max(FINEST_DIGITS - math.ceil(math.log10(max(length_m, 1.0))), 0)


def _geodetic(
    lat_deg: float,
    lon_deg: float,
    read_as: str,
    resolution_m: float | None = None,
    *,
    form: str = "latitude_longitude",
    shift: DatumShift | None = None,
) -> Place:
    """The place in its own zone by the rule."""
    grid = to_grid(lat_deg, lon_deg)
    zone, south = int(grid.zone), bool(grid.south)
    return Place(
        form=form,
        read_as=read_as,
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        zone=zone,
        south=south,
        band=str(band_on_grid(lat_deg, lon_deg, grid)),
        easting_m=float(grid.easting_m),
        northing_m=float(grid.northing_m),
        grid_zone=zone,
        grid_south=south,
        grid_named=False,
        resolution_m=resolution_m,
        cautions=_shift_cautions(shift, resolution_m),
        shift=shift,
    )


def _place_of_reading(reading: PositionReading, take: str, text: str) -> Place:
    square = reading.square
    resolution_m = max(reading.resolution_north_m, reading.resolution_east_m)
    if reading.zone is None or reading.south is None:
        return _geodetic(reading.lat_deg, reading.lon_deg, reading.read_as, resolution_m, shift=reading.shift)
    if square is not None:
        reading = _taken(reading, square, take)
    cautions = _reading_cautions(reading, take, text)
    if reading.shift is not None or reading.form in ("national_reference", "projected"):
        place = _geodetic(
            reading.lat_deg,
            reading.lon_deg,
            reading.read_as,
            resolution_m,
            form=reading.form,
            shift=reading.shift,
        )
        assert reading.easting_m is not None and reading.northing_m is not None  # noqa: PT018, S101 - as it has a zone
        assert reading.zone is not None and reading.south is not None  # noqa: PT018, S101
        given_m = (reading.easting_m, reading.northing_m)
        place = place.on_grid(reading.zone, reading.south, given_m).cautioned(*cautions)
        return place if square is None else replace(place, digits=square.digits, square=square)
    return _on_own_grid(reading, resolution_m, cautions)


def _on_own_grid(reading: PositionReading, resolution_m: float, cautions: tuple[Caution, ...]) -> Place:
    """The place of a reading on a WGS 84 grid, which is kept to even beyond the zone's edge."""
    zone, south, band = reading.zone, reading.south, reading.band
    assert zone is not None and south is not None and band is not None  # noqa: PT018, S101 - a grid form has them
    assert reading.easting_m is not None and reading.northing_m is not None  # noqa: PT018, S101
    return Place(
        form=reading.form,
        read_as=reading.read_as,
        lat_deg=reading.lat_deg,
        lon_deg=reading.lon_deg,
        zone=zone,
        south=south,
        band=band,
        easting_m=reading.easting_m,
        northing_m=reading.northing_m,
        grid_zone=zone,
        grid_south=south,
        grid_named=True,
        digits=None if reading.square is None else reading.square.digits,
        resolution_m=resolution_m,
        cautions=cautions,
        square=reading.square,
    )


def _taken(reading: PositionReading, square: GridSquare, take: str) -> PositionReading:
    """The reading at the point of its square that is to be taken; it is at the centre as it comes."""
    if take != "corner":
        return reading
    corner_m = (square.corner_easting_m, square.corner_northing_m)
    lat_deg, lon_deg, shift = square.frame.from_grid(square.zone, square.south, *corner_m)
    return replace(
        reading,
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        easting_m=corner_m[0],
        northing_m=corner_m[1],
        shift=shift,
    )


def _reading_cautions(reading: PositionReading, take: str, text: str) -> tuple[Caution, ...]:
    square = reading.square
    cautions = []
    if reading.filled_in:
        message = f"The reference was read as {reading.read_as}: what it leaves out was taken from what lies near it, or "
        message += "from the sheet."
        cautions.append(caution("short_reference", message))
    if square is None:
        if reading.form == "utm" and reading.south and _S_AFTER_ZONE.search(text):
            cautions.append(caution("letter_read_as_hemisphere"))
        return tuple(cautions)
    if square.cut and take == "centre":
        cautions.append(caution("square_cut_by_zone"))
    if square.overlap:
        cautions.append(caution("outside_zone"))
    if reading.form == "mgrs" and lettering_of(square.frame.datum.ellipsoid) == "AL":
        cautions.append(caution("old_lettering"))
    return tuple(cautions)


def _shift_cautions(shift: DatumShift | None, resolution_m: float | None) -> tuple[Caution, ...]:
    if shift is None:
        return ()
    if shift.ballpark:
        return (caution("ballpark_datum"),)
    fine_m = resolution_m or 1.0  # of an object's numbers it is not known how fine they are
    if shift.accuracy_m <= fine_m:
        return ()
    return (datum_coarse(shift.datum.name, shift.operation, shift.accuracy_m),)


def datum_coarse(datum: str, operation: str, accuracy_m: float) -> Caution:
    """What is to be said of a shift that is less sure than the place is fine."""
    message = (
        f"The shift between {datum} and WGS 84 ({operation}) is good to {accuracy_m:g} m: trust the place no further, "
        "whatever its digits say."
    )
    return caution("datum_coarse", message)


def _written(grid: str, south: bool, easting_m: float, northing_m: float) -> str:
    """Grid coordinates as text with one reading: the hemisphere in a word, since 18S may be a band or a hemisphere."""
    hemisphere = "south" if south else "north"
    return f"{grid} {hemisphere} {_plain(easting_m)} m E {_plain(northing_m)} m N"


def _plain(number: float) -> str:
    return f"{number:.4f}".rstrip("0").rstrip(".")
