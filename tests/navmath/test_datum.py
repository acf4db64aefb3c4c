"""Datums by name and by code."""

from __future__ import annotations

import pytest
from pyproj import CRS
from pyproj.database import get_database_metadata, query_crs_info
from pyproj.enums import PJType
from pyproj.exceptions import CRSError

from threenorths_service.navmath.datums.datum import WGS84, find_datum
from threenorths_service.navmath.datums.datum_names import read_heading, read_table
from threenorths_service.navmath.errors import UnknownDatumError

DATUMS = read_table("datums.csv")
SAME_DATASET = f"EPSG Dataset {get_database_metadata('EPSG.VERSION')} " in read_heading("datums.csv")

USUAL_NAMES = {
    "NAD27": 4267,
    "nad 27": 4267,
    "North American 1927": 4267,
    "NORTH-AMERICAN DATUM 1927": 4267,
    "NAD83": 4269,
    "ED50": 4230,
    "ed_50": 4230,
    "European 1950": 4230,
    "European Datum 1950": 4230,
    "OSGB36": 4277,
    "OSGB 1936": 4277,
    "Ordnance Survey of Great Britain 1936": 4277,
    "Tokyo": 4301,
    "AGD66": 4202,
    "Pulkovo 1942": 4284,
    "Cape": 4222,
    "Arc 1960": 4210,
    "SAD69": 4618,
    "Indian 1975": 4240,
    "ETRS89": 4258,
    "GDA94": 4283,
    "GDA2020": 7844,
    "NZGD49": 4272,
    "CH1903": 4149,
    "CH1903+": 4150,
    "MGI": 4312,
    "DHDN": 4314,
    "Potsdam": 4314,
    "NTF": 4275,
    "NTF (Paris)": 4807,
    "RT90": 4124,
    "KKJ": 4123,
    "Hong Kong 1980": 4611,
    "TM65": 4299,
    "Adindan": 4201,
    "Minna": 4263,
    "Luzon 1911": 4253,
    "JGD2000": 4612,
    "S-JTSK": 4156,
    "Amersfoort": 4289,
    "Belge 1972": 4313,
    "Roma 40": 4265,
}


@pytest.mark.parametrize(("name", "code"), USUAL_NAMES.items())
def test_usual_names_are_known_in_any_spelling(name: str, code: int) -> None:
    assert find_datum(name).epsg == code


@pytest.mark.parametrize("name", ["WGS84", "WGS 84", "wgs-84", "WGS 1984", "4326", "EPSG:4326", "4979"])
def test_wgs84_is_the_one_constant(name: str) -> None:
    assert find_datum(name) is WGS84


@pytest.mark.parametrize("name", ["4230", "EPSG:4230", "epsg 4230"])
def test_a_code_may_have_its_authority_before_it(name: str) -> None:
    assert find_datum(name).name == "ED50"


def test_the_code_of_a_three_dimensional_system_gives_its_two_dimensional_one() -> None:
    assert find_datum("EPSG:4937").epsg == 4258


@pytest.mark.parametrize("row", DATUMS, ids=lambda row: row["code"])
def test_every_datum_is_found_by_its_code_and_its_own_name(row: dict[str, str]) -> None:
    assert find_datum(row["code"]).epsg == int(row["code"])
    assert find_datum(row["name"]).epsg == int(row["code"])


def test_every_two_dimensional_geographic_system_of_the_dataset_is_there() -> None:
    if not SAME_DATASET:
        pytest.skip("the installed pyproj carries another version of the dataset")
    assert {info.code for info in query_crs_info("EPSG", PJType.GEOGRAPHIC_2D_CRS)} == {
        row["code"] for row in DATUMS
    }


@pytest.mark.parametrize("row", DATUMS[::7], ids=lambda row: row["code"])
def test_ellipsoid_and_prime_meridian_are_those_that_pyproj_has(row: dict[str, str]) -> None:
    try:
        theirs = CRS.from_epsg(int(row["code"]))
    except CRSError:
        if SAME_DATASET:
            raise
        pytest.skip("the installed pyproj carries another version of the dataset, without this datum")
    datum = find_datum(row["code"])
    assert datum.ellipsoid.semi_major_axis_m == pytest.approx(theirs.ellipsoid.semi_major_metre, rel=1e-12)
    if theirs.ellipsoid.inverse_flattening:
        assert datum.ellipsoid.inverse_flattening == pytest.approx(
            theirs.ellipsoid.inverse_flattening, rel=1e-10
        )
    meridian = theirs.prime_meridian
    meridian_deg = meridian.longitude * (0.9 if meridian.unit_name == "grad" else 1.0)
    assert datum.prime_meridian_deg == pytest.approx(meridian_deg, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "codes"),
    [("Hermannskogel", ("3906", "4312")), ("S-42", ("4178", "4179", "4284")), ("Indian", ("4131", "4240"))],
)
def test_a_name_of_two_datums_is_refused_and_both_are_named(name: str, codes: tuple[str, ...]) -> None:
    with pytest.raises(UnknownDatumError, match="more than one") as raised:
        find_datum(name)
    assert all(f"EPSG:{code}" in str(raised.value.allowed) for code in codes)


@pytest.mark.parametrize(
    ("name", "near"), [("Tokio", "Tokyo"), ("OSGB39", "OSGB36"), ("Pulkovo", "Pulkovo 1942")]
)
def test_an_unknown_name_is_refused_with_those_that_are_near(name: str, near: str) -> None:
    with pytest.raises(UnknownDatumError) as raised:
        find_datum(name)
    assert near in str(raised.value.allowed)
    assert raised.value.value == name


@pytest.mark.parametrize("name", ["", "   ", "99999", "EPSG:", "32630", "é", "x" * 100_000, "٤٢٣٠"])
def test_what_is_no_name_and_no_code_is_refused(name: str) -> None:
    with pytest.raises(UnknownDatumError):
        find_datum(name)
