"""MGRS against the `mgrs` library, which wraps an independent implementation in C++."""

import itertools

import mgrs
import numpy as np
import pytest

from threenorths_service.navmath.grids.grid import band_of, from_grid, to_grid
from threenorths_service.navmath.grids.zones import ALPHABET, EDGES, LETTERS_PER_ZONE
from threenorths_service.navmath.references.mgrs import (
    MgrsStatus,
    read_mgrs,
    write_mgrs,
    write_mgrs_from_grid,
)
from threenorths_service.navmath.references.mgrs_letters import COLUMN_LETTERS, ROW_LETTERS

LIBRARY = mgrs.MGRS()
PLACES = 200_000
#: The library adds this to the coordinates before it truncates them.
ADDED_M = 0.0005


def random_places(count):
    """Places spread evenly over the earth."""
    random = np.random.default_rng(20250101)
    return np.degrees(np.arcsin(random.uniform(-1.0, 1.0, count))), random.uniform(-180.0, 180.0, count)


def library_references(lat_deg, lon_deg, digits=5):
    return np.array(
        [
            LIBRARY.toMGRS(*place, MGRSPrecision=digits)
            for place in zip(lat_deg.tolist(), lon_deg.tolist(), strict=True)
        ]
    )


def test_writing_random_places():
    lat_deg, lon_deg = random_places(PLACES)
    ours, theirs = write_mgrs(lat_deg, lon_deg), library_references(lat_deg, lon_deg)
    grid = to_grid(lat_deg, lon_deg)
    # Every difference is a place less than half a millimetre under a metre line, in easting or in northing.
    short_m = np.minimum(-grid.easting_m % 1.0, -grid.northing_m % 1.0)
    differ = ours != theirs
    assert np.all(short_m[differ] <= ADDED_M + 1e-8)
    assert 0 < np.count_nonzero(differ) < PLACES * 3 * ADDED_M
    # And with the half millimetre added, nothing differs at all.
    added = write_mgrs_from_grid(
        grid.zone, band_of(lat_deg, lon_deg), grid.easting_m + ADDED_M, grid.northing_m + ADDED_M
    )
    np.testing.assert_array_equal(added, theirs)


@pytest.mark.parametrize("digits", range(5))
def test_writing_fewer_digits(digits):
    lat_deg, lon_deg = random_places(5000)
    np.testing.assert_array_equal(
        write_mgrs(lat_deg, lon_deg, digits), library_references(lat_deg, lon_deg, digits)
    )


def test_the_84th_parallel_is_utm_in_the_library_alone():
    assert write_mgrs(84.0, 84.0) == "ZJG6307530307"  # as published: published/mgrs_examples.csv
    assert LIBRARY.toMGRS(84.0, 84.0)[:3] == "45X"


@pytest.mark.parametrize("digits", range(6))
def test_reading_gives_the_centre_of_the_same_square(digits):
    lat_deg, lon_deg = random_places(10_000)
    texts = write_mgrs(lat_deg, lon_deg, digits)
    squares = read_mgrs(texts)
    theirs = np.array([LIBRARY.toLatLon(text) for text in texts.tolist()])
    # The library's point is the centre too, wherever that is; ours is moved where the centre is cut off.
    whole = ~squares.cut
    turn_deg = (theirs[:, 1] - squares.lon_deg + 180.0) % 360.0 - 180.0
    error_m = 111_320.0 * np.hypot(
        theirs[:, 0] - squares.lat_deg, turn_deg * np.cos(np.radians(squares.lat_deg))
    )
    assert np.count_nonzero(whole) > 8000
    # The library's polar series leave some micrometres.
    assert error_m[whole].max() < 1e-4


def test_every_lettered_square_of_every_grid_zone():
    texts, designations = [], np.flatnonzero(~np.isnan(EDGES.west_deg))
    for designation in designations:
        zone, letter = divmod(int(designation), LETTERS_PER_ZONE)
        head = (f"{zone:02}" if zone else "") + ALPHABET[letter]
        columns = [column for column in COLUMN_LETTERS[designation] if column]
        rows = sorted({row for row in ROW_LETTERS["AA"][designation] if row})
        texts += [head + "".join(pair) for pair in itertools.product(columns, rows)]
    squares = read_mgrs(texts)
    read = squares.status == MgrsStatus.OK
    assert set(squares.status.tolist()) == {MgrsStatus.OK, MgrsStatus.SQUARE_NOT_IN_ZONE}
    half_m = squares.size_m / 2.0
    centres = np.column_stack(
        from_grid(squares.zone, squares.south, squares.easting_m + half_m, squares.northing_m + half_m)
    )
    refused = []
    for index in np.flatnonzero(read):
        try:
            place = LIBRARY.toLatLon(texts[index])
        except mgrs.core.MGRSError:
            refused.append(index)
        else:
            assert centres[index] == pytest.approx(place, abs=1e-9)
    # All else that is read here is read there. These are beyond the edge, in the part that sheets print: where UTM and
    # UPS overlap, and where 31V overlaps 32V.
    assert squares.overlap[refused].all()
    assert {squares.band[index] if squares.band[index] != "V" else texts[index][:3] for index in refused} == {
        *"ABCYZ",
        "31V",
    }
