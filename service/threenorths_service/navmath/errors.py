"""Named errors of the mathematics: what was wrong, with which member, and what is allowed."""

from __future__ import annotations

from typing import Any, ClassVar

__all__ = [
    "AmbiguousPositionError",
    "AnglesConflictError",
    "AnglesMissingError",
    "AnglesUnreadableError",
    "BallparkShiftError",
    "BodyBelowHorizonError",
    "BoundsReversedError",
    "CoincidentPointsError",
    "CompassErrorUnsolvableError",
    "DangerCircleError",
    "DateMissingError",
    "DateOutsideModelError",
    "InconsistentAnglesError",
    "InconsistentSheetError",
    "LengthsInconsistentError",
    "LengthsMissingError",
    "LineDoesNotPartError",
    "LinesDoNotMeetError",
    "MagneticUselessError",
    "MembersConflictError",
    "MembersMissingError",
    "NavigationError",
    "NoLegsError",
    "NoSolutionError",
    "NothingInReachError",
    "NothingLeftError",
    "ObservationsDoNotMeetError",
    "ObservationsTouchError",
    "OutOfRangeError",
    "OutsideDatumAreaError",
    "OutsideGridError",
    "ParallelSightsError",
    "ReachTooLargeError",
    "SearchIncompleteError",
    "SightsCrossBehindError",
    "SquareNotInZoneError",
    "StartExcludedError",
    "TooFewObservationsError",
    "TooFewReadingsError",
    "TooFewSightsError",
    "TwoOfThreeError",
    "UnknownDatumError",
    "UnknownGridError",
    "UnreadablePositionError",
    "UnusableShapeError",
    "WalkUnclosableError",
    "WeakBaseError",
    "all_errors",
]


class NavigationError(ValueError):
    """Base of every error that the mathematics raises on its input.

    ``member`` is a path into the input (``"sights/1/bearing"``, ``"lat_deg"``) or ``None`` where the whole of it
    is at fault. ``value`` is what stood there and ``allowed`` says what may. ``details`` are further members for
    the answer, such as the readings an ambiguous text could have.
    """

    code: ClassVar[str] = "navigation_error"
    title: ClassVar[str] = "The input has no answer"
    explanation: ClassVar[str] = "The base of the named errors; it is never answered by itself."

    def __init__(
        self,
        message: str,
        *,
        member: str | None = None,
        value: Any = None,
        allowed: str | None = None,
        details: dict[str, Any] | None = None,
    ) -> None:
        super().__init__(message)
        self.member = member
        self.value = value
        self.allowed = allowed
        self.details = details or {}

    def within(self, parent: str) -> NavigationError:
        """The same error with its member one level further in, under ``parent``."""
        self.member = parent if self.member is None else f"{parent}/{self.member}"
        return self


class OutOfRangeError(NavigationError):
    """A number is outside what its quantity can be."""

    code = "out_of_range"
    title = "A value is out of range"
    explanation = (
        "A number lies outside what its quantity can be, such as a latitude of 91 degrees. Correct the value."
    )


class UnreadablePositionError(NavigationError):
    """A text is no position in any form."""

    code = "unreadable_position"
    title = "The position cannot be read"
    explanation = (
        "The text is not a complete position in any of the forms that are read. Nothing was guessed from it: ask for "
        "the position again, whole, with its grid zone and square letters or with its hemispheres."
    )


class AmbiguousPositionError(NavigationError):
    """A text has two or more readings at different places."""

    code = "ambiguous_position"
    title = "The position can be read in more than one way"
    explanation = (
        "The text has two or more readings at different places, listed under `readings`. None was chosen: send the "
        "reading that is meant, in the unambiguous form given with it."
    )


class SquareNotInZoneError(NavigationError):
    """A grid reference names a square that does not exist in its grid zone."""

    code = "square_not_in_zone"
    title = "No such square in this grid zone"
    explanation = (
        "The grid reference is well formed, but its grid zone holds no square of that name. One of the zone number, "
        "the band letter and the two square letters is wrong."
    )


class OutsideGridError(NavigationError):
    """A grid coordinate or a place is outside what its grid reaches."""

    code = "outside_grid"
    title = "Outside the reach of the grid"
    explanation = (
        "The easting, the northing or the place lies outside what the named grid zone reaches. Check the zone and "
        "the hemisphere."
    )


class CoincidentPointsError(NavigationError):
    """Two places are the same, so no direction is defined."""

    code = "coincident_points"
    title = "The two places are the same"
    explanation = "The places are nearer than a millimetre to each other, so no direction from one to the other is defined."


class DateOutsideModelError(NavigationError):
    """The magnetic model does not hold for the date."""

    code = "date_outside_model"
    title = "The date is outside the magnetic model"
    explanation = (
        "The World Magnetic Model 2025 holds from 2025-01-01 to 2029-12-31, the International Geomagnetic Reference Field "
        "IGRF-14 from 1900-01-01 to 2029-12-31. Declination outside the dates of the model asked for, or of both, is not "
        "extrapolated, since it would be stated too surely."
    )


class AnglesMissingError(NavigationError):
    """Not enough is known of the angles between the norths."""

    code = "angles_missing"
    title = "The angles between the norths are not known"
    explanation = (
        "What was given does not tie the direction's north to the north that is needed. Give a position and a date, or "
        "the declination, convergence or grid-magnetic angle in between, or a sheet that prints it."
    )


class AnglesConflictError(NavigationError):
    """The angles between the norths are said in more than one way."""

    code = "angles_conflict"
    title = "The angles between the norths are said twice"
    explanation = (
        "A position with its date, the angles themselves, and a sheet are three ways to say the same, and could "
        "contradict each other. Give just one of them."
    )


class DateMissingError(NavigationError):
    """A magnetic direction without the date of its declination."""

    code = "date_missing"
    title = "The date is missing"
    explanation = (
        "Magnetic north moves by up to half a degree a year, so a magnetic direction, or the declination at a "
        "position, needs a `date`. It is never taken for granted: `today` must be said."
    )


class AnglesUnreadableError(NavigationError):
    """A text is no angle or direction."""

    code = "unreadable_bearing"
    title = "The bearing cannot be read"
    explanation = (
        "The text is no direction: write a number in the stated unit, degrees minutes and seconds such as "
        "`45 30 15`, or a quadrant such as `N 45 E`."
    )


class InconsistentAnglesError(NavigationError):
    """Declination, convergence and grid-magnetic angle contradict each other."""

    code = "inconsistent_angles"
    title = "The angles contradict each other"
    explanation = (
        "The grid-magnetic angle is the declination less the convergence, all east positive. The three angles given "
        "do not agree to within 0.01 degree: leave one of them out or correct a sign."
    )


class LengthsMissingError(NavigationError):
    """Too few lengths to solve for the others."""

    code = "lengths_missing"
    title = "Too little is given"
    explanation = (
        "Give any two of the scale, one map length and one ground length; or a ground length or slope length with a "
        "gradient. A length is given in one unit only."
    )


class LengthsInconsistentError(NavigationError):
    """Lengths given together contradict each other or say the same twice."""

    code = "lengths_conflict"
    title = "The lengths conflict"
    explanation = (
        "More was given than the answer needs, so two values could contradict each other. Give each quantity once, "
        "in one unit."
    )


class TooFewSightsError(NavigationError):
    """Fewer sights than the unknowns need."""

    code = "too_few_sights"
    title = "Too few sights"
    explanation = "A fix needs two sights; solving for the compass error as well needs three."


class TooFewReadingsError(NavigationError):
    """Fewer readings of a compass than a check of it needs."""

    code = "too_few_readings"
    title = "Too few readings"
    explanation = (
        "A check of a compass needs one reading on a known direction at least; one by forward and back bearings needs a leg, "
        "and three legs round a closed traverse."
    )


class ParallelSightsError(NavigationError):
    """The sights are parallel within what the compass can tell."""

    code = "parallel_sights"
    title = "The sights are parallel"
    explanation = (
        "The lines of sight meet at so flat an angle, for their standard deviations, that no crossing can be told. "
        "Take another sight, nearer to a right angle with these."
    )


class SightsCrossBehindError(NavigationError):
    """The lines cross behind an observer."""

    code = "sights_cross_behind"
    title = "The lines cross behind an observer"
    explanation = (
        "The lines through the sights cross on the far side of an observer, opposite to the way that was looked. A "
        "bearing was reversed by 180 degrees, the wrong north was applied, or a place is wrong."
    )


class DangerCircleError(NavigationError):
    """The marks and the observer lie on one circle."""

    code = "danger_circle"
    title = "On the danger circle"
    explanation = (
        "The observer and the marks lie on one circle (or so near to it that the sights cannot tell), where the "
        "angles between the marks are the same all along it. Sight a mark well off that circle."
    )


class CompassErrorUnsolvableError(NavigationError):
    """The compass error cannot be told from these sights."""

    code = "compass_error_unsolvable"
    title = "The compass error cannot be told from these sights"
    explanation = (
        "With the marks nearly in one direction, or in a line with the observer, a turn of the compass and a change "
        "of place look alike. Sight marks spread around the horizon."
    )


class MagneticUselessError(NavigationError):
    """Magnetic north is known too badly to fix a place by."""

    code = "magnetic_useless"
    title = "A magnetic compass is of no use here"
    explanation = (
        "So near a magnetic pole the declination is known to no better than five degrees, and it changes from place to "
        "place: magnetic sights fix nothing. Take bearings from true or grid north, such as from the sun."
    )


class NoSolutionError(NavigationError):
    """The adjustment did not settle on a place."""

    code = "no_solution"
    title = "The sights do not settle on a place"
    explanation = (
        "No place fits the sights: they contradict each other by far more than their standard deviations. Check for "
        "a reversed bearing, a wrong unit or north, and a mark taken for another."
    )


class UnknownDatumError(NavigationError):
    """A name or code is no datum that is known."""

    code = "unknown_datum"
    title = "No such datum"
    explanation = (
        "The name or EPSG code is no geodetic coordinate reference system that is known here. Take it from the margin of "
        "the sheet, or give its code as in EPSG:4230."
    )


class OutsideDatumAreaError(NavigationError):
    """The place lies where no operation of its datum holds."""

    code = "outside_datum_area"
    title = "Outside the area of the datum"
    explanation = (
        "The place lies outside every area for which a shift from this datum to WGS 84 was determined. The datum is not "
        "that of the sheet, or the place is wrong. Nothing is extrapolated."
    )


class BallparkShiftError(NavigationError):
    """No shift from the datum is known."""

    code = "ballpark_shift"
    title = "No shift from this datum to WGS 84 is known"
    explanation = (
        "For this datum no shift to WGS 84 is known here. To take its latitude and longitude over as they stand can put the "
        "place hundreds of metres off, in some countries over a kilometre. Where that will do, say `allow_ballpark`."
    )


class UnknownGridError(NavigationError):
    """A name or code is no grid that is known."""

    code = "unknown_grid"
    title = "No such grid"
    explanation = (
        "The name or EPSG code is no projected coordinate reference system that can be used here, or one whose axes do not "
        "point east and north."
    )


class NothingInReachError(NavigationError):
    """A reference without its zone or square fits nowhere near the place expected."""

    code = "nothing_in_reach"
    title = "The reference fits nowhere near"
    explanation = (
        "The reference leaves out its grid zone or its square, and no place that it could mean lies within reach of the "
        "position given as `near`, or on the sheet. The nearest are listed under `readings`; none was chosen."
    )


class InconsistentSheetError(NavigationError):
    """What is said of a sheet contradicts itself."""

    code = "inconsistent_sheet"
    title = "The sheet contradicts itself"
    explanation = (
        "The corners, the grid and the datum given for the sheet cannot all be right. `/v1/sheets` says what it finds "
        "wrong."
    )


class LinesDoNotMeetError(NavigationError):
    """The lines of sight from the two ends of a base do not meet ahead."""

    code = "lines_do_not_meet"
    title = "The lines from the two ends do not meet"
    explanation = (
        "Seen from the two ends of the base, the lines to the mark run apart, or meet only behind the observer. A bearing "
        "was reversed, the two ends were exchanged, or the marks sighted were not the same."
    )


class WeakBaseError(NavigationError):
    """A base does not tell how far off a mark is."""

    code = "weak_base"
    title = "The base does not tell the distance"
    explanation = (
        "From the two ends of the base the mark is seen at angles that cannot be told apart, or it lies in line with the "
        "base. Take a longer base, more nearly square to the line of sight."
    )


class TwoOfThreeError(NavigationError):
    """Two of three quantities are wanted, and another number of them was given."""

    code = "two_of_three"
    title = "Give just two of the three"
    explanation = (
        "Any two of the three quantities tell the third. With one there is no answer, and with all three they could "
        "contradict each other: give just two."
    )


class MembersMissingError(NavigationError):
    """What the method of a request needs was not given."""

    code = "members_missing"
    title = "The method needs more than was given"
    explanation = (
        "The answer follows only with a member that was left out. Its pointer or `allowed` names it; the description says "
        "what each method needs."
    )


class MembersConflictError(NavigationError):
    """Members were given that do not go together."""

    code = "members_conflict"
    title = "Members that do not go together"
    explanation = (
        "A member was given that the method does not use, or the same quantity in two ways that could contradict each "
        "other. Leave the one named out, so that nothing is passed over in silence."
    )


class NoLegsError(NavigationError):
    """A walk without legs, or one to be closed that leads nowhere."""

    code = "no_legs"
    title = "The walk has no legs"
    explanation = (
        "A walk is reckoned from at least one leg. To be closed on a known place it needs a leg that leads somewhere: a "
        "misclosure is shared out in proportion to the lengths walked, and halts have none."
    )


class WalkUnclosableError(NavigationError):
    """A walk misses its known end by more than it is long."""

    code = "walk_unclosable"
    title = "The walk cannot end there"
    explanation = (
        "The place given for the end is farther from where the legs lead than they are long together, and the stated errors "
        "do not explain it. The end, the start or a leg is wrong: nothing was adjusted."
    )


class TooFewObservationsError(NavigationError):
    """Fewer observations than a place has unknowns."""

    code = "too_few_observations"
    title = "Too few observations"
    explanation = (
        "A place needs two observations: bearings, distances, angles between marks or lines stood on, in any mixture. A "
        "compass error that is solved for as well needs one more, and bearings read on that compass to two marks at least."
    )


class ObservationsDoNotMeetError(NavigationError):
    """Two observations have no place in common."""

    code = "observations_do_not_meet"
    title = "The observations have no place in common"
    explanation = (
        "By far more than their standard deviations allow, no place fits the observations: circles of distances lie apart "
        "or one inside the other, or a sight passes a circle or a line by. A distance, a bearing or a place is wrong."
    )


class ObservationsTouchError(NavigationError):
    """The lines of position run alongside each other where they are nearest."""

    code = "observations_touch"
    title = "The observations touch without crossing"
    explanation = (
        "The circles, sights or lines that the observations draw touch each other or run side by side, so that the place "
        "could lie anywhere along them. Take another observation, whose line crosses these nearer to a right angle."
    )


class BoundsReversedError(NavigationError):
    """Values that have to rise do not."""

    code = "bounds_reversed"
    title = "The values are not in order"
    explanation = (
        "Distances, speeds or shares that have to rise do not, such as a least distance beyond the greatest. Put them in "
        "order, or leave out those that are not known."
    )


class SearchIncompleteError(NavigationError):
    """Not enough is said of how far or which way somebody may have gone, or the same in two ways."""

    code = "search_incomplete"
    title = "The search is not told whole, or told twice"
    explanation = (
        "A search area needs how far the person can be: the time since with speeds, or distances, or quantiles of distances; "
        "and a direction of travel needs its spread. Say each in one way."
    )


class ReachTooLargeError(NavigationError):
    """The reach is beyond what search areas are worked out for."""

    code = "reach_too_large"
    title = "The reach is too large"
    explanation = (
        "Search areas are worked out up to 200 km from the place last known. Beyond that speed and time tell nothing of use"
        " about somebody on foot: bring a nearer bound, such as quantiles of distances or a later place last known."
    )


class StartExcludedError(NavigationError):
    """The place last known is where the limits say that nobody can be."""

    code = "start_excluded"
    title = "The limits contradict the place last known"
    explanation = (
        "The place last known lies in an area that was excluded, or on a line that was not crossed. An area that was "
        "searched is no excluded area: no search finds for certain. Correct the place or the limit, or leave the limit out."
    )


class LineDoesNotPartError(NavigationError):
    """A line has no sides within the reach."""

    code = "line_does_not_part"
    title = "The line does not part the reach in two"
    explanation = (
        "The side of a line was named, but the line ends within the reach or misses it, or the place that names the side is"
        " on the line or out of reach. Draw the line through the whole reach, and name a place in reach beside it."
    )


class NothingLeftError(NavigationError):
    """The limits leave nowhere to search."""

    code = "nothing_left"
    title = "The limits leave nothing"
    explanation = (
        "The limits, the distances and the directions contradict each other: no place, or next to none that is likely, fits"
        " them all. At least one of them is wrong. Leave limits out one by one to see which."
    )


class UnusableShapeError(NavigationError):
    """A line or a ring cannot be used as it is."""

    code = "unusable_shape"
    title = "The line or ring cannot be used"
    explanation = (
        "It has too few places or too many, crosses itself, has no inside, or reaches too far from the place last known. "
        "Draw it plainer, and only as far as it matters."
    )


class BodyBelowHorizonError(NavigationError):
    """A body is said to have been sighted when it was far below the horizon."""

    code = "body_below_horizon"
    title = "The body was below the horizon"
    explanation = (
        "At that place and moment the body stood so far below the horizon that nobody can have sighted it, nor a shadow of "
        "it. Most likely the hour, the offset from UTC or the position is wrong: correct it, or leave the reading out."
    )


def all_errors() -> list[type[NavigationError]]:
    """Every error that can be answered, by code."""
    found: list[type[NavigationError]] = []
    waiting = NavigationError.__subclasses__()
    while waiting:
        error = waiting.pop()
        found.append(error)
        waiting.extend(error.__subclasses__())
    return sorted(found, key=lambda error: error.code)
