"""Shifts between datums against published worked examples, and against places published on both datums."""

from __future__ import annotations

import pytest
from pyproj import Geod

from published import rows
from threenorths_service.navmath.datums.datum import find_datum
from threenorths_service.navmath.datums.datum_shift import shifted_from_wgs84, shifted_to_wgs84

EXAMPLES = rows("datum_examples")
WGS84_GEOD = Geod(ellps="WGS84")
#: An operation's accuracy is a representative figure, not a bound: places twice as far off are found.
PLACE_FACTOR = 2.0


def degrees(text: str) -> float:
    whole, minutes, seconds, hemisphere = text.split()
    angle_deg = int(whole) + int(minutes) / 60.0 + float(seconds) / 3600.0
    return -angle_deg if hemisphere in "SW" else angle_deg


def missed_m(row: dict[str, str]) -> tuple[float, str, float]:
    """How far the shift ends from the published place, by which operation, and how sure it says it is."""
    on_datum = degrees(row["lat"]), degrees(row["lon"])
    on_wgs84 = degrees(row["wgs84_lat"]), degrees(row["wgs84_lon"])
    shifted, start, end = (
        (shifted_to_wgs84, on_datum, on_wgs84)
        if row["way"] == "to"
        else (shifted_from_wgs84, on_wgs84, on_datum)
    )
    lat_deg, lon_deg, shift = shifted(find_datum(row["datum"]), *start)
    distance_m = WGS84_GEOD.inv(lon_deg, lat_deg, end[1], end[0])[2]
    return float(distance_m), shift.operation, shift.accuracy_m


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["id"])
def test_the_operation_that_the_source_names_is_the_one_chosen(row: dict[str, str]) -> None:
    assert missed_m(row)[1].endswith(f"(EPSG:{row['operation']})")


@pytest.mark.parametrize("row", [r for r in EXAMPLES if r["kind"] == "worked"], ids=lambda row: row["id"])
def test_worked_examples_come_out(row: dict[str, str]) -> None:
    assert missed_m(row)[0] <= float(row["tolerance_m"])


@pytest.mark.parametrize("row", [r for r in EXAMPLES if r["kind"] == "place"], ids=lambda row: row["id"])
def test_places_published_on_both_datums_are_met_as_nearly_as_is_said(row: dict[str, str]) -> None:
    distance_m, _, accuracy_m = missed_m(row)
    assert distance_m <= PLACE_FACTOR * accuracy_m
