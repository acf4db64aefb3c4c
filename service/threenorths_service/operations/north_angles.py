"""Where a request's angles between the norths come from: a place and a date, the angles themselves, or a sheet."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..navmath.angle import CIRCLE_DIVISIONS, FloatArray, normalise_signed, to_degrees
from ..navmath.cautions import Caution, caution
from ..navmath.directions.bearing import OLD_SHEET_YEARS, NorthAngles, complete_angles, printed_angle_at
from ..navmath.directions.north import Norths, norths_at, norths_cautions
from ..navmath.directions.printed_angle import MODEL_SDS, NOTICED_DEG, CarriedAngle, carried_cautions
from ..navmath.errors import (
    AnglesConflictError,
    AnglesMissingError,
    AnglesUnreadableError,
    DateMissingError,
    DateOutsideModelError,
    InconsistentAnglesError,
    NavigationError,
    OutOfRangeError,
)
from ..navmath.magnetism.decimal_year import decimal_year
from ..navmath.magnetism.magnetic import check_date, model_at
from ..navmath.places.place import Place
from ..navmath.sheets.sheet_angles import LONGEST_CARRY_YEARS
from ..navmath.sheets.sheet_carried import carried_angle
from ..navmath.texts.angle_text import read_angle
from .places import POSITION_ERRORS, reader_of

__all__ = [
    "ANGLE_ERRORS",
    "GIVEN_ANGLES",
    "AngleSource",
    "angle_source",
    "bearing_in_degrees",
    "carried_steps",
    "date_for_magnetic",
    "magnetic_cautions",
    "worst_cautions",
]

#: Errors of finding the angles between the norths and of reading a bearing.
ANGLE_ERRORS = (
    *POSITION_ERRORS,
    AnglesConflictError,
    AnglesMissingError,
    AnglesUnreadableError,
    DateMissingError,
    DateOutsideModelError,
    InconsistentAnglesError,
)

GIVEN_ANGLES = ("declination_deg", "convergence_deg", "grid_magnetic_angle_deg")
A_POSITION, A_SHEET = "a position", "a sheet"
A_DATE = "a date such as 2026-11-25, or today"
ONE_SOURCE = (
    "just one of: a position with a date; declination, convergence or grid-magnetic angle; a sheet that prints one; or "
    "angles_from, which decides between a position and a sheet"
)


@dataclass(frozen=True, slots=True)
class AngleSource:
    """The angles between the norths for one request, and how far to trust them."""

    angles: NorthAngles
    source: str
    declination_sd_deg: float | None
    date: datetime.date | None
    cautions: list[Caution]
    working: list[str]


def angle_source(request: dict[str, Any]) -> AngleSource:
    """The angles for ``request``, from the one source that it names; without one, none are known."""
    named = _sources(request)
    if len(named) > 1:
        raise AnglesConflictError(f"the angles are said by {' and by '.join(named)}", allowed=ONE_SOURCE)
    if not named:
        if request.get("angles_from") == "model":
            raise AnglesMissingError(
                "angles_from is 'model', but no position is given", member="position", allowed="a position"
            )
        if "sheet" in request:
            raise _angleless()
        # the bearing is then known from its own north alone
        return AngleSource(NorthAngles(), "none", None, request.get("date"), [], [])
    if named == [A_POSITION]:
        return _from_model(request)
    if named == [A_SHEET]:
        return _from_sheet(request)
    angles = complete_angles(**{name: request.get(name) for name in GIVEN_ANGLES})
    return AngleSource(angles, "given", None, request.get("date"), [], _working(angles, "as given"))


def bearing_in_degrees(bearing: float | str, unit: str, member: str) -> float:
    """A request's bearing in degrees, from a number in ``unit`` or a text that says its own notation."""
    if isinstance(bearing, str):
        if unit != "deg":
            raise AnglesUnreadableError(
                f"a bearing given as text is in degrees, and the unit of this request is '{unit}'",
                member=member,
                value=bearing,
                allowed=f"a number from 0 to {CIRCLE_DIVISIONS[unit]:g}, or a text with the unit 'deg'",
            )
        try:
            return read_angle(bearing)
        except NavigationError as error:
            raise error.within(member) from None
    circle = CIRCLE_DIVISIONS[unit]
    if bearing > circle:
        raise OutOfRangeError(
            f"there are only {circle:g} of the unit '{unit}' in a circle",
            member=member,
            value=bearing,
            allowed=f"0 to {circle:g}",
        )
    return float(to_degrees(bearing, unit))


def date_for_magnetic(request: dict[str, Any]) -> float | None:
    """The decimal year of the request's date; a magnetic bearing without one is an error."""
    date = request.get("date")
    if date is None:
        if request["north"] == "magnetic":
            raise DateMissingError("a magnetic bearing needs a date", member="date", allowed=A_DATE)
        return None
    check_date(date)
    return decimal_year(date)


def magnetic_cautions(places: Sequence[Place], year: float | None) -> list[Caution]:
    """What is to be said of magnetic north at places where a magnetic direction was turned; none without a date.

    Only the place with the weakest horizontal field and the one nearest to a pole can have the worst to say.
    """
    if year is None:
        return []
    lat_deg = np.array([place.lat_deg for place in places])
    return worst_cautions(lat_deg, norths_at(lat_deg, [place.lon_deg for place in places], year))


def worst_cautions(lat_deg: FloatArray, norths: Norths) -> list[Caution]:
    """What is to be said of magnetic north at places of which the norths are known, each thing once."""
    found: dict[str, Caution] = {}
    for row in (int(np.argmin(norths.horizontal_nt)), int(np.argmax(np.abs(lat_deg)))):
        at_row = Norths(**{name: getattr(norths, name)[row] for name in Norths.__slots__})
        for each in norths_cautions(float(lat_deg[row]), at_row):
            found.setdefault(each.code, each)
    return list(found.values())


def _sources(request: dict[str, Any]) -> list[str]:
    """What says the angles: ``angles_from`` decides between a position and a sheet."""
    wanted = request.get("angles_from")
    present = {
        A_POSITION: "position" in request and wanted != "sheet",
        "the angles": any(name in request for name in GIVEN_ANGLES),
        A_SHEET: _prints_angle(request.get("sheet", {})) and wanted != "model",
    }
    return [name for name, here in present.items() if here]


def _prints_angle(sheet: dict[str, Any]) -> bool:
    return any(name in sheet for name in GIVEN_ANGLES)


def _angleless() -> AnglesMissingError:
    return AnglesMissingError(
        "the sheet prints neither a grid-magnetic angle nor a declination",
        member="sheet",
        allowed="grid_magnetic_angle_deg, or declination_deg (with convergence_deg where it is printed)",
    )


def _from_model(request: dict[str, Any]) -> AngleSource:
    date = request.get("date")
    if date is None:
        raise DateMissingError(
            "the declination at a position needs a date",
            member="date",
            allowed=A_DATE,
        )
    model = request.get("model")
    check_date(date, model)
    place = reader_of(request).read(request["position"], "position")
    model = model or str(model_at(decimal_year(date)))
    norths = norths_at(
        place.lat_deg,
        place.lon_deg,
        decimal_year(date),
        request["height_m"],
        zone=place.grid_zone,
        south=place.grid_south,
        model=model,
    )
    angles = NorthAngles(norths.declination_deg, norths.convergence_deg, norths.grid_magnetic_angle_deg)
    return AngleSource(
        angles,
        "model",
        float(norths.declination_sd_deg),
        date,
        [*place.cautions, *norths_cautions(place.lat_deg, norths)],
        _working(angles, f"{model} on {date.isoformat()} and the grid at the position"),
    )


def _from_sheet(request: dict[str, Any]) -> AngleSource:
    given, date = request["sheet"], request.get("date")
    printed = {name: given[name] for name in GIVEN_ANGLES if name in given}
    if "declination_deg" not in printed and "grid_magnetic_angle_deg" not in printed:
        raise _angleless()
    try:
        complete_angles(**printed)
    except NavigationError as error:
        raise error.within("sheet") from None
    reader = reader_of(request)
    # A position beside the sheet gives no angle; it must be one all the same, and on the sheet.
    placed = reader.read(request["position"], "position").cautions if "position" in request else ()
    carried, cautions, steps = _carried(printed, given, date)
    angles = complete_angles(**carried)
    by_model = None
    if date is not None and reader.sheet is not None:
        by_model = carried_angle(reader.sheet, decimal_year(date))
    if by_model is not None:
        cautions += [*carried_cautions(by_model), *_stale(by_model)]
        steps += carried_steps(by_model)
    return AngleSource(
        angles,
        "sheet",
        None,
        date,
        [*placed, *cautions],
        [*steps, *_working(angles, "from the sheet")],
    )


def _stale(carried: CarriedAngle) -> list[Caution]:
    """What is to be said where the sheet's angle, as it is used, is off by more than a compass is read to."""
    own, now = carried.in_its_year, carried.model_alone
    if carried.by_sheet is not None or not own.agrees:
        return []  # then the disagreement itself is told
    off_deg = abs(float(normalise_signed(own.printed_deg - now.angle_deg)))
    if off_deg <= max(NOTICED_DEG, MODEL_SDS * float(now.sd_deg)):
        return []
    message = (
        f"The printed angle is used as it stands, {float(own.printed_deg):+.2f} degrees; by the model it is now "
        f"{float(now.angle_deg):+.2f}: {off_deg:.1f} degrees off."
    )
    return [caution("sheet_angle_stale", message)]


def carried_steps(carried: CarriedAngle) -> list[str]:
    """A printed angle carried by the sheet, by the model, and the model alone, as written on a board."""
    own, years = carried.in_its_year, float(carried.years)
    steps = [
        f"printed {float(own.printed_deg):+.2f} degrees, by the model of its year {float(own.model_deg):+.2f}: off by "
        f"{float(own.difference_deg):+.2f}, where {float(own.allowance_deg):.2f} can be explained"
    ]
    for how, estimate in (
        (f"by the sheet's annual change over {years:.1f} years", carried.by_sheet),
        ("by what the model has changed since", carried.by_model),
        ("the model of the date alone", carried.model_alone),
    ):
        if estimate is not None:
            angle_deg, sd_deg = float(estimate.angle_deg), float(estimate.sd_deg)
            steps.append(f"{how}: {angle_deg:+.2f} degrees, give or take {sd_deg:.2f}")
    return steps


def _carried(
    printed: dict[str, float], sheet: dict[str, Any], date: datetime.date | None
) -> tuple[dict[str, float], list[Caution], list[str]]:
    """The printed angles brought to the date by the sheet's annual change; convergence does not change."""
    year, change = sheet.get("year"), sheet.get("annual_change_deg")
    if date is None or year is None:
        return printed, _not_carried(year, change), []
    now = decimal_year(date)
    cautions = [caution("old_sheet")] if abs(now - year) > OLD_SHEET_YEARS else []
    if change is None:
        return printed, [*cautions, *_not_carried(year, change)], []
    if abs(now - year) > LONGEST_CARRY_YEARS:
        raise OutOfRangeError(
            f"the sheet's angle is of {year:g}, too far from {date.isoformat()} to carry",
            member="date",
            value=date.isoformat(),
            allowed=f"a date within {LONGEST_CARRY_YEARS:g} years of the sheet's year",
        )
    carried = {
        name: angle if name == "convergence_deg" else float(printed_angle_at(angle, year, change, now))
        for name, angle in printed.items()
    }
    steps = [
        f"{name.removesuffix('_deg').replace('_', ' ')} {angle:+.3f} + {change:+.4f} a year x {now - year:.2f} years "
        f"= {carried[name]:+.3f} degrees"
        for name, angle in printed.items()
        if name != "convergence_deg"
    ]
    return carried, cautions, steps


def _not_carried(year: float | None, change: float | None) -> list[Caution]:
    """That a printed angle was left as it is, and what its sheet says of its age."""
    if year is None and change is None:
        return []
    dated = "of a year that the sheet does not give" if year is None else f"of {year:.0f}"
    drift = "" if change is None else f" and changes by {change:+.3f} degrees a year"
    message = (
        f"The printed angle is {dated}{drift}. It was used as it stands, which on an old sheet leads degrees astray: give "
        "the date, with the sheet's year and annual change, or take the angle of today at a position."
    )
    return [caution("sheet_angle_not_carried", message)]


def _working(angles: NorthAngles, where: str) -> list[str]:
    declination, convergence, grid_magnetic = (
        angles.declination_deg,
        angles.convergence_deg,
        angles.grid_magnetic_angle_deg,
    )
    if declination is not None and convergence is not None and grid_magnetic is not None:
        return [
            f"declination D = {float(declination):+.3f}, convergence C = {float(convergence):+.3f} degrees ({where}; "
            f"east positive)",
            f"grid-magnetic angle G = D - C = {float(declination):+.3f} - ({float(convergence):+.3f}) "
            f"= {float(grid_magnetic):+.3f} degrees",
        ]
    known = {
        "declination D": declination,
        "convergence C": convergence,
        "grid-magnetic angle G": grid_magnetic,
    }
    return [
        f"{name} = {float(value):+.3f} degrees ({where})"
        for name, value in known.items()
        if value is not None
    ]
