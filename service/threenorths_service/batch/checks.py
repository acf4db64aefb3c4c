"""Checks in columns: reports that are right, or that nobody can tell of. A wrong one is looked at for its slip by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import numpy as np
import pyarrow as pa

from ..navmath.angle import FloatArray, normalise_azimuth, normalise_signed
from ..navmath.checks.bearing_check import SLACK_DEG
from ..navmath.checks.check_summary import CheckSummary, summarise
from ..navmath.checks.position_check import side_of_digits_m
from ..navmath.checks.shape_check import squares_hold
from ..navmath.checks.verdict import Outcome, outcomes
from ..navmath.grids.projections import UPS_SCALE, UTM_SCALE
from ..navmath.lines.geodesic import COINCIDENT_M, inverse
from ..navmath.rows import BoolArray, IntArray
from ..operations.check_given import OF_BEARING, OF_POSITION
from ..operations.checks import OPERATION
from .caution_columns import joined, said_column
from .columnar import Columnar, Plain
from .dates import years_of
from .north_angles import ANGLE_MEMBERS, angle_columns, bearings_in, dates_fit
from .place_columns import FINEST_DIGITS, PlaceColumns, place_members, places_of
from .plain_members import number_in
from .rows import Rows

__all__ = ["CHECKS", "SUMMARISED", "summary_of"]

#: The columns that a summary is made from.
SUMMARISED = ("verdict", "slip", "distance_m", "difference_deg")

_SCHEMA = OPERATION.request
_OF_BEARING_ALONE = frozenset(path.partition(".")[0] for path in ANGLE_MEMBERS) | {
    "north",
    "unit",
    "tolerance_deg",
}
_VERDICTS = pa.array(["right", "undecided", "too_coarse"])
_RIGHT, _UNDECIDED, _TOO_COARSE = range(3)


class _Positions:
    """The rows that report a position and hold it against a place, or against a precision, or both."""

    def __init__(self, rows: Rows) -> None:
        self.reported, self.expected = (
            places_of(rows, "reported", on_grid=False),
            places_of(rows, "expected", on_grid=False),
        )
        tolerance_m, tolerances_fit = number_in(rows, _SCHEMA, "tolerance_m")
        coarsest_m, precisions_fit = _coarsest_m(rows)
        self.against = _any(rows, ("expected",))
        demanded = self.against | ~np.isnan(coarsest_m)
        self.plain = (
            self.reported.plain & tolerances_fit & precisions_fit & demanded & ~_any(rows, OF_BEARING)
        )
        self.plain &= ~self.against | (self.expected.plain & ~np.isnan(tolerance_m))
        # What belongs to a bearing would be looked at by the operation, if only to refuse it.
        self.plain &= ~_any(rows, _OF_BEARING_ALONE)
        measured = self.plain & self.against
        ends = [np.where(measured, each, 0.0) for each in self._ends()]
        azimuth_deg, _back, distance_m = inverse(*ends)
        self.distance_m = np.where(measured, distance_m, np.nan)
        self.azimuth_deg = np.where(measured & (distance_m >= COINCIDENT_M), azimuth_deg, np.nan)
        open_m = _left_open_m(self.reported) + _left_open_m(self.expected)
        self.left_open_m = np.where(measured, open_m, np.nan)
        with np.errstate(invalid="ignore"):
            outcome = outcomes(self.distance_m, self.left_open_m, tolerance_m, COINCIDENT_M)
        self.outcome: IntArray = np.where(measured, outcome, Outcome.MET)
        self._take_held(tolerance_m)
        # What may have been a slip is left to the check of one.
        self.plain &= self.outcome != Outcome.NOT_MET
        self.precision = _precision(self.reported.resolution_m, coarsest_m)

    def _take_held(self, tolerance_m: FloatArray) -> None:
        """Right is also a report whose square is no wider than the tolerance, and holds the place expected."""
        reported, expected = self.reported, self.expected
        half_m = np.nan_to_num(reported.resolution_m) / 2.0
        rows = np.flatnonzero(
            self.plain
            & (self.outcome == Outcome.OPEN)
            & (2.0 * half_m <= tolerance_m)
            & (half_m > 0.0)
            & (np.nan_to_num(expected.resolution_m) <= 2.0 * half_m)
        )
        # The point of a cut square is not in its middle, and its corner not known here.
        self.plain[rows[reported.cut[rows]]] = False
        held = squares_hold(
            reported.zone[rows],
            reported.south[rows],
            reported.easting_m[rows] - half_m[rows],
            reported.northing_m[rows] - half_m[rows],
            2.0 * half_m[rows],
            expected.lat_deg[rows],
            expected.lon_deg[rows],
        )
        self.outcome[rows[held]] = Outcome.MET

    def _ends(self) -> tuple[FloatArray, ...]:
        expected, reported = self.expected, self.reported
        return expected.lat_deg, expected.lon_deg, reported.lat_deg, reported.lon_deg

    @property
    def verdict(self) -> IntArray:
        """The places in `_VERDICTS`."""
        least = np.where(self.against, self.outcome, Outcome.MET)
        undecided = (least == Outcome.OPEN) | (self.precision == Outcome.OPEN)
        verdict = np.where(undecided, _UNDECIDED, _RIGHT)
        return np.where(self.precision == Outcome.NOT_MET, _TOO_COARSE, verdict)


#: Stands for a precision that was not demanded.
_NONE = 9


def answer(rows: Rows) -> Plain:
    """The checks of the rows."""
    of_bearing = rows.given("reported_bearing")
    places = _Positions(rows)
    places.plain &= ~of_bearing
    bearings = _Bearings(rows)
    bearings.plain &= of_bearing & ~_any(rows, ("reported", "tolerance_m", *OF_POSITION))
    verdict = np.where(of_bearing, _RIGHT, places.verdict)
    outcome = np.where(of_bearing, bearings.outcome, np.where(places.against, places.outcome, Outcome.OPEN))
    place_said = joined(places.reported.cautions(), places.expected.cautions())
    said = {row: list(dict.fromkeys(each)) for row, each in place_said.items() if places.plain[row]}
    said |= {row: each for row, each in bearings.angles.said.items() if bearings.plain[row]}

    return Plain(
        places.plain | bearings.plain,
        {
            "verdict": lambda: _VERDICTS.take(pa.array(verdict)),
            "within_tolerance": lambda: pa.array(outcome == Outcome.MET, mask=outcome == Outcome.OPEN),
            **_of_places(places, of_bearing),
            "difference_deg": lambda: np.where(of_bearing, bearings.difference_deg, np.nan),
            "expected_azimuth_deg": lambda: np.where(of_bearing, bearings.expected_deg, np.nan),
            "left_open_deg": lambda: np.where(of_bearing, 0.0, np.nan),
            "slip_in_doubt": lambda: False,
            "slips": lambda: "[]",
            **dict.fromkeys(_NOTHING, lambda: None),
            "cautions": lambda: said_column(rows.count, said),
        },
    )


def _of_places(places: _Positions, of_bearing: BoolArray) -> dict[str, Callable[[], Any]]:
    """What makes the columns that only positions have."""
    unknown = of_bearing | np.isin(places.precision, (_NONE, Outcome.OPEN))
    return {
        "distance_m": lambda: np.where(of_bearing, np.nan, places.distance_m),
        "true_azimuth_deg": lambda: np.where(of_bearing, np.nan, places.azimuth_deg),
        "left_open_m": lambda: np.where(of_bearing, np.nan, places.left_open_m),
        "precision_met": lambda: pa.array(places.precision == Outcome.MET, mask=unknown),
    }


#: What a report has that is right, or that nobody can tell of.
_NOTHING = ("fault", "within_area", "outside_area_m", "on_sheet", "outside_sheet_m", "slip", "slip_chance")


class _Bearings:
    """The rows that report a bearing and hold it against a bearing from the same north."""

    def __init__(self, rows: Rows) -> None:
        reported, expected = (
            bearings_in(rows, _SCHEMA, name) for name in ("reported_bearing", "expected_bearing")
        )
        tolerance_deg, tolerances_fit = number_in(rows, _SCHEMA, "tolerance_deg")
        self.angles = angle_columns(rows, _SCHEMA)
        self.plain = self.angles.plain & reported.fit & expected.fit & tolerances_fit
        self.plain &= reported.given & expected.given & (reported.north >= 0) & ~np.isnan(tolerance_deg)
        self.plain &= dates_fit(rows, years_of(rows))
        self.expected_deg = expected.azimuth_deg % 360.0
        azimuth_deg = normalise_azimuth(reported.azimuth_deg)
        self.difference_deg: FloatArray = np.asarray(normalise_signed(azimuth_deg - self.expected_deg))
        miss_deg = np.abs(self.difference_deg)
        self.outcome: IntArray = outcomes(miss_deg, 0.0, np.nan_to_num(tolerance_deg), SLACK_DEG)
        # What is beyond the tolerance is looked at for its slip.
        self.plain &= self.outcome == Outcome.MET


def summary_of(columns: Mapping[str, pa.Array], good: BoolArray) -> CheckSummary:
    """The summary of the checks whose columns of `SUMMARISED` are given, of the rows that have an answer."""
    chosen = {name: columns[name].filter(pa.array(good)) for name in SUMMARISED}
    distance_m, difference_deg = (
        np.asarray(chosen[name].to_numpy(zero_copy_only=False), dtype=np.float64) for name in SUMMARISED[2:]
    )
    return summarise(chosen["verdict"].to_pylist(), chosen["slip"].to_pylist(), distance_m, difference_deg)


def _any(rows: Rows, names: Iterable[str]) -> BoolArray:
    """The rows that have any of these members, as a whole or by parts."""
    given = np.zeros(rows.count, dtype=np.bool_)
    for path in (*rows.columns, *rows.common):
        if path.partition(".")[0] in names:
            given |= rows.given(path)
    return given


def _coarsest_m(rows: Rows) -> tuple[FloatArray, BoolArray]:
    """The coarsest resolution that is fine enough, NaN where none is demanded; and which rows fit what is allowed."""
    resolution_m, fit = number_in(rows, _SCHEMA, "resolution_m")
    digits = rows.numbers("digits")
    fit &= np.isnan(digits) | ((digits >= 0) & (digits <= FINEST_DIGITS))
    sides = np.array([side_of_digits_m(each) for each in range(FINEST_DIGITS + 1)])
    side_m = np.where(
        np.isnan(digits), np.nan, sides[np.clip(np.nan_to_num(digits), 0, FINEST_DIGITS).astype(int)]
    )
    return np.fmin(resolution_m, side_m), fit


def _precision(resolution_m: FloatArray, coarsest_m: FloatArray) -> IntArray:
    """As `position_check` has it, `_NONE` where no precision is demanded."""
    outcome = np.where(resolution_m <= coarsest_m * (1.0 + 1e-9), Outcome.MET, Outcome.NOT_MET)
    outcome = np.where(np.isnan(resolution_m), Outcome.OPEN, outcome)
    return np.where(np.isnan(coarsest_m), _NONE, outcome)


def _left_open_m(places: PlaceColumns) -> FloatArray:
    """As `shape_check.left_open_m`; what is not a square was given by numbers, and leaves nothing open. [metre]"""
    least_scale = np.where(places.zone == 0, UPS_SCALE, UTM_SCALE)
    tolerance_m = np.nan_to_num(places.resolution_m) / np.sqrt(2.0)
    return np.asarray(tolerance_m * np.where(places.cut, 2.0, 1.0) / least_scale)


CHECKS = Columnar(
    members=(
        place_members("reported")
        | place_members("expected")
        | ANGLE_MEMBERS
        | {
            "tolerance_m",
            "digits",
            "resolution_m",
            "reported_bearing",
            "expected_bearing",
            "north",
            "unit",
            "tolerance_deg",
        }
    ),
    usual=(
        "verdict",
        "distance_m",
        "true_azimuth_deg",
        "difference_deg",
        "slip",
        "slip_in_doubt",
        "cautions",
    ),
    answer=answer,
)
