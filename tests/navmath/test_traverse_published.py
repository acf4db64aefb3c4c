"""Published traverses by the compass rule. They are on a plane: here on the grid, astride a central meridian.

There the scale is 0.9996, growing by ``E^2 / (2 R^2)`` away from it: over the largest of them, which reaches 1.7 km to the
side, by 4e-8, which is 0.04 mm in its longest leg. Feet are taken for metres.
"""

import math

import pytest

from published import rows
from threenorths_service.navmath.grids.grid import from_grid, to_grid
from threenorths_service.navmath.lines.leg import Leg
from threenorths_service.navmath.lines.reckoning import reckon
from threenorths_service.navmath.lines.traverse import close

ZONE, SCALE, START = 33, 0.9996, (500_000.0, 7_000_000.0)
TABLE = rows("traverse_examples")
EXAMPLES = sorted({row["example"] for row in TABLE})
PLANE_M = 1e-4

#: Half the last digit of each printed part, raw and adjusted, and what rounded corrections add: see the column `digits`.
PARTS_TOLERANCE = {
    "mahun-loop": (0.0005, 0.001),
    "mahun-link": (0.0005, 0.001),
    "purdue-loop": (0.005, 0.02),
    "slides-loop": (0.0005, 0.0011),
    "coarse-loop": (0.00005, 0.0001),
}


def quadrant(text):
    """Degrees clockwise of a bearing such as `S 68 05 27.4 W`."""
    first, *numbers, last = text.split()
    angle = sum(float(number) / 60**place for place, number in enumerate(numbers))
    if first == "S":
        angle = 180.0 - angle
    return angle if last == "E" else 360.0 - angle


def place(east_m, north_m):
    lat, lon = from_grid(ZONE, False, START[0] + east_m, START[1] + north_m)
    return float(lat), float(lon)


def legs_of(example):
    return [row for row in TABLE if row["example"] == example and row["line"] != "sums"]


def closed(example):
    """The example's traverse, reckoned and closed on where its adjusted sums say that it ends."""
    (sums,) = (row for row in TABLE if row["example"] == example and row["line"] == "sums")
    legs = [
        Leg(quadrant(row["bearing"]), float(row["length"]) / SCALE, north="grid") for row in legs_of(example)
    ]
    reckoning = reckon(*place(0.0, 0.0), legs, zone=ZONE, south=False)
    end = place(float(sums["adjusted_departure"]), float(sums["adjusted_latitude"]))
    return sums, reckoning, close(reckoning, *end)


def parts(lat_deg, lon_deg):
    """Latitudes and departures of the legs between places: what they go north and east on the grid. [metre]"""
    grid = to_grid(lat_deg, lon_deg, ZONE, False)
    return [
        [grid.northing_m[leg + 1] - grid.northing_m[leg], grid.easting_m[leg + 1] - grid.easting_m[leg]]
        for leg in range(len(lat_deg) - 1)
    ]


@pytest.mark.parametrize("example", EXAMPLES)
def test_latitudes_and_departures_before_and_after_the_compass_rule(example):
    _sums, reckoning, closure = closed(example)
    raw_tolerance, adjusted_tolerance = PARTS_TOLERANCE[example]
    raw = parts(reckoning.walk.lat_deg, reckoning.walk.lon_deg)
    adjusted = parts(closure.adjusted.lat_deg, closure.adjusted.lon_deg)
    for row, before, after in zip(legs_of(example), raw, adjusted, strict=True):
        for index, part in enumerate(("latitude", "departure")):
            assert before[index] == pytest.approx(float(row[part]), abs=raw_tolerance + PLANE_M)
            if row[f"adjusted_{part}"]:
                expected = float(row[f"adjusted_{part}"])
                assert after[index] == pytest.approx(expected, abs=adjusted_tolerance + PLANE_M)


@pytest.mark.parametrize("example", EXAMPLES)
def test_the_misclosure_and_its_ratio(example):
    sums, reckoning, closure = closed(example)
    length_m, missed = reckoning.walked_m[-1] * SCALE, closure.misclosure
    assert length_m == pytest.approx(float(sums["length"]), abs=1e-6)
    raw_tolerance, _ = PARTS_TOLERANCE[example]
    # Each part is a sum of so many rounded numbers.
    tolerance = raw_tolerance * (len(reckoning.legs) + 1) + PLANE_M
    north_m = float(sums["latitude"]) - float(sums["adjusted_latitude"])
    east_m = float(sums["departure"]) - float(sums["adjusted_departure"])
    assert missed.north_m * SCALE == pytest.approx(north_m, abs=tolerance)
    assert missed.east_m * SCALE == pytest.approx(east_m, abs=tolerance)
    linear_m = math.hypot(north_m, east_m)
    assert missed.one_in == pytest.approx(length_m / linear_m, rel=2.0 * tolerance / linear_m)
    assert closure.loop is (example != "mahun-link")


def test_the_printed_linear_misclosures():
    # Purdue: 0.89 in 2466.05, 1/2771 from the rounded parts. Row coarse-loop: 24.6876, one in 200 as printed.
    _sums, _reckoning, closure = closed("purdue-loop")
    assert closure.misclosure.distance_m * SCALE == pytest.approx(0.89, abs=0.03)
    assert closure.misclosure.one_in == pytest.approx(2771, rel=0.03)
    _sums, _reckoning, closure = closed("coarse-loop")
    assert closure.misclosure.distance_m * SCALE == pytest.approx(24.6876, abs=1e-4)
    assert round(closure.misclosure.one_in, -2) == 200


@pytest.mark.parametrize(
    ("example", "length_tolerance_m", "bearing_tolerance_s"),
    # Mahun's are worked from parts rounded to 0.001: over 216 ft that is 0.7 seconds, beside half of 0.1.
    [("mahun-loop", 0.0011, 0.75), ("coarse-loop", 0.0002, 0.04)],
)
def test_adjusted_lengths_and_bearings(example, length_tolerance_m, bearing_tolerance_s):
    _sums, _reckoning, closure = closed(example)
    for index, row in enumerate(legs_of(example)):
        printed_m = float(row["adjusted_length"])
        if "slip of the source" in row["digits"]:
            assert printed_m == 276.479
            printed_m = math.hypot(float(row["adjusted_latitude"]), float(row["adjusted_departure"]))
        length_m = closure.legs.grid_distance_m[index]
        assert length_m == pytest.approx(printed_m, abs=length_tolerance_m)
        bearing_deg = closure.corrected_bearing_deg[index]
        assert bearing_deg == pytest.approx(
            quadrant(row["adjusted_bearing"]), abs=bearing_tolerance_s / 3600.0
        )


def test_the_adjusted_coordinates_of_the_purdue_example():
    # Y and X of A, at 10000 each, to E as printed, each the sum of parts to 0.01.
    printed = [(10255.96, 10125.66), (10102.44, 10716.31), (9408.37, 10523.62), (9611.34, 10517.55)]
    _sums, _reckoning, closure = closed("purdue-loop")
    grid = to_grid(closure.adjusted.lat_deg, closure.adjusted.lon_deg, ZONE, False)
    for index, (north, east) in enumerate(printed, start=1):
        assert grid.northing_m[index] - START[1] + 10000.0 == pytest.approx(north, abs=0.01 * index + 0.005)
        assert grid.easting_m[index] - START[0] + 10000.0 == pytest.approx(east, abs=0.01 * index + 0.005)
