"""The texts that a reading would have had without one slip: each slip undone, wherever it may have been made."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from decimal import Decimal
from functools import partial
from itertools import pairwise, product
from typing import NamedTuple

import numpy as np

from ..datums.frame import Frame
from ..errors import NavigationError
from ..grids.lettered_grid import lettered_grid_of
from ..references.mgrs import write_mgrs_from_grid
from ..references.mgrs_letters import SQUARE_M
from ..references.square_table import square_table
from ..texts.position_reading import GridSquare, PositionReading
from .expected import Expected

__all__ = ["Edit", "edits", "transposed_in_one"]

#: To the eight squares around a square, in squares.
_AROUND = [step for step in product((-1, 0, 1), repeat=2) if step != (0, 0)]

#: Zones and bands are tried so far from what is expected, however far its reach goes. [metre]
_ZONES_WITHIN_M = 500_000.0

#: Degrees, minutes and seconds, and the digits of a minute or a second.
_MOST_PARTS = 3
_PART_DIGITS = 2
_MARKS = "°'\""

#: Digits before the point, where all are written: of easting and northing; and of degrees, minutes and seconds.
_WIDTHS = {"utm": (6, 7), "ups": (7, 7)}
_LATITUDE_WIDTHS, _LONGITUDE_WIDTHS = (2, 2, 2), (3, 2, 2)

_OPPOSITE = {"north": "south", "south": "north", "east": "west", "west": "east"}
#: The hemisphere of the other coordinate that has the same sign.
_SAME_SIGN = {"north": "east", "south": "west", "east": "north", "west": "south"}

_Numbers = tuple[str, ...]


class Edit(NamedTuple):
    """One slip undone: its code in `slips.SLIPS`, and the text."""

    slip: str
    text: str


def edits(reading: PositionReading, frame: Frame, expected: Expected) -> Iterator[Edit]:
    """Every text that is one slip away from what a reading was read as; most of them are no position, or far away.

    Of zones and bands only those are tried that are within reach of what is expected, and within 500 km of it.
    """
    if reading.form == "mgrs" and reading.square is not None:
        yield from _reference_edits(reading, reading.square, frame, expected)
    elif reading.form == "national_reference" and reading.square is not None:
        yield from _lettered_edits(reading.read_as, reading.square)
    elif reading.form in ("utm", "ups", "projected"):
        yield from _coordinate_edits(reading, expected)
    elif reading.form == "latitude_longitude":
        yield from _latitude_longitude_edits(reading)


def _reference_edits(
    reading: PositionReading, square: GridSquare, frame: Frame, expected: Expected
) -> Iterator[Edit]:
    """Those of ``MGRS 32TMT6543212345``."""
    reference = reading.read_as.removeprefix("MGRS ")
    head_length = len(reference) - 2 * square.digits
    head, figures = reference[:head_length], reference[head_length:]
    easting, northing = figures[: square.digits], figures[square.digits :]
    yield Edit("easting_and_northing_swapped", f"MGRS {head}{northing}{easting}")
    for other_easting, other_northing in transposed_in_one((easting, northing)):
        yield Edit("digits_transposed", f"MGRS {head}{other_easting}{other_northing}")
    for neighbour in _neighbours(square, str(reading.band), frame):
        yield Edit("neighbouring_square", f"MGRS {neighbour}")
    zones, bands = _expected_zones_and_bands(expected)
    rest = head[-2:] + figures
    if square.zone:
        for zone in zones:
            yield Edit("wrong_zone", f"MGRS {zone:02d}{reading.band}{rest}")
    for band in bands:
        yield Edit("wrong_band", f"MGRS {head[:-3]}{band}{rest}")


def _neighbours(square: GridSquare, band: str, frame: Frame) -> list[str]:
    """The references with the same figures in the squares of 100 km around, as far as the grid zone has them."""
    east_m, north_m = np.array(_AROUND).T * float(SQUARE_M)
    easting_m, northing_m = square.corner_easting_m + east_m, square.corner_northing_m + north_m
    write = partial(
        write_mgrs_from_grid, square.zone, band, digits=square.digits, ellipsoid=frame.datum.ellipsoid
    )
    try:
        return [str(text) for text in write(easting_m, northing_m)]
    except NavigationError:
        found = []
        for corner_m in zip(easting_m, northing_m, strict=True):
            with suppress(NavigationError):
                found.append(str(write(*corner_m)))
        return found


def _lettered_edits(text: str, square: GridSquare) -> Iterator[Edit]:
    """Those of ``British grid TQ 305 802``."""
    if square.digits:
        name, easting, northing = text.rsplit(" ", 2)
        yield Edit("easting_and_northing_swapped", f"{name} {northing} {easting}")
        for numbers in transposed_in_one((easting, northing)):
            yield Edit("digits_transposed", f"{name} {' '.join(numbers)}")
    grid = lettered_grid_of(square.zone)
    if grid is None:
        return
    for east, north in _AROUND:
        corner_m = (square.corner_easting_m + east * SQUARE_M, square.corner_northing_m + north * SQUARE_M)
        if grid.holds(*corner_m):
            yield Edit("neighbouring_square", f"{grid.name} {grid.write(*corner_m, square.digits)}")


def _coordinate_edits(reading: PositionReading, expected: Expected) -> Iterator[Edit]:
    """Those of ``UTM 32 north 465000 m E 5247000 m N``, of ``UPS north ...`` and of ``EPSG:27700 ...``."""
    written = _Coordinates.of(reading.read_as)
    easting, northing = written.easting, written.northing
    yield Edit("easting_and_northing_swapped", written.with_numbers(northing, easting))
    for numbers in transposed_in_one(_padded((easting, northing), _WIDTHS.get(reading.form, (0, 0)))):
        yield Edit("digits_transposed", written.with_numbers(*numbers))
    if written.unit == "m":
        for east, north in _AROUND:
            numbers = (_moved(easting, east * SQUARE_M), _moved(northing, north * SQUARE_M))
            # No number of UTM or UPS is negative, and there a minus could be taken for a dash.
            if reading.form == "projected" or not any(number.startswith("-") for number in numbers):
                yield Edit("neighbouring_square", written.with_numbers(*numbers))
    name, _, hemisphere = written.grid.rpartition(" ")
    if hemisphere in _OPPOSITE:
        yield Edit("wrong_hemisphere", written.on_grid(f"{name} {_OPPOSITE[hemisphere]}"))
    if reading.form == "utm":
        for zone in _expected_zones_and_bands(expected)[0]:
            yield Edit("wrong_zone", written.on_grid(f"UTM {zone} {hemisphere}"))


class _Coordinates(NamedTuple):
    """Coordinates as a reading has them: ``UTM 32 north``, the easting, the northing, and their unit."""

    grid: str
    easting: str
    northing: str
    unit: str

    @classmethod
    def of(cls, text: str) -> _Coordinates:
        grid, easting, unit, _east, northing, _unit, _north = text.rsplit(" ", 6)
        return cls(grid, easting, northing, unit)

    def with_numbers(self, easting: str, northing: str) -> str:
        return f"{self.grid} {easting} {self.unit} E {northing} {self.unit} N"

    def on_grid(self, grid: str) -> str:
        return self._replace(grid=grid).with_numbers(self.easting, self.northing)


def _moved(number: str, by_m: int) -> str:
    """The number with so many metres more, and with the decimals that it has."""
    decimals = len(number.partition(".")[2])
    return f"{Decimal(number) + by_m:.{decimals}f}"


def _expected_zones_and_bands(expected: Expected) -> tuple[list[int], list[str]]:
    """The UTM zones, and the bands of UTM and UPS, of which any square may be where the place is expected."""
    if expected.middle is None:
        return [], []
    table = square_table()
    rows = np.flatnonzero(table.near(*expected.middle, min(expected.radius_m, _ZONES_WITHIN_M)))
    zones, bands = np.unique(table.zone[rows]), np.unique(table.band[rows])
    return [int(zone) for zone in zones if zone], [str(band) for band in bands]


class _Half(NamedTuple):
    """A latitude or a longitude: its numbers, of degrees to seconds, and its hemisphere as a word."""

    numbers: _Numbers
    hemisphere: str


def _latitude_longitude_edits(reading: PositionReading) -> Iterator[Edit]:
    """Those of ``latitude 47° 30' north, longitude 8° 30' east``."""
    lat, lon = (_half(half) for half in reading.read_as.split(", "))
    # Either the signs went with the numbers, or the letters stood where they belong.
    for hemispheres in (
        (_SAME_SIGN[lon.hemisphere], _SAME_SIGN[lat.hemisphere]),
        (lat.hemisphere, lon.hemisphere),
    ):
        halves = (_Half(lon.numbers, hemispheres[0]), _Half(lat.numbers, hemispheres[1]))
        yield Edit("latitude_and_longitude_swapped", _pair(*halves))
    written = _padded(lat.numbers, _LATITUDE_WIDTHS) + _padded(lon.numbers, _LONGITUDE_WIDTHS)
    for numbers in transposed_in_one(written):
        count = len(lat.numbers)
        halves = (lat._replace(numbers=numbers[:count]), lon._replace(numbers=numbers[count:]))
        yield Edit("digits_transposed", _pair(*halves))
    for parting in _PARTINGS:
        parted = (parting(lat.numbers) or lat.numbers, parting(lon.numbers) or lon.numbers)
        if parted != (lat.numbers, lon.numbers):
            halves = (lat._replace(numbers=parted[0]), lon._replace(numbers=parted[1]))
            yield Edit("minutes_as_decimals", _pair(*halves))
    other_lat, other_lon = (half._replace(hemisphere=_OPPOSITE[half.hemisphere]) for half in (lat, lon))
    for halves in ((other_lat, lon), (lat, other_lon), (other_lat, other_lon)):
        yield Edit("wrong_hemisphere", _pair(*halves))


def _half(text: str) -> _Half:
    _axis, *numbers, hemisphere = text.split(" ")
    return _Half(tuple(number.rstrip(_MARKS) for number in numbers), hemisphere)


def _pair(lat: _Half, lon: _Half) -> str:
    return f"latitude {' '.join(lat.numbers)} {lat.hemisphere}, longitude {' '.join(lon.numbers)} {lon.hemisphere}"


def _decimals_to_part(numbers: _Numbers) -> _Numbers | None:
    """``47.3030`` to ``47 30.30``, and ``47 30.30`` to ``47 30 30``."""
    whole, _, decimals = numbers[-1].partition(".")
    if len(numbers) == _MOST_PARTS or not decimals:
        return None
    return (*numbers[:-1], whole, _point_after_two(decimals))


def _decimals_to_two_parts(numbers: _Numbers) -> _Numbers | None:
    """``47.3030`` to ``47 30 30``."""
    whole, _, decimals = numbers[-1].partition(".")
    if len(numbers) > 1 or len(decimals) <= _PART_DIGITS:
        return None
    return whole, decimals[:_PART_DIGITS], _point_after_two(decimals[_PART_DIGITS:])


def _part_to_decimals(numbers: _Numbers) -> _Numbers | None:
    """``47 30 30`` to ``47 30.30``, and ``47 30.30`` to ``47.3030``."""
    if len(numbers) == 1:
        return None
    whole, _, decimals = numbers[-1].partition(".")
    return *numbers[:-2], f"{numbers[-2]}.{whole.zfill(_PART_DIGITS)}{decimals}"


def _two_parts_to_decimals(numbers: _Numbers) -> _Numbers | None:
    """``47 30 30`` to ``47.3030``."""
    last_two = _part_to_decimals(numbers)
    return _part_to_decimals(last_two) if last_two is not None and len(numbers) == _MOST_PARTS else None


_PARTINGS = (_decimals_to_part, _decimals_to_two_parts, _part_to_decimals, _two_parts_to_decimals)


def _padded(numbers: _Numbers, widths: tuple[int, ...]) -> _Numbers:
    """The numbers with the leading zeros that a reading drops: one of them may have changed places."""
    parts = zip((number.partition(".") for number in numbers), widths, strict=False)
    return tuple(whole.zfill(width) + point + decimals for (whole, point, decimals), width in parts)


def _point_after_two(digits: str) -> str:
    whole, decimals = digits[:_PART_DIGITS], digits[_PART_DIGITS:]
    return f"{whole}.{decimals}" if decimals else whole


def transposed_in_one(numbers: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """The numbers with two neighbouring digits of one of them exchanged."""
    for at, number in enumerate(numbers):
        for place, (digit, other) in enumerate(pairwise(number)):
            if digit != other and "." not in (digit, other):
                transposed = f"{number[:place]}{other}{digit}{number[place + 2 :]}"
                yield (*numbers[:at], transposed, *numbers[at + 1 :])
