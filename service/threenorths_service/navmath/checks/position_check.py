"""A reported position against what was expected of it: a known place, an area, a sheet, and how finely it is written.

A report is a point with what its writing leaves open around it, and so is the place expected. It is within the tolerance
where it is so wherever in their squares both really are, and beyond it where it is so nowhere; between, it is undecided.
One report is right though its square reaches further than the tolerance: one whose square holds the place expected, and is
no wider than the tolerance. A correct grid reference names just that square, by truncation, and can say no more.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ..datums.frame import Frame
from ..errors import NavigationError
from ..lines.geodesic import COINCIDENT_M, inverse
from ..places.expected import Expected
from ..places.place import FINEST_DIGITS, Place
from ..places.refused_slips import alternatives_of_refused
from ..places.slips import SLIPS, Slip, alternatives
from ..sheets.outline import Outline
from ..sheets.sheet import Sheet
from .shape_check import ShapeCheck, check_in_shape, left_open_m, written_holds
from .verdict import Outcome, outcomes, verdict_of

__all__ = [
    "KnownAnswer",
    "PositionCheck",
    "check_position",
    "expected_of",
    "likeliest_first",
    "side_of_digits_m",
    "slips_of_place",
    "slips_of_refused",
]

_LIKELIHOOD = {slip: rank for rank, slip in enumerate(SLIPS)}


@dataclass(frozen=True, slots=True)
class KnownAnswer:
    """The place that a report should have named, and how far from it is still right. [metre]"""

    place: Place
    tolerance_m: float


@dataclass(frozen=True, slots=True)
class PositionCheck:
    """What came out of a check; ``None`` for what was not demanded.

    ``distance_m`` and ``true_azimuth_deg`` lead from the place expected to the reported one, the azimuth being ``None`` for
    places nearer than `COINCIDENT_M`. ``left_open_m`` is what both writings leave open of that distance, with what the
    shifts of their datums do.
    """

    verdict: str
    distance_m: float | None = None
    true_azimuth_deg: float | None = None
    left_open_m: float | None = None
    within_tolerance: Outcome | None = None
    #: Whether the place expected lies in the square that was reported.
    holds: bool | None = None
    area: ShapeCheck | None = None
    sheet: ShapeCheck | None = None
    precision: Outcome | None = None


def check_position(
    reported: Place,
    answer: KnownAnswer | None = None,
    *,
    area: Outline | None = None,
    sheet: Outline | None = None,
    in_sheet_squares: bool = True,
    coarsest_m: float | None = None,
) -> PositionCheck:
    """The check of one reported place.

    Parameters
    ----------
    answer : KnownAnswer, optional
        The place expected.
    area, sheet : Outline, optional
        Where it must be.
    in_sheet_squares : bool
        Whether it is in one of the 100 km squares that the sheet prints, where it prints any.
    coarsest_m : float, optional
        The coarsest resolution that is fine enough. [metre] Of a place given by plain numbers nobody knows how fine they
        are: ``precision`` is then open.
    """
    check = PositionCheck(
        verdict="right",
        area=None if area is None else check_in_shape(reported, area),
        sheet=None if sheet is None else check_in_shape(reported, sheet),
        precision=_precision(reported, coarsest_m),
    )
    if answer is not None:
        check = _against(check, reported, answer)
    found = [
        check.within_tolerance,
        None if check.area is None else check.area.outcome,
        None if check.sheet is None else check.sheet.outcome,
        None if in_sheet_squares else Outcome.NOT_MET,
    ]
    return replace(check, verdict=verdict_of(found, check.precision))


def expected_of(
    answer: KnownAnswer | None, area: Outline | None = None, sheet: Sheet | None = None
) -> Expected:
    """Where a report without its slip must lie for the slip to explain it; without any of them it has no place."""
    if answer is not None:
        reach_m = answer.tolerance_m + left_open_m(answer.place) + answer.place.accuracy_m
        return Expected(answer.place.lat_deg, answer.place.lon_deg, reach_m, sheet)
    if area is not None:
        return Expected(*area.middle(), area.radius_m, sheet)
    return Expected(sheet=sheet)


def slips_of_place(reported: Place, expected: Expected, *, allow_ballpark: bool = False) -> list[Slip]:
    """The slips that a reported place may have come by, likeliest first: those of `slips.alternatives`."""
    try:
        return likeliest_first(
            alternatives(reported.read_as, Frame(reported.datum, allow_ballpark), expected)
        )
    except NavigationError:
        return []  # it was given by numbers that are no text, as coordinates far beyond their zone are


def slips_of_refused(text: str, frame: Frame, expected: Expected) -> list[Slip]:
    """The slips that a report which names no place may have come by, likeliest first."""
    return likeliest_first(alternatives_of_refused(text, frame, expected))


def likeliest_first(slips: Iterable[Slip]) -> list[Slip]:
    """Slips in the order of `slips.SLIPS`, and of one slip the place that is nearest first."""
    return sorted(slips, key=lambda slip: (_LIKELIHOOD[slip.slip], slip.distance_m))


def _against(check: PositionCheck, reported: Place, answer: KnownAnswer) -> PositionCheck:
    """The check with what the place expected says."""
    place = answer.place
    azimuth_deg, _back, distance = inverse(place.lat_deg, place.lon_deg, reported.lat_deg, reported.lon_deg)
    distance_m = float(distance)
    open_m = left_open_m(reported) + left_open_m(place) + _shifts_m(reported, place)
    holds = _holds(reported, place, distance_m)
    outcome = Outcome(int(outcomes(distance_m, open_m, answer.tolerance_m, COINCIDENT_M)))
    if outcome is Outcome.OPEN and holds and (reported.resolution_m or 0.0) <= answer.tolerance_m:
        outcome = Outcome.MET
    return replace(
        check,
        distance_m=distance_m,
        true_azimuth_deg=float(azimuth_deg) if distance_m >= COINCIDENT_M else None,
        left_open_m=open_m,
        within_tolerance=outcome,
        holds=holds,
    )


def _holds(reported: Place, expected: Place, distance_m: float) -> bool:
    """Whether the place expected is in the square reported; never where it is known more coarsely than was reported."""
    if (expected.resolution_m or 0.0) > (reported.resolution_m or 0.0) or distance_m > left_open_m(reported):
        return False
    return written_holds(reported, expected.lat_deg, expected.lon_deg, distance_m)


def _shifts_m(one: Place, other: Place) -> float:
    """How far the shifts of two places' datums may part them; one operation moves both alike. [metre]"""
    if one.shift is not None and other.shift is not None and one.shift.operation == other.shift.operation:
        return 0.0
    return one.accuracy_m + other.accuracy_m


def _precision(place: Place, coarsest_m: float | None) -> Outcome | None:
    if coarsest_m is None:
        return None
    if place.resolution_m is None:
        return Outcome.OPEN
    # A unit of a degree's last digit is some metres by a calculation: a rounding is no coarser writing.
    return Outcome.MET if place.resolution_m <= coarsest_m * (1.0 + 1e-9) else Outcome.NOT_MET


def side_of_digits_m(digits: int) -> float:
    """The side of the square of a grid reference with so many digits a side. [metre]"""
    return float(10.0 ** (FINEST_DIGITS - digits))
