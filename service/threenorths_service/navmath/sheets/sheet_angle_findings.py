"""What is wrong with the angles that a sheet prints: against each other, its own grid, and the model."""

from __future__ import annotations

from collections.abc import Iterator

from ..angle import normalise_signed
from ..sights.sight import DEFAULT_SD_DEG
from .sheet import Sheet
from .sheet_angles import PRINT_ROUNDING_DEG, ConvergenceOver, PrintedAngle
from .sheet_findings import Finding, finding

__all__ = ["angle_findings"]

#: Three angles, each printed to half a degree or finer.
SUM_ROUNDING_DEG = 3.0 * PRINT_ROUNDING_DEG


def angle_findings(
    sheet: Sheet, convergence: ConvergenceOver | None, printed: PrintedAngle | None
) -> Iterator[Finding]:
    """All that is wrong with the angles; with no edges, only what they have against each other."""
    yield from _contradictions(sheet)
    if convergence is not None:
        yield from _convergence_findings(sheet, convergence)
    if printed is not None:
        yield from _findings_for_the_year(printed)
        yield from _findings_today(printed)


def _contradictions(sheet: Sheet) -> Iterator[Finding]:
    """Whether ``G = D - C`` holds between the printed angles, to their rounding."""
    angle, declination, convergence = (
        sheet.grid_magnetic_angle_deg,
        sheet.declination_deg,
        sheet.convergence_deg,
    )
    if angle is None or declination is None or convergence is None:
        return
    if _apart(declination - convergence, angle) <= SUM_ROUNDING_DEG:
        return
    given = f"declination {declination:+g} less convergence {convergence:+g}"
    message = f"{given} is {declination - convergence:+.2f}, not {angle:+g} degrees"
    slips = {
        "convergence_deg": declination + convergence - angle,
        "declination_deg": -declination - convergence - angle,
        "grid_magnetic_angle_deg": declination - convergence + angle,
    }
    fitting = [member for member, miss in slips.items() if _apart(miss, 0.0) <= SUM_ROUNDING_DEG]
    if len(fitting) == 1:
        yield finding(
            "sign_slip", f"{message}; with the {_words(fitting[0])} of the other sign it fits", fitting[0]
        )
    else:
        yield finding("angles_contradict", message, "grid_magnetic_angle_deg")


def _convergence_findings(sheet: Sheet, over: ConvergenceOver) -> Iterator[Finding]:
    printed = sheet.convergence_deg
    if printed is None:
        return
    allowance = PRINT_ROUNDING_DEG + over.half_range_deg
    if _apart(printed, over.middle_deg) <= allowance:
        return
    message = f"the convergence at the sheet's middle is {over.middle_deg:+.2f} degrees, and {printed:+g} is printed"
    if _apart(-printed, over.middle_deg) <= allowance:
        yield finding("sign_slip", f"{message}: it fits with the other sign", "convergence_deg")
    else:
        yield finding("convergence_disagrees", message, "convergence_deg")


def _findings_for_the_year(printed: PrintedAngle) -> Iterator[Finding]:
    if printed.year is None:
        yield finding(
            "angle_not_compared",
            f"the sheet gives no year for its {_words(printed.member)}, so it was not compared for it",
            "year",
        )
    elif printed.model_deg is None or printed.difference_deg is None or printed.allowance_deg is None:
        yield finding(
            "angle_not_compared",
            f"the {_words(printed.member)} is of {printed.year:g}, for which there is no model here",
            "year",
        )
    elif abs(printed.difference_deg) > printed.allowance_deg:
        message = (
            f"the {_words(printed.member)} for {printed.year:g} is {printed.model_deg:+.2f} degrees by the model, and "
            f"{printed.printed_deg:+g} is printed; {printed.allowance_deg:.2f} are allowed for"
        )
        if _apart(-printed.printed_deg, printed.model_deg) <= printed.allowance_deg:
            yield finding("sign_slip", f"{message}: it fits with the other sign", printed.member)
        else:
            yield finding("angle_disagrees", message, printed.member)


def _findings_today(printed: PrintedAngle) -> Iterator[Finding]:
    stale, today = printed.stale_deg, printed.today_deg
    if stale is None or today is None or _is_wrong_for_its_year(printed):
        return
    if abs(stale) > DEFAULT_SD_DEG:
        yield finding(
            "angle_stale",
            f"the {_words(printed.member)} is now {today:+.2f} degrees, and {printed.printed_deg:+g} is printed",
            printed.member,
        )
    difference, allowance = printed.carried_difference_deg, printed.carried_allowance_deg
    if difference is not None and allowance is not None and abs(difference) > allowance:
        yield finding(
            "annual_change_disagrees",
            f"the {_words(printed.member)} is now {today:+.2f} degrees, and carried by the sheet's annual change it would "
            f"be {printed.carried_deg:+.2f}; {allowance:.2f} are allowed for",
            "annual_change_deg",
        )


def _is_wrong_for_its_year(printed: PrintedAngle) -> bool:
    """Then the staleness says nothing: the angle was never right."""
    if printed.difference_deg is None or printed.allowance_deg is None:
        return False
    return abs(printed.difference_deg) > printed.allowance_deg


def _apart(one_deg: float, other_deg: float) -> float:
    return abs(float(normalise_signed(one_deg - other_deg)))


def _words(member: str) -> str:
    return {
        "grid_magnetic_angle_deg": "grid-magnetic angle",
        "declination_deg": "declination",
        "convergence_deg": "convergence",
    }[member]
