"""Reading a request's positions into places, on the datum and the sheet that the request names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..navmath.cautions import Caution, caution
from ..navmath.datums.datum import WGS84, Datum, find_datum
from ..navmath.datums.frame import WGS84_FRAME, Frame
from ..navmath.errors import (
    AmbiguousPositionError,
    BallparkShiftError,
    InconsistentSheetError,
    NavigationError,
    NothingInReachError,
    OutOfRangeError,
    OutsideDatumAreaError,
    OutsideGridError,
    SquareNotInZoneError,
    UnknownDatumError,
    UnknownGridError,
    UnreadablePositionError,
)
from ..navmath.grids.grid import within_reach
from ..navmath.grids.projected_grid import FIRST_EPSG_CODE, projected_grid
from ..navmath.places.expected import DEFAULT_REACH_M, Expected
from ..navmath.places.local_position import local_position
from ..navmath.places.place import (
    FINEST_DIGITS,
    Place,
    place_from_geodetic,
    place_from_projected,
    place_from_text,
    place_from_ups,
    place_from_utm,
)
from ..navmath.places.position import Position as DescribedPosition
from ..navmath.places.refused_slips import alternatives_of_refused
from ..navmath.references.mgrs import write_mgrs
from ..navmath.sheets.sheet import Sheet
from .sheet_given import usable_sheet_of

__all__ = [
    "POSITION_ERRORS",
    "PlaceReader",
    "near_distance_m",
    "on_sheet_cautions",
    "reader_of",
    "sheet_distance_m",
]

#: Errors of reading a position, for every operation that takes one.
POSITION_ERRORS = (
    AmbiguousPositionError,
    BallparkShiftError,
    InconsistentSheetError,
    NothingInReachError,
    OutOfRangeError,
    OutsideDatumAreaError,
    OutsideGridError,
    SquareNotInZoneError,
    UnknownDatumError,
    UnknownGridError,
    UnreadablePositionError,
)


#: A latitude and longitude in whole degrees may mean any place within a degree, but is not taken for near on that account.
MOST_TOLERANCE_M = 1000.0
#: Forms of the grids that reach round the world.
UNIVERSAL_FORMS = ("mgrs", "utm", "ups")
#: A tenth of what a hand compass can be read to, at best half a degree: common practice, no source. [degree]
NOTICEABLE_DEG = 0.05


@dataclass(frozen=True, slots=True)
class PlaceReader:
    """What the positions of one request are read by: a datum, a sheet, and where they are expected."""

    frame: Frame = WGS84_FRAME
    sheet: Sheet | None = None
    expected: Expected | None = None
    #: Whether the datum is the sheet's and was not named for the positions themselves.
    on_sheet_datum: bool = False
    #: Whether an error is to list the places that likely slips would have meant.
    offers_slips: bool = True

    def read(self, position: str | dict[str, Any], member: str, take: str = "centre") -> Place:
        """The place that a loaded `request_schemas.Position` names; errors name their place under ``member``."""
        try:
            place = self._place(position, take)
        except NavigationError as error:
            raise self._offering(error, position).within(member) from None
        if self.sheet is not None:
            place = self._on_sheet(place, isinstance(position, dict) and "datum" in position)
        if place.grid_zone >= FIRST_EPSG_CODE:
            place = place.cautioned(*_bent_angles(place))
        return place if self.expected is None else place.cautioned(*_misses(place, self.expected))

    def fits(self, place: Place) -> bool:
        """Whether the place is where it was expected."""
        return self.expected is None or not _misses(place, self.expected)

    def frame_of(self, position: dict[str, Any]) -> Frame:
        """What an object is read on: the datum that it names, or that of the request, or the sheet's."""
        if "datum" in position:
            return Frame(find_datum_in("datum", position["datum"]), self.frame.allow_ballpark)
        return self.frame if "lat_deg" in position else self.universal_frame

    @property
    def universal_frame(self) -> Frame:
        """What UTM, UPS and MGRS are on: a sheet with a national grid says nothing of these, and its datum is not theirs."""
        national = self.sheet is not None and (self.sheet.grid_zone or 0) >= FIRST_EPSG_CODE
        return Frame(WGS84, self.frame.allow_ballpark) if national and self.on_sheet_datum else self.frame

    def _offering(self, error: NavigationError, position: str | dict[str, Any]) -> NavigationError:
        """The error with the places that likely slips would have meant, nearest first, unless it lists readings that fit."""
        listed = error.details.get("readings", [])
        none_fits = not listed or isinstance(error, NothingInReachError)
        if self.offers_slips and isinstance(position, str) and self.expected is not None and none_fits:
            slips = alternatives_of_refused(position, self.universal_frame, self.expected)
            if slips:
                merged = [*listed, *(slip.as_details() for slip in slips)]
                error.details["readings"] = sorted(merged, key=lambda reading: reading["distance_m"])
        return error

    def _place(self, position: str | dict[str, Any], take: str) -> Place:
        if isinstance(position, str):
            place = place_from_text(position, take, self.frame, self.expected)
            if place.form in UNIVERSAL_FORMS and self.universal_frame != self.frame:
                return place_from_text(position, take, self.universal_frame, self.expected)
            return place
        if "epsg" in position:
            where = (position["epsg"], position["easting_m"], position["northing_m"])
            return place_from_projected(*where, allow_ballpark=self.frame.allow_ballpark)
        frame = self.frame_of(position)
        if "lat_deg" in position:
            return place_from_geodetic(position["lat_deg"], position["lon_deg"], frame)
        south = position["hemisphere"] == "south"
        if position.get("grid") == "ups":
            return place_from_ups(south, position["easting_m"], position["northing_m"], frame)
        return place_from_utm(position["zone"], south, position["easting_m"], position["northing_m"], frame)

    def _on_sheet(self, place: Place, datum_named: bool) -> Place:
        """The place worked on the sheet's grid, with what is to be said of that."""
        sheet = self.sheet
        assert sheet is not None  # noqa: S101 - the caller looked
        if self.on_sheet_datum and not datum_named and place.form == "latitude_longitude":
            place = place.cautioned(*_sheet_datum_taken(place))
        if sheet.grid_zone is None:
            return place
        if within_reach(place.lat_deg, place.lon_deg, sheet.grid_zone, sheet.grid_south):
            return place.on_grid(sheet.grid_zone, sheet.grid_south)
        message = (
            "The place is beyond the reach of the sheet's grid: grid north is that of its own grid zone."
        )
        return place.cautioned(caution("grid_not_reached", message))


#: What reads the positions of a request that says nothing of it.
PLAIN_READER = PlaceReader()
_MEMBERS = ("datum", "near", "sheet")


def reader_of(request: dict[str, Any]) -> PlaceReader:
    """What the positions of a loaded request are read by; errors name the member that is wrong."""
    allow_ballpark = request["allow_ballpark"]
    if not allow_ballpark and not any(name in request for name in _MEMBERS):
        return PLAIN_READER
    sheet = usable_sheet_of(request["sheet"], allow_ballpark) if "sheet" in request else None
    on_sheet_datum = "datum" not in request and sheet is not None
    datum = sheet.datum if on_sheet_datum and sheet is not None else WGS84
    if "datum" in request:
        datum = find_datum_in("datum", request["datum"])
    frame = Frame(datum, allow_ballpark)
    near = None
    if "near" in request:
        near = PlaceReader(frame, sheet).read(request["near"], "near")
    expected = _expected(near, request.get("reach_m", DEFAULT_REACH_M), sheet)
    return PlaceReader(frame, sheet, expected, on_sheet_datum)


def on_sheet_cautions(request: dict[str, Any], position: DescribedPosition, digits: int) -> list[Caution]:
    """What an answered position is on the datum and the grid in use, where that is not WGS 84; to ``digits`` a side.

    Answers are on WGS 84: whoever plots one on an old sheet as it stands is off by hundreds of metres.
    """
    reader = reader_of(request)
    datum = reader.frame.datum if reader.sheet is None else reader.sheet.datum
    if datum.epsg == WGS84.epsg:
        return []
    said = f"The places answered are on WGS 84, not on {datum.name}, which is in use here."
    try:
        here = {"lat_deg": position.lat_deg, "lon_deg": position.lon_deg, "datum": WGS84.name}
        place = reader.read(here, "position")
        local = local_position(place, digits, datum, allow_ballpark=reader.frame.allow_ballpark)
    except NavigationError:
        return [caution("sheet_on_other_datum", f"{said} There is no way to that datum from here.")]
    if local is None:
        return []
    step_m = 10.0 ** (FINEST_DIGITS - digits)
    written = local.reference or " ".join(
        f"{round(coordinate_m / step_m) * step_m:.0f}" for coordinate_m in (local.easting_m, local.northing_m)
    )
    where = f"Plot {position.mgrs_spaced} there as {written} ({local.datum}, {local.grid})."
    return [caution("sheet_on_other_datum", f"{said} {where}")]


def find_datum_in(member: str, name: str) -> Datum:
    """The datum of a name; an error names ``member``."""
    try:
        return find_datum(name)
    except NavigationError as error:
        error.member = member
        raise


def _expected(near: Place | None, reach_m: float, sheet: Sheet | None) -> Expected | None:
    """Where places are expected; a place near by that was given coarsely reaches further by its own square."""
    if near is not None:
        return Expected(near.lat_deg, near.lon_deg, reach_m + near.tolerance_m, sheet)
    if sheet is None or not (sheet.has_edges or sheet.squares or sheet.grid_zone is not None):
        return None
    return Expected(None, None, reach_m, sheet)


def _misses(place: Place, expected: Expected) -> list[Caution]:
    """What is to be said of a place that is not where it was expected."""
    cautions = []
    near_m, outside_m = near_distance_m(place, expected), sheet_distance_m(place, expected)
    tolerance_m = min(place.tolerance_m, MOST_TOLERANCE_M) if place.square is None else place.tolerance_m
    if near_m is not None and near_m > expected.reach_m + tolerance_m:
        message = (
            f"The place is {near_m / 1000:,.1f} km from the position given as `near`, beyond the reach of "
        )
        message += f"{expected.reach_m / 1000:,.1f} km: a slip is likely; `/v1/positions` lists which."
        cautions.append(caution("far_from_near", message))
    if outside_m is not None and outside_m > tolerance_m:
        message = f"The place is {outside_m:,.0f} m outside the edges of the sheet: a slip is likely; `/v1/positions` lists "
        cautions.append(caution("outside_sheet", f"{message}which."))
    if expected.sheet is not None and outside_m is None and not in_squares(place, expected.sheet):
        squares = ", ".join(expected.sheet.squares)
        cautions.append(
            caution("outside_sheet", f"The place lies in none of the sheet's squares, which are {squares}.")
        )
    return cautions


def in_squares(place: Place, sheet: Sheet) -> bool:
    """Whether the place lies in one of the squares of 100 km that the sheet prints, if it prints any; by their letters."""
    if not sheet.squares:
        return True
    local = local_position(place, 0, sheet.datum, allow_ballpark=True)
    reference = str(write_mgrs(place.lat_deg, place.lon_deg, 0)) if local is None else local.reference
    if reference is None:
        return False
    letters = reference.replace(" ", "").lstrip("0123456789")
    return any(square.endswith(letters) or letters.endswith(square) for square in sheet.squares)


def near_distance_m(place: Place, expected: Expected | None) -> float | None:
    """How far the place is from the position given as near; ``None`` without one. [metre]"""
    if expected is None or expected.near is None:
        return None
    return float(expected.distance_m(place.lat_deg, place.lon_deg))


def sheet_distance_m(place: Place, expected: Expected | None) -> float | None:
    """How far outside the sheet's edges the place is, 0 inside; ``None`` of a sheet without edges. [metre]"""
    if expected is None or expected.edged_sheet is None:
        return None
    return float(expected.edged_sheet.outside_m(place.lat_deg, place.lon_deg))


def _bent_angles(place: Place) -> list[Caution]:
    """What is to be said of a grid on which an angle is not that on the ground."""
    bent_deg = projected_grid(place.grid_zone).largest_angle_error_deg()
    if bent_deg <= NOTICEABLE_DEG:
        return []
    message = f"Angles on the grid {place.grid_name} are not those on the ground: they are up to {bent_deg:.2f} degrees off."
    return [caution("grid_bends_angles", message)]


def _sheet_datum_taken(place: Place) -> list[Caution]:
    if place.shift is None:
        return []
    message = (
        f"The latitude and longitude was taken on the sheet's own datum, {place.datum.name}. One from a satellite "
        "receiver is on WGS84: then name that datum."
    )
    return [caution("sheet_datum_taken", message)]
