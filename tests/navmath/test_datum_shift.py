"""Shifts between datums: which operation is chosen, how sure it is, and the way back."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from threenorths_service.navmath.datums import datum_shift
from threenorths_service.navmath.datums.datum import WGS84, Datum, find_datum
from threenorths_service.navmath.datums.datum_pipeline import carried_over
from threenorths_service.navmath.datums.datum_shift import (
    BALLPARK_ACCURACY_M,
    from_wgs84,
    shifted_from_wgs84,
    shifted_to_wgs84,
    to_wgs84,
)
from threenorths_service.navmath.datums.datum_table import all_operations, operations_of
from threenorths_service.navmath.errors import BallparkShiftError, OutOfRangeError, OutsideDatumAreaError

WGS84_GEOD = Geod(ellps="WGS84")


def shifted(name: str, lat_deg: float, lon_deg: float) -> tuple[str, float]:
    """The operation chosen for a place, and how sure it is."""
    _, _, shift = shifted_to_wgs84(find_datum(name), lat_deg, lon_deg)
    return shift.operation, shift.accuracy_m


# Which operation

PLACES = {
    "NAD27 in Kansas, not Cuba's": ("NAD27", 38.5, -98.0, "NAD27 to WGS 84 (6) (EPSG:1175)"),
    "NAD27 in Cuba": ("NAD27", 21.5, -79.0, "NAD27 to WGS 84 (88) (EPSG:15978)"),
    "NAD27 in Alaska": ("NAD27", 64.8, -147.7, "NAD27 to WGS 84 (7) (EPSG:1176)"),
    "NAD27 in the Aleutians west of 180 degrees": ("NAD27", 52.8, 173.2, "NAD27 to WGS 84 (22) (EPSG:1250)"),
    "ED50 in Madrid, not Norway's": ("ED50", 40.4, -3.7, "ED50 to WGS 84 (28) (EPSG:1633)"),
    "ED50 in Galicia, not Portugal's": ("ED50", 42.05, -8.6, "ED50 to WGS 84 (29) (EPSG:1635)"),
    "ED50 on Mallorca": ("ED50", 39.6, 2.9, "ED50 to WGS 84 (27) (EPSG:1631)"),
    "ED50 in Norway, not the sea's": ("ED50", 69.6, 18.9, "ED50 to WGS 84 (7) (EPSG:1139)"),
    "ED50 on Svalbard": ("ED50", 78.2, 15.6, "ED50 to WGS 84 (23) (EPSG:1612)"),
    "OSGB36 in Scotland": ("OSGB36", 56.8, -5.0, "OSGB36 to WGS 84 (6) (EPSG:1314)"),
    "Tokyo in Japan": ("Tokyo", 35.6, 139.7, "Tokyo to WGS 84 (108) (EPSG:15484)"),
    "Tokyo in Korea": ("Tokyo", 36.5, 127.9, "Tokyo to WGS 84 (5) (EPSG:1305)"),
    "Pulkovo 1942 in Chukotka, past 180 degrees": (
        "Pulkovo 1942",
        65.0,
        -173.0,
        "Pulkovo 1942 to WGS 84 (20) (EPSG:5044)",
    ),
    "Indian 1975 without the one of doubtful sense": (
        "Indian 1975",
        13.7,
        100.5,
        "Indian 1975 to WGS 84 (2) (EPSG:1304)",
    ),
    "MGI 1901 in Kosovo without the one that is 1.6 km off": (
        "MGI 1901",
        42.66,
        21.17,
        "MGI 1901 to WGS 84 (15) (EPSG:9486)",
    ),
    "ED50 in London, not France's": ("ED50", 51.5, -0.12, "ED50 to WGS 84 (6) (EPSG:1138)"),
    "GDA2020": ("GDA2020", -35.3, 149.1, "GDA2020 to WGS 84 (2) (EPSG:8450)"),
    "MGI (Ferro), by the operations of MGI": (
        "MGI (Ferro)",
        47.3,
        11.4 + 17.6666667,
        "MGI to WGS 84 (3) (EPSG:1618)",
    ),
    "FD54, through ED50": ("FD54", 62.0, -7.0, "FD54 to ED50 (1) + ED50 to WGS 84 (1) (EPSG:15866+1133)"),
    "a realisation of WGS 84": ("WGS 84 (G1762)", 1.0, 2.0, "WGS 84 realisation taken as WGS 84"),
}


@pytest.mark.parametrize(("name", "lat_deg", "lon_deg", "operation"), PLACES.values(), ids=PLACES)
def test_the_operation_is_the_one_pinned_for_the_ground(
    name: str, lat_deg: float, lon_deg: float, operation: str
) -> None:
    assert shifted(name, lat_deg, lon_deg)[0] == operation


def test_the_first_operation_whose_box_holds_the_place_is_chosen_everywhere() -> None:
    random = np.random.default_rng(3)
    lat, lon = random.uniform(-90.0, 90.0, 2_000), random.uniform(-180.0, 180.0, 2_000)
    for code in all_operations():
        places = to_wgs84(find_datum(str(code)), lat, lon)
        expected = np.full(lat.shape, -1)
        for index, operation in reversed(list(enumerate(places.operations))):
            west, south, east, north = operation.box_deg
            across = (lon >= west) & (lon <= east) if west < east else (lon >= west) | (lon <= east)
            expected[across & (lat >= south) & (lat <= north)] = index
        np.testing.assert_array_equal(places.operation, expected)


def test_the_edge_of_an_area_belongs_to_it() -> None:
    datum = find_datum("Korean 1985")
    west, south, east, north = operations_of(datum.epsg).operations[0].box_deg
    assert (
        to_wgs84(datum, [south, north, south, north], [west, west, east, east]).operation.tolist() == [0] * 4
    )
    outside = to_wgs84(
        datum, [south - 1e-9, north + 1e-9, south, south], [west, west, west - 1e-9, east + 1e-9]
    )
    assert (outside.operation == -1).all()


# How sure


def test_where_operations_agree_the_accuracy_is_the_stated_one() -> None:
    assert shifted("ED50", 40.4, -3.7)[1] == 1.5


def test_where_another_operation_disagrees_by_more_than_it_may_the_accuracy_is_the_disagreement() -> None:
    # Lisbon: the one that claims 1 m differs by 13 m from the three others there, which agree with each other.
    operation, accuracy_m = shifted("ED50", 38.7, -9.1)
    assert operation == "ED50 to WGS 84 (34) (EPSG:1989)"
    assert 10.0 < accuracy_m < 16.0


def test_an_operation_that_disagrees_by_less_than_its_own_accuracy_says_nothing() -> None:
    # OSGB36 in Wales: four operations of 10 to 35 m differ from the one of 2 m by metres.
    assert shifted("OSGB36", 52.4, -3.8)[1] == 2.0


@given(st.floats(36.0, 70.0), st.floats(-9.5, 31.0))
@settings(max_examples=60, deadline=None)
def test_no_operation_there_contradicts_the_accuracy(lat_deg: float, lon_deg: float) -> None:
    datum = find_datum("ED50")
    table = operations_of(datum.epsg)
    try:
        lat, lon, shift = shifted_to_wgs84(datum, lat_deg, lon_deg)
    except OutsideDatumAreaError:
        return
    holds = table.bounds.holds(np.array([lat_deg]), np.array([lon_deg]))[:, 0]
    for index in np.flatnonzero(holds):
        operation = table.operations[index]
        other_lat, other_lon = carried_over(operation, np.array([lat_deg]), np.array([lon_deg]))
        apart_m = WGS84_GEOD.inv(lon, lat, other_lon[0], other_lat[0])[2]
        # The disagreement is taken in the middle of a quarter-degree cell: a metre of slack.
        assert apart_m <= max(operation.accuracy_m, shift.accuracy_m) + 1.0


# There and back

NAMES = [
    "NAD27",
    "ED50",
    "OSGB36",
    "Tokyo",
    "Pulkovo 1942",
    "NTF (Paris)",
    "SAD69",
    "Arc 1960",
    "WGS 72",
    "NZGD49",
]


@pytest.mark.parametrize("name", NAMES)
def test_a_place_comes_back_to_a_micrometre_except_where_areas_meet(name: str) -> None:
    datum = find_datum(name)
    random = np.random.default_rng(7)
    lat, lon = random.uniform(-89.0, 89.0, 60_000), random.uniform(-180.0, 180.0, 60_000)
    there = to_wgs84(datum, lat, lon)
    known = there.operation >= 0
    lat, lon = lat[known], lon[known]
    back = from_wgs84(datum, there.lat_deg[known], there.lon_deg[known])
    same = back.operation == there.operation[known]
    apart_m = np.array(WGS84_GEOD.inv(lon, lat, back.lon_deg, back.lat_deg)[2])
    assert apart_m[same].max() < 1e-6
    assert same.mean() > 0.999
    np.testing.assert_array_equal(back.accuracy_m[same], there.accuracy_m[known][same])


@pytest.mark.parametrize("name", NAMES)
def test_near_the_edges_of_areas_a_place_comes_back_as_nearly_as_the_operations_agree(name: str) -> None:
    datum = find_datum(name)
    random = np.random.default_rng(11)
    near_deg = 0.005 * random.uniform(-1.0, 1.0, (2, 400))
    for operation in operations_of(datum.epsg).operations:
        west, south, east, north = operation.box_deg
        width = east - west if east > west else east - west + 360.0
        along = random.uniform(0.0, 1.0, 400)
        edge_lat = np.where(
            along < 0.5, south + 2.0 * along * (north - south), random.choice([south, north], 400)
        )
        edge_lon = np.where(along < 0.5, random.choice([west, east], 400), west + (2.0 * along - 1.0) * width)
        lat, lon = np.clip(edge_lat + near_deg[0], -89.9, 89.9), edge_lon + near_deg[1]
        there = to_wgs84(datum, lat, lon)
        back = from_wgs84(datum, there.lat_deg[there.operation >= 0], there.lon_deg[there.operation >= 0])
        assert (back.operation >= 0).all()
        meridian_deg = datum.prime_meridian_deg
        again = to_wgs84(datum, back.lat_deg, back.lon_deg)
        first, then = there.operation[there.operation >= 0], back.operation
        apart_m = np.array(
            WGS84_GEOD.inv(
                lon[there.operation >= 0] + meridian_deg,
                lat[there.operation >= 0],
                back.lon_deg + meridian_deg,
                back.lat_deg,
            )[2]
        )
        assert apart_m[first == then].max(initial=0.0) < 1e-6
        # In the strip where they meet: by as much as two operations differ over the same ground.
        assert apart_m.max(initial=0.0) < 400.0
        settled = again.operation == back.operation
        assert settled.mean() > 0.9


def test_the_way_back_takes_the_operation_of_the_place_on_the_datum() -> None:
    # Tokyo's longitudes are some 250 m west of those of WGS 84 here, so the box ends elsewhere on WGS 84.
    datum = find_datum("Tokyo")
    east = next(o for o in operations_of(datum.epsg).operations if o.code == "1305").box_deg[2]
    lat, lon, shift = shifted_to_wgs84(datum, 36.5, east - 1e-4)
    assert lon < east - 1e-3
    assert shifted_from_wgs84(datum, lat, lon)[2].operation == shift.operation
    lat, lon, shift = shifted_to_wgs84(datum, 36.5, east + 1e-4)
    assert lon < east
    assert shift.operation != "Tokyo to WGS 84 (5) (EPSG:1305)"
    assert shifted_from_wgs84(datum, lat, lon)[2].operation in (
        shift.operation,
        "Tokyo to WGS 84 (5) (EPSG:1305)",
    )


# Edges of the globe


def test_an_area_across_the_antimeridian_holds_both_sides_of_it() -> None:
    datum = find_datum("Pulkovo 1942")
    places = to_wgs84(datum, [66.0, 66.0, 66.0, 66.0], [179.9999, 180.0, -180.0, -179.9999])
    assert (places.operation >= 0).all()
    assert ((places.lon_deg >= -180.0) & (places.lon_deg < 180.0)).all()
    assert places.lon_deg[1] == places.lon_deg[2]
    assert abs(abs(places.lon_deg) - 180.0).max() < 0.01


def test_a_place_on_the_antimeridian_comes_back_on_a_datum_of_the_whole_world() -> None:
    datum = find_datum("WGS 72")
    lat, lon = np.linspace(-60.0, 60.0, 41), 180.0 - 0.554 / 3600.0 + np.linspace(-1e-11, 1e-11, 41)
    there = to_wgs84(datum, lat, lon)
    back = from_wgs84(datum, there.lat_deg, there.lon_deg)
    assert (there.operation == 0).all()
    assert (back.operation == 0).all()
    np.testing.assert_allclose(back.lon_deg, lon, rtol=0.0, atol=1e-11)
    at_zero = from_wgs84(datum, lat, -180.0 + 0.554 / 3600.0 + np.linspace(-1e-11, 1e-11, 41))
    assert (at_zero.operation == 0).all()
    assert ((at_zero.lon_deg >= -180.0) & (at_zero.lon_deg < 180.0)).all()


@pytest.mark.parametrize("lat_deg", [90.0, -90.0, 89.99999, -89.95])
def test_the_poles_are_places_like_others(lat_deg: float) -> None:
    datum = find_datum("WGS 72")
    lat, lon, _ = shifted_to_wgs84(datum, lat_deg, 10.0)
    assert abs(lat) <= 90.0
    back_lat, back_lon, _ = shifted_from_wgs84(datum, lat, lon)
    assert WGS84_GEOD.inv(10.0, lat_deg, back_lon, back_lat)[2] < 0.01


def test_longitudes_count_from_the_prime_meridian_of_the_datum() -> None:
    paris, greenwich = find_datum("NTF (Paris)"), find_datum("NTF")
    assert paris.prime_meridian_deg == pytest.approx(2.33722917)
    lat, lon, shift = shifted_to_wgs84(paris, 48.85, 0.0)
    expected = shifted_to_wgs84(greenwich, 48.85, paris.prime_meridian_deg)
    assert (lat, lon) == pytest.approx(expected[:2], abs=1e-12)
    assert shift.lon_deg == 0.0
    assert shifted_from_wgs84(paris, lat, lon)[1] == pytest.approx(0.0, abs=1e-12)


def test_longitudes_stay_in_range_on_a_datum_of_another_prime_meridian() -> None:
    invented = Datum("invented", WGS84.epsg, WGS84.ellipsoid, prime_meridian_deg=20.0)
    assert from_wgs84(invented, [0.0, 0.0], [-170.0, 170.0]).lon_deg.tolist() == [170.0, 150.0]
    assert to_wgs84(invented, [0.0, 0.0], [170.0, 150.0]).lon_deg.tolist() == [-170.0, 170.0]


def test_places_of_wgs84_stay_where_they_are() -> None:
    places = to_wgs84(WGS84, [0.0, 90.0, -45.5], [0.0, 0.0, 190.0])
    assert places.lat_deg.tolist() == [0.0, 90.0, -45.5]
    assert places.lon_deg.tolist() == [0.0, 0.0, -170.0]


# Refusals


def test_a_place_outside_every_area_is_refused_with_the_areas() -> None:
    with pytest.raises(OutsideDatumAreaError) as raised:
        shifted_to_wgs84(find_datum("OSGB36"), 40.0, -3.0, allow_ballpark=True)
    assert "UK - Great Britain" in str(raised.value.allowed)
    with pytest.raises(OutsideDatumAreaError):
        shifted_from_wgs84(find_datum("OSGB36"), 40.0, -3.0)


def test_a_datum_without_operation_is_refused_unless_ballpark_is_allowed() -> None:
    datum = find_datum("Voirol 1879 (Paris)")
    with pytest.raises(BallparkShiftError, match="Voirol 1879"):
        shifted_to_wgs84(datum, 36.0, 1.0)
    lat, lon, shift = shifted_to_wgs84(datum, 36.0, 1.0, allow_ballpark=True)
    assert (lat, lon) == pytest.approx((36.0, 1.0 + datum.prime_meridian_deg))
    assert (shift.ballpark, shift.accuracy_m) == (True, BALLPARK_ACCURACY_M)
    assert (shift.lat_deg, shift.lon_deg) == (36.0, 1.0)
    lat, lon, shift = shifted_from_wgs84(datum, 36.0, lon, allow_ballpark=True)
    assert (lat, lon) == pytest.approx((36.0, 1.0))
    assert (shift.lat_deg, shift.lon_deg) == (lat, lon)


def test_a_datum_that_needs_a_grid_says_which() -> None:
    with pytest.raises(BallparkShiftError, match="without a shift grid") as raised:
        shifted_to_wgs84(find_datum("NAD27(76)"), 45.0, -79.0)
    assert "PROJ_DATA" in str(raised.value.allowed)
    assert "MAY76" in str(raised.value.allowed).upper()


def test_rows_that_no_area_holds_are_nan_and_say_so() -> None:
    places = to_wgs84(find_datum("OSGB36"), [52.0, 40.0], [-1.0, -3.0])
    assert places.operation.tolist()[1] == -1
    assert np.isnan([places.lat_deg[1], places.lon_deg[1], places.accuracy_m[1]]).all()
    assert np.isfinite([places.lat_deg[0], places.lon_deg[0], places.accuracy_m[0]]).all()


@pytest.mark.parametrize(
    ("lat", "lon"), [(91.0, 0.0), (np.nan, 0.0), (0.0, np.nan), (0.0, np.inf), (0.0, 361.0)]
)
@pytest.mark.parametrize("carry", [to_wgs84, from_wgs84])
def test_what_is_no_place_is_a_named_error(carry: object, lat: float, lon: float) -> None:
    with pytest.raises(OutOfRangeError):
        carry(find_datum("ED50"), [40.0, lat], [3.0, lon])  # type: ignore[operator]


# Rows and threads


def test_one_row_is_a_batch_of_one_and_blocks_leave_no_seam(monkeypatch: pytest.MonkeyPatch) -> None:
    datum = find_datum("ED50")
    lat, lon = np.linspace(36.0, 60.0, 101), np.linspace(-9.0, 20.0, 101)
    whole = to_wgs84(datum, lat, lon)
    monkeypatch.setattr(datum_shift, "BLOCK_ROWS", 7)
    for name in ("lat_deg", "lon_deg", "operation", "accuracy_m"):
        np.testing.assert_array_equal(getattr(to_wgs84(datum, lat, lon), name), getattr(whole, name))
    for row in range(0, 101, 9):
        one = to_wgs84(datum, lat[row], lon[row])
        assert (one.lat_deg, one.lon_deg, one.operation, one.accuracy_m) == (
            whole.lat_deg[row],
            whole.lon_deg[row],
            whole.operation[row],
            whole.accuracy_m[row],
        )


def test_shapes_broadcast_and_no_rows_are_no_rows() -> None:
    places = to_wgs84(find_datum("ED50"), np.full((2, 1), 45.0), np.array([1.0, 2.0, 3.0]))
    assert places.lat_deg.shape == places.operation.shape == places.accuracy_m.shape == (2, 3)
    assert to_wgs84(find_datum("ED50"), [], []).lat_deg.shape == (0,)


def test_threads_get_what_one_thread_gets() -> None:
    datums: list[Datum] = [find_datum(name) for name in NAMES]
    random = np.random.default_rng(5)
    lat, lon = random.uniform(-80.0, 80.0, 500), random.uniform(-180.0, 180.0, 500)
    alone = [to_wgs84(datum, lat, lon) for datum in datums]
    with ThreadPoolExecutor(8) as pool:
        jobs = [(index, pool.submit(to_wgs84, datums[index], lat, lon)) for index in [*range(10)] * 20]
        for index, job in jobs:
            np.testing.assert_array_equal(job.result().lat_deg, alone[index].lat_deg)
            np.testing.assert_array_equal(job.result().lon_deg, alone[index].lon_deg)
