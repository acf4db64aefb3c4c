"""Observations as columns, checked, with their known places laid on one plane."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_azimuth, normalise_longitude
from ..cautions import observation_name
from ..errors import CoincidentPointsError, OutsideGridError
from ..grids.grid import within_reach
from ..lines.geodesic import COINCIDENT_M, direct, inverse
from ..rows import BoolArray, IntArray
from ..sights.sight import angle_from_true_north
from .line_stood_on import Stretches, stretches_of
from .observation import (
    AngleBetween,
    BearingFrom,
    BearingTo,
    DistanceTo,
    LineStoodOn,
    Observation,
    check_observation,
)
from .search_plane import ComplexArray, SearchPlane

__all__ = ["NO_PERIOD", "ObservationTable", "table_of_observations"]

#: A length does not come round again, however long.
NO_PERIOD = 1e30

#: Grid of bearings read at the unknown place: the north, the zone and the hemisphere.
North = tuple[str, int | None, bool | None]


@dataclass(frozen=True, slots=True)
class ObservationTable:
    """Checked observations, n of them, tied to m known places.

    ``reading`` in degrees or metres, shape (n,), or (k, n) where k sets of readings are fitted at once: bearings read at
    known places are from true north. ``sd`` likewise.
    ``circle``, after which a reading comes round again, and ``period`` the same where bearings are taken for lines that run
    both ways. ``lat_deg``, ``lon_deg``, ``place_sd_m``, ``point`` and ``turn_deg``
    (see `SearchPlane.project`) of the known places, shape (m,): first one of each observation in order, then the second ones
    of ``angle`` and ``line``. The places of lines are their stretches' ends, which the evaluation puts in. ``to``, ``frm``,
    ``distance``, ``angle`` and ``line`` are the rows of each kind; ``right`` and ``end`` the columns of the second places of
    the last two. ``norths`` holds the norths of bearings read at the unknown place, with their rows.
    """

    observations: tuple[Observation, ...]
    reading: FloatArray
    sd: FloatArray
    circle: FloatArray
    period: FloatArray
    lat_deg: FloatArray
    lon_deg: FloatArray
    place_sd_m: FloatArray
    plane: SearchPlane
    point: ComplexArray
    turn_deg: FloatArray
    to: IntArray
    frm: IntArray
    distance: IntArray
    angle: IntArray
    line: IntArray
    right: IntArray
    end: IntArray
    lines: tuple[Stretches, ...]
    norths: tuple[tuple[North, IntArray], ...]
    same_compass: BoolArray

    @property
    def count(self) -> int:
        """How many observations there are."""
        return int(self.reading.shape[-1])


def table_of_observations(
    observations: Sequence[Observation], decimal_year: float | None, solve_compass_error: bool
) -> ObservationTable:
    """The observations as columns.

    Raises
    ------
    OutOfRangeError, OutsideGridError, DateMissingError, CoincidentPointsError
        A number is out of its range; a known place is beyond the grid of its bearing; a magnetic bearing has no date; an
        angle's two marks, or all places of a line, are the same.
    """
    for index, observation in enumerate(observations):
        check_observation(observation, f"observations/{index}")
    rows: dict[type, IntArray] = {
        kind: np.flatnonzero([isinstance(each, kind) for each in observations])
        for kind in (BearingTo, BearingFrom, DistanceTo, AngleBetween, LineStoodOn)
    }
    lat, lon, place_sd = _known_places(observations, rows)
    count, angles = len(observations), len(rows[AngleBetween])
    right = count + np.arange(angles)
    end = count + angles + np.arange(len(rows[LineStoodOn]))
    _check_angles(rows[AngleBetween], right, lat, lon)
    fixed = np.setdiff1d(np.arange(len(lat)), np.concatenate((rows[LineStoodOn], end)))
    plane = _plane_about(lat, lon, fixed if fixed.size else np.arange(len(lat)))
    point, turn = plane.project(lat, lon)
    reading, sd = np.array([_reading(each) for each in observations], dtype=np.float64).T
    reading[rows[BearingFrom]] += _norths_at_known_places(observations, rows[BearingFrom], decimal_year)
    bearing = np.concatenate((rows[BearingTo], rows[BearingFrom]))
    circle = np.full(count, NO_PERIOD)
    circle[np.concatenate((bearing, rows[AngleBetween]))] = 360.0
    period = circle.copy()
    period[bearing] = 180.0
    shared = [solve_compass_error and getattr(each, "same_compass", False) for each in observations]
    return ObservationTable(
        observations=tuple(observations),
        reading=reading,
        sd=sd,
        circle=circle,
        period=period,
        lat_deg=lat,
        lon_deg=lon,
        place_sd_m=place_sd,
        plane=plane,
        point=point,
        turn_deg=turn,
        to=rows[BearingTo],
        frm=rows[BearingFrom],
        distance=rows[DistanceTo],
        angle=rows[AngleBetween],
        line=rows[LineStoodOn],
        right=right,
        end=end,
        lines=tuple(
            stretches_of(each, plane, f"observations/{row}")
            for row, each in enumerate(observations)
            if isinstance(each, LineStoodOn)
        ),
        norths=_norths_of(observations, rows[BearingTo]),
        same_compass=np.array(shared, dtype=np.bool_),
    )


def _known_places(
    observations: Sequence[Observation], rows: dict[type, IntArray]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Latitude, longitude and standard deviation of the known places, shape (m,): first ones, then second ones."""
    places = [_place(each) for each in observations]
    second = np.concatenate((rows[AngleBetween], rows[LineStoodOn]))
    places += [_second_place(observations[row]) for row in second.tolist()]
    lat, lon, place_sd = np.array(places, dtype=np.float64).T
    return lat, normalise_longitude(lon), place_sd


def _place(observation: Observation) -> tuple[float, float, float]:
    """Latitude, longitude and standard deviation of the known place, or of the first of two."""
    if isinstance(observation, AngleBetween):
        return observation.left_lat_deg, observation.left_lon_deg, observation.left_sd_m
    if isinstance(observation, LineStoodOn):
        return observation.lat_deg[0], observation.lon_deg[0], 0.0
    return observation.lat_deg, observation.lon_deg, observation.place_sd_m


def _second_place(observation: Observation) -> tuple[float, float, float]:
    if isinstance(observation, AngleBetween):
        return observation.right_lat_deg, observation.right_lon_deg, observation.right_sd_m
    assert isinstance(observation, LineStoodOn)  # noqa: S101 - only these two have a second place
    return observation.lat_deg[-1], observation.lon_deg[-1], 0.0


def _reading(observation: Observation) -> tuple[float, float]:
    """What was read, and its standard deviation."""
    if isinstance(observation, DistanceTo):
        return observation.distance_m, observation.sd_m
    if isinstance(observation, AngleBetween):
        return float(normalise_azimuth(observation.angle_deg)), observation.sd_deg
    if isinstance(observation, LineStoodOn):
        return 0.0, observation.sd_m
    return float(normalise_azimuth(observation.bearing_deg)), observation.sd_deg


def _check_angles(rows: IntArray, right: IntArray, lat: FloatArray, lon: FloatArray) -> None:
    apart = inverse(lat[rows], lon[rows], lat[right], lon[right])[2]
    for row, distance in zip(rows.tolist(), apart.tolist(), strict=True):
        if distance < COINCIDENT_M:
            raise CoincidentPointsError(
                f"the two marks of {observation_name(row)} are the same place, and the angle between them says nothing",
                member=f"observations/{row}",
                allowed=f"two marks at least {COINCIDENT_M} m apart",
                details={"observations": [row]},
            )


def _plane_about(lat: FloatArray, lon: FloatArray, chosen: IntArray) -> SearchPlane:
    """The plane about the middle of the chosen places."""
    first = SearchPlane(float(lat[chosen[0]]), float(lon[chosen[0]]))
    middle = np.mean(first.project(lat[chosen], lon[chosen])[0])
    middle_lat, middle_lon, _back = direct(
        first.lat_deg, first.lon_deg, float(np.degrees(np.angle(middle))), float(np.abs(middle))
    )
    return SearchPlane(float(middle_lat), float(middle_lon))


def _norths_of(observations: Sequence[Observation], rows: IntArray) -> tuple[tuple[North, IntArray], ...]:
    """The norths other than true ones of bearings read at the unknown place, and the rows of each."""
    found: dict[North, list[int]] = {}
    for row in rows.tolist():
        each = observations[row]
        assert isinstance(each, BearingTo)  # noqa: S101 - the rows are of these
        if each.north != "true":
            named = each.north == "grid" and each.zone is not None
            north = (each.north, each.zone, each.south) if named else (each.north, None, None)
            found.setdefault(north, []).append(row)
    return tuple((north, np.array(group)) for north, group in found.items())


def _norths_at_known_places(
    observations: Sequence[Observation], rows: IntArray, decimal_year: float | None
) -> FloatArray:
    """The angle from true north to the north of each bearing read at a known place. [degree]"""
    turns = np.zeros(len(rows))
    groups: dict[North, list[int]] = {}
    for index, row in enumerate(rows.tolist()):
        each = observations[row]
        assert isinstance(each, BearingFrom)  # noqa: S101 - the rows are of these
        if each.north != "true":
            groups.setdefault((each.north, each.zone, each.south), []).append(index)
    for (north, zone, south), group in groups.items():
        places = [observations[row] for row in rows[group]]
        lat = np.array([each.lat_deg for each in places])
        lon = normalise_longitude([each.lon_deg for each in places])
        if north == "grid" and zone is not None:
            _check_reach(lat, lon, zone, south, rows[group])
        turns[group] = angle_from_true_north(north, lat, lon, decimal_year, zone, south)
    return turns


def _check_reach(lat: FloatArray, lon: FloatArray, zone: int, south: bool | None, rows: IntArray) -> None:
    hemisphere = lat < 0.0 if south is None else south
    beyond = np.flatnonzero(~np.atleast_1d(within_reach(lat, lon, zone, hemisphere)))
    if beyond.size:
        row = int(rows[beyond[0]])
        raise OutsideGridError(
            f"the place of {observation_name(row)} is beyond the reach of the grid that its bearing is said to be from",
            member=f"observations/{row}",
            value=zone,
            allowed="the grid that the bearing was read on",
        )
