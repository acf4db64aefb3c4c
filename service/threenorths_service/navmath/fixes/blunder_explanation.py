"""What an observation that contradicts the others may really have been: slips that people make, tried one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..angle import CIRCLE_DIVISIONS, from_degrees, normalise_azimuth, normalise_signed, to_degrees
from ..directions.bearing import NORTHS
from ..lines.geodesic import COINCIDENT_M, inverse
from ..sights.sight import angle_from_true_north
from .blunder import Suspect
from .fixed_place import FixedPlace
from .mixed_solution import Problem
from .observation import AngleBetween, BearingFrom, BearingTo, DistanceTo, LineStoodOn, Observation

__all__ = ["FITTING_SDS", "SLIPS", "Explanation", "explanations_of"]

#: An explanation fits that leaves no more than so many standard deviations: 95 % of true ones do.
FITTING_SDS = 2.0
#: A slip that moves the reading by less than so many standard deviations explains nothing that chance does not.
TELLING_SDS = 2.0
#: Feet and yards in a metre: the international foot, by definition.
FOOT_M, YARD_M = 0.3048, 0.9144

#: Every slip that is tried, with what it means.
SLIPS = {
    "reversed": "The bearing is that of the opposite direction: 180 degrees off.",
    "other_north": "The bearing is from another north than was said.",
    "correction_reversed": "The angle between the norths was applied with the wrong sign.",
    "other_unit": "The number was read on the scale of another unit.",
    "digits_transposed": "Two digits next to each other were exchanged.",
    "other_mark": "It was another mark, or taken at another place.",
    "marks_exchanged": "The left and the right mark were exchanged.",
}


@dataclass(frozen=True, slots=True)
class Explanation:
    """A slip that would make the suspect fit.

    ``slip`` of `SLIPS`; ``says``, in words with the numbers; ``reading``, what would have been right to give, in degrees or
    metres; ``left``, what it then misses by, and ``left_sds``, the same over its standard deviation; ``mark``, the index of
    the place in the list of places tried, of a mark taken for another. ``chance``, how likely it is that one at least of all
    the slips tried fits a reading that is anything.
    """

    slip: str
    says: str
    reading: float
    left: float
    left_sds: float
    mark: int | None = None
    chance: float = 0.0


def explanations_of(
    problem: Problem,
    without: FixedPlace,
    suspect: Suspect,
    unit: str = "deg",
    other_marks: Sequence[tuple[float, float]] = (),
) -> tuple[Explanation, ...]:
    """The slips that fit, the best first; none where nothing explains the suspect.

    Parameters
    ----------
    unit : str
        The unit that the suspect's number was written in, a key of `CIRCLE_DIVISIONS`.
    other_marks : sequence of (lat_deg, lon_deg)
        Places that may have been taken for the known one; the other observations' are tried first, in their order.
    """
    observation = problem.table.observations[suspect.row]
    if isinstance(observation, LineStoodOn):
        return ()
    tried = [*_slips_of_reading(problem, without, suspect, observation, unit)]
    tried += _other_marks(problem, without, suspect, observation, other_marks)
    span = observation.distance_m if isinstance(observation, DistanceTo) else 360.0
    chance = 1.0 - (1.0 - min(2.0 * FITTING_SDS * suspect.sd / span, 1.0)) ** len(tried)
    fitting = [replace(each, chance=chance) for each in tried if abs(each.left_sds) <= FITTING_SDS]
    return tuple(sorted(fitting, key=lambda each: abs(each.left_sds)))


def _slips_of_reading(
    problem: Problem, without: FixedPlace, suspect: Suspect, observation: Observation, unit: str
) -> Iterator[Explanation]:
    """The slips of what was read: each changes the reading, and so the residual, by a known amount."""
    if isinstance(observation, DistanceTo):
        readings = _of_distance(observation.distance_m)
        read, circle = observation.distance_m, False
    elif isinstance(observation, AngleBetween):
        readings, read, circle = _of_angle(observation.angle_deg, unit), observation.angle_deg, True
    elif isinstance(observation, BearingTo | BearingFrom):
        readings = _of_bearing(problem, without, observation, unit)
        read, circle = observation.bearing_deg, True
    else:
        return
    for slip, says, reading in readings:
        change = reading - read
        left = suspect.residual + change
        if circle:
            change, left = float(normalise_signed(change)), float(normalise_signed(left))
            reading = float(normalise_azimuth(reading))
        if abs(change) > TELLING_SDS * suspect.sd:
            yield Explanation(slip, says, reading, left, left / suspect.sd)


def _of_distance(distance_m: float) -> Iterator[tuple[str, str, float]]:
    for name, unit_m in (("feet", FOOT_M), ("yards", YARD_M)):
        yield "other_unit", f"{distance_m:g} {name}, not metres", distance_m * unit_m
    for number in _transposed(distance_m):
        yield "digits_transposed", f"{number:g} m, not {distance_m:g} m", number


def _of_angle(angle_deg: float, unit: str) -> Iterator[tuple[str, str, float]]:
    yield "marks_exchanged", "measured from the right mark to the left one", -angle_deg
    yield from _of_scale(angle_deg, unit)


def _of_bearing(
    problem: Problem, without: FixedPlace, bearing: BearingTo | BearingFrom, unit: str
) -> Iterator[tuple[str, str, float]]:
    yield "reversed", "the opposite direction", bearing.bearing_deg + 180.0
    at = (without.lat_deg, without.lon_deg)
    if isinstance(bearing, BearingFrom):
        at = (bearing.lat_deg, bearing.lon_deg)
    turn = {
        north: float(angle_from_true_north(north, *at, problem.decimal_year, *_grid(north, bearing)))
        for north in NORTHS
        if north != "magnetic" or problem.decimal_year is not None
    }
    for north, angle in turn.items():
        if north != bearing.north:
            read_from_it = bearing.bearing_deg + angle - turn[bearing.north]
            yield "other_north", f"from {north} north, not {bearing.north} north", read_from_it
    yield from _of_correction(bearing, turn)
    yield from _of_scale(bearing.bearing_deg, unit)


def _grid(north: str, bearing: BearingTo | BearingFrom) -> tuple[int | None, bool | None]:
    return (bearing.zone, bearing.south) if north == "grid" else (None, None)


def _of_correction(
    bearing: BearingTo | BearingFrom, turn: dict[str, float]
) -> Iterator[tuple[str, str, float]]:
    """A bearing that was turned to the north said by an angle of the wrong sign is off by twice that angle."""
    for north, angle in turn.items():
        if north != bearing.north:
            between = turn[bearing.north] - angle
            yield (
                "correction_reversed",
                f"turned from {north} to {bearing.north} north with the wrong sign",
                bearing.bearing_deg - 2.0 * between,
            )


def _of_scale(angle_deg: float, unit: str) -> Iterator[tuple[str, str, float]]:
    number = round(float(from_degrees(angle_deg, unit)), 6)
    for other, parts in CIRCLE_DIVISIONS.items():
        if other != unit and abs(number) <= parts:
            yield "other_unit", f"{number:g} {other}, not {unit}", float(to_degrees(number, other))
    for swapped in _transposed(number):
        # No dial shows 425 degrees: it is no slip of anybody's eye.
        if abs(swapped) <= CIRCLE_DIVISIONS[unit]:
            yield (
                "digits_transposed",
                f"{swapped:g} {unit}, not {number:g} {unit}",
                float(to_degrees(swapped, unit)),
            )


def _transposed(number: float) -> list[float]:
    """The number with two digits next to each other exchanged, in every way that changes it."""
    text = f"{number:g}" if abs(number) >= 100 or number == int(number) else f"{number:.6g}"
    if "e" in text:
        return []
    # A bearing of 34 is written 034: its leading nought is exchanged as well.
    if text.lstrip("-").split(".")[0].isdigit() and 0 <= number < 100:
        text = text.zfill(3 + (len(text) - len(text.split(".")[0])))
    swaps = []
    for index in range(len(text) - 1):
        first, second = text[index], text[index + 1]
        if first.isdigit() and second.isdigit() and first != second:
            swaps.append(float(text[:index] + second + first + text[index + 2 :]))
    return swaps


def _other_marks(
    problem: Problem,
    without: FixedPlace,
    suspect: Suspect,
    observation: Observation,
    other_marks: Sequence[tuple[float, float]],
) -> list[Explanation]:
    """Each other known place tried for the suspect's own: what would be read of it, or at it."""
    table = problem.table
    lines = np.concatenate((table.line, table.end))
    known = np.setdiff1d(np.arange(len(table.lat_deg)), lines)
    places = [(float(table.lat_deg[column]), float(table.lon_deg[column])) for column in known] + list(
        other_marks
    )
    own = (float(table.lat_deg[suspect.row]), float(table.lon_deg[suspect.row]))
    found = []
    for index, place in enumerate(places):
        apart = float(inverse(*own, *place)[2])
        if apart < COINCIDENT_M or any(
            float(inverse(*place, *places[i])[2]) < COINCIDENT_M for i in range(index)
        ):
            continue
        change = _change_by_mark(without, observation, own, place)
        left = suspect.residual - change
        if not isinstance(observation, DistanceTo):
            left = float(normalise_signed(left))
        if abs(change) > TELLING_SDS * suspect.sd:
            says = "another known place" if index < len(known) else f"other mark {index - len(known)}"
            reading = problem.table.reading[suspect.row]
            found.append(Explanation("other_mark", says, float(reading), left, left / suspect.sd, index))
    return found


def _change_by_mark(
    without: FixedPlace, observation: Observation, own: tuple[float, float], place: tuple[float, float]
) -> float:
    """How much more would be read of the other place than of the suspect's own. [degree or metre]"""
    here = (without.lat_deg, without.lon_deg)
    if isinstance(observation, DistanceTo):
        return float(inverse(*here, *place)[2] - inverse(*here, *own)[2])
    if isinstance(observation, BearingFrom):
        return float(normalise_signed(inverse(*place, *here)[0] - inverse(*own, *here)[0]))
    change = float(normalise_signed(inverse(*here, *place)[0] - inverse(*here, *own)[0]))
    return -change if isinstance(observation, AngleBetween) else change
