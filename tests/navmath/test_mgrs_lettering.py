"""The two letterings of the 100 km squares, and grid references on old ellipsoids."""

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.errors import SquareNotInZoneError
from threenorths_service.navmath.grids.ellipsoid import WGS84_ELLIPSOID, Ellipsoid
from threenorths_service.navmath.grids.grid import band_of, to_grid, zone_of
from threenorths_service.navmath.grids.zones import BANDS
from threenorths_service.navmath.references.mgrs import (
    MgrsStatus,
    lettering_of,
    read_mgrs,
    read_mgrs_text,
    square_corners,
    write_mgrs,
    write_mgrs_from_grid,
)


def ellipsoid_of(geographic_code):
    """The ellipsoid of a geographic coordinate reference system of the EPSG dataset."""
    figure = pyproj.CRS(geographic_code).ellipsoid
    return Ellipsoid(figure.name, figure.semi_major_metre, figure.inverse_flattening)


# By the EPSG codes of datums that stand on them: NAD27, Tokyo, Adindan, Arc 1950, NTF, Schwarzeck; ED50, Pulkovo 1942,
# OSGB36, GDA94.
AL = {code: ellipsoid_of(code) for code in (4267, 4301, 4201, 4209, 4275, 4293)}
AA = {code: ellipsoid_of(code) for code in (4230, 4284, 4277, 4283, 4326)}
EVERY = AL | AA
CLARKE_1866, BESSEL_1841, CLARKE_1880 = AL[4267], AL[4301], AL[4201]
PUBLISHED = {row["id"]: row for row in rows("mgrs_examples")}


def named(ellipsoids):
    return pytest.mark.parametrize(
        "ellipsoid", ellipsoids.values(), ids=[figure.name for figure in ellipsoids.values()]
    )


@named(AL)
def test_the_published_rows_of_the_old_lettering(ellipsoid):
    assert lettering_of(ellipsoid) == "AL"
    for zone, row in ((31, "lettering-AL-odd"), (32, "lettering-AL-even")):
        written = write_mgrs_from_grid(zone, "N", 500_000.0, 0.0, 0, ellipsoid=ellipsoid)
        assert written[-1] == PUBLISHED[row]["expected"]


@named(AA)
def test_the_published_rows_of_the_lettering_in_use(ellipsoid):
    assert lettering_of(ellipsoid) == "AA"
    for zone, row in ((31, "lettering-AA-odd"), (32, "lettering-AA-even")):
        written = write_mgrs_from_grid(zone, "N", 500_000.0, 0.0, 0, ellipsoid=ellipsoid)
        assert written[-1] == PUBLISHED[row]["expected"]


def test_the_letterings_are_named_for_the_first_square_of_zone_1():
    for ellipsoid, name in ((WGS84_ELLIPSOID, "AA"), (CLARKE_1866, "AL")):
        assert write_mgrs_from_grid(1, "N", 199_999.0, 0.0, 0, ellipsoid=ellipsoid) == "01N" + name


def test_the_columns_are_the_same_in_both_letterings():
    for zone, row in ((31, "lettering-cols-1"), (32, "lettering-cols-2")):
        first, last = PUBLISHED[row]["expected"].split("-")
        eastings_m = np.arange(100_000.0, 900_000.0, 100_000.0)
        columns = write_mgrs_from_grid(zone, "N", eastings_m, 0.0, 0, ellipsoid=CLARKE_1866)
        assert (columns[0][3], columns[-1][3]) == (first, last)


# Row FM3-25.26-4-6: a reference printed in the handbook for a sheet on NAD 27. Its place is from memory, to a tenth of a
# degree: half of that, and the square's own 1 km.
def test_a_published_reference_of_a_sheet_on_an_old_datum():
    row = PUBLISHED["FM3-25.26-4-6"]
    square = read_mgrs_text(row["expected"], ellipsoid=CLARKE_1866)
    assert (square.easting_m, square.northing_m) == (float(row["easting_m"]), float(row["northing_m"]))
    assert square.lat_deg == pytest.approx(float(row["lat_deg"]), abs=0.06)
    assert square.lon_deg == pytest.approx(float(row["lon_deg"]), abs=0.06)
    with pytest.raises(SquareNotInZoneError):
        read_mgrs_text(row["expected"])
    # As the note of the row has it.
    place = int(row["zone"]), row["band"], square.easting_m, square.northing_m
    assert write_mgrs_from_grid(*place, 2) == "16SGA0182"


# By hand. Zone 15 is odd and its columns begin with S: 483 km is in the fourth, V. The row is the 43rd from the equator;
# 20 letters make a round, so it is the third after A, D, or in AL the third after L, P. Zone 36 is even and its columns
# begin with S too: 712 km is in the seventh, Y. 9856 km is 98 rows from 0, 18 after four rounds: A to V without I and O
# from F (AA) or R (AL), the eighteenth after which is D or P.
BY_HAND = {
    "north-of-the-equator": (15, "S", 483_456.7, 4_312_345.6, "15SVD8345612345", "15SVP8345612345"),
    "south-of-the-equator": (36, "M", 712_345.0, 9_856_789.0, "36MYD1234556789", "36MYP1234556789"),
}


@pytest.mark.parametrize("case", BY_HAND.values(), ids=BY_HAND.keys())
@pytest.mark.parametrize("ellipsoid", [CLARKE_1866, BESSEL_1841, CLARKE_1880], ids=lambda it: it.name)
def test_references_by_hand(case, ellipsoid):
    *place, on_wgs84, on_old = case
    assert write_mgrs_from_grid(*place) == on_wgs84
    assert write_mgrs_from_grid(*place, ellipsoid=ellipsoid) == on_old
    square = read_mgrs_text(on_old, ellipsoid=ellipsoid)
    assert (square.easting_m, square.northing_m) == (np.floor(place[2]), np.floor(place[3]))


def test_every_figure_of_clarke_1866_1880_and_bessel_in_the_registry_has_the_old_lettering():
    table = pyproj.list.get_ellps_map()
    assert (
        "clrk66" in table
    )  # the library's short names are not what is asked; its CRSs have the registry's names
    names = {
        pyproj.CRS(int(info.code)).ellipsoid.name
        for info in pyproj.database.query_crs_info("EPSG", "GEOGRAPHIC_2D_CRS")
    }
    old = {name for name in names if lettering_of(Ellipsoid(name, 6.378e6, 298.0)) == "AL"}
    like_old = {name for name in names if name.startswith(("Clarke 1866", "Clarke 1880", "Bessel"))}
    # A sphere, a figure for one state's plane grid, and Norway's own, on none of which there are military sheets (from
    # memory).
    others = {"Clarke 1866 Authalic Sphere", "Clarke 1866 Michigan", "Bessel Modified"}
    assert old == like_old - others
    assert {"Clarke 1866", "Clarke 1880 (RGS)", "Bessel 1841"} <= old


# Band X is over 1000 km high: there the letters of one lettering may name a square in the other too, 1000 km off.
# Everywhere else they are refused.
def test_a_reference_of_the_one_lettering_is_refused_in_the_other():
    lat_deg, lon_deg = np.meshgrid(np.linspace(-79.9, 71.9, 300), np.linspace(-180.0, 179.9, 300))
    for one, other in ((WGS84_ELLIPSOID, CLARKE_1866), (CLARKE_1866, WGS84_ELLIPSOID)):
        squares = read_mgrs(write_mgrs(lat_deg, lon_deg, ellipsoid=one), ellipsoid=other)
        assert set(squares.status.ravel()) == {MgrsStatus.SQUARE_NOT_IN_ZONE}


def test_the_error_says_which_lettering_was_read():
    with pytest.raises(SquareNotInZoneError, match="holds no square VD 1234 in the lettering AL"):
        read_mgrs_text("15SVD1234", ellipsoid=CLARKE_1866)
    with pytest.raises(SquareNotInZoneError, match=r"holds no square VP 1234$"):
        read_mgrs_text("15SVP1234")


def test_ups_has_one_lettering():
    lat_deg, lon_deg = np.meshgrid([84.5, 88.0, 90.0, -80.5, -85.0, -90.0], np.arange(-180.0, 180.0, 17.0))
    on_wgs84, on_old = (
        write_mgrs(lat_deg, lon_deg, 0, ellipsoid=figure) for figure in (WGS84_ELLIPSOID, CLARKE_1866)
    )
    # Some places are near the edge of a square, which the other figure puts on the other side.
    assert np.mean(on_wgs84 == on_old) > 0.95


def test_corners_are_on_the_datum_of_the_square():
    square = read_mgrs_text("15SVP8345", ellipsoid=CLARKE_1866)
    place = square.zone, square.south, square.easting_m, square.northing_m, square.size_m
    lat_deg, lon_deg = square_corners(*place, ellipsoid=CLARKE_1866)
    to_utm = pyproj.Transformer.from_crs(4267, 26715, always_xy=True)
    easting_m, northing_m = to_utm.transform(lon_deg, lat_deg)
    np.testing.assert_allclose(easting_m, 483_000.0 + np.array([0.0, 1000.0, 1000.0, 0.0]), rtol=0, atol=1e-4)
    np.testing.assert_allclose(
        northing_m, 4_345_000.0 + np.array([0.0, 0.0, 1000.0, 1000.0]), rtol=0, atol=1e-4
    )


#: Edges of bands and of zones, those of Norway and Svalbard and the poles among them; offsets from a rounding to some km.
EDGE_LATITUDES = [*range(-80, 73, 8), 84, -90, 90, 56, 64]
EDGE_LONGITUDES = [*range(-180, 181, 6), 3, 9, 21, 33]
OFFSETS = [0.0, 1e-12, 1e-9, 1e-7, 1e-5, 1e-3, 0.03]

figures = st.sampled_from(list(EVERY.values()))
offsets = st.builds(lambda size, sign: size * sign, st.sampled_from(OFFSETS), st.sampled_from([-1.0, 1.0]))


def places(edges, limit):
    near = st.builds(
        lambda edge, offset: min(max(edge + offset, -limit), limit), st.sampled_from(edges), offsets
    )
    return st.floats(-limit, limit) | near


@given(figures, places(EDGE_LATITUDES, 90.0), places(EDGE_LONGITUDES, 180.0), st.integers(0, 5))
def test_what_is_written_on_any_ellipsoid_comes_back(ellipsoid, lat_deg, lon_deg, digits):
    written = write_mgrs(lat_deg, lon_deg, digits, ellipsoid=ellipsoid)
    assert_comes_back(written, digits, ellipsoid)
    square, grid = read_mgrs(written, ellipsoid=ellipsoid), to_grid(lat_deg, lon_deg, ellipsoid=ellipsoid)
    # 1e-8 m for a place on the very edge, which the rounding of its coordinates would put over it.
    assert -1e-8 <= grid.easting_m - square.easting_m < square.size_m + 1e-8
    assert -1e-8 <= grid.northing_m - square.northing_m < square.size_m + 1e-8


def assert_comes_back(written, digits, ellipsoid):
    squares = read_mgrs(written, ellipsoid=ellipsoid)
    np.testing.assert_array_equal(squares.status, 0)
    np.testing.assert_array_equal(squares.overlap, False)
    np.testing.assert_array_equal(zone_of(squares.lat_deg, squares.lon_deg), squares.zone)
    np.testing.assert_array_equal(band_of(squares.lat_deg, squares.lon_deg), squares.band)
    again = write_mgrs(squares.lat_deg, squares.lon_deg, digits, ellipsoid=ellipsoid)
    np.testing.assert_array_equal(again, written)
    half_m = squares.size_m / 2.0
    centre = squares.easting_m + half_m, squares.northing_m + half_m
    again = write_mgrs_from_grid(squares.zone, squares.band, *centre, digits, ellipsoid=ellipsoid)
    np.testing.assert_array_equal(again, written)
    return squares


@named(EVERY)
@pytest.mark.parametrize("digits", range(6))
def test_places_on_the_edges_of_all_zones_come_back_on_any_ellipsoid(ellipsoid, digits):
    random = np.random.default_rng(digits)
    lat_deg, lon_deg = random.uniform(-90.0, 90.0, 4000), random.uniform(-180.0, 180.0, 4000)
    lat_deg[1000:2500] = random.choice(EDGE_LATITUDES, 1500)
    lon_deg[2000:] = random.choice(EDGE_LONGITUDES, 2000)
    lat_deg += random.choice(OFFSETS, 4000) * random.normal(size=4000)
    lon_deg += random.choice(OFFSETS, 4000) * random.normal(size=4000)
    place = np.clip(lat_deg, -90.0, 90.0), np.clip(lon_deg, -180.0, 180.0)
    squares = assert_comes_back(write_mgrs(*place, digits, ellipsoid=ellipsoid), digits, ellipsoid)
    assert np.count_nonzero(squares.cut) > 500


@pytest.mark.parametrize("band", BANDS)
def test_what_is_read_on_an_old_ellipsoid_is_in_the_band(band):
    """All squares of a zone by their letters: those that are read and not in the overlap are the band's own."""
    texts = [f"35{band}{column}{row}" for column in "JKLMNPQR" for row in "ABCDEFGHJKLMNPQRSTUV"]
    squares = read_mgrs(texts, ellipsoid=BESSEL_1841)
    kept = (squares.status == MgrsStatus.OK) & ~squares.overlap
    assert np.count_nonzero(kept) > 20
    assert (band_of(squares.lat_deg[kept], squares.lon_deg[kept]) == band).all()
