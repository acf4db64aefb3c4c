from __future__ import annotations

import datetime
import hashlib
from importlib import resources
from itertools import pairwise

import numpy as np
import pytest

from threenorths_service.navmath.magnetism.magnetic_coefficients import (
    IGRF14_FILE,
    WMM2025_FILE,
    load_models,
    read_igrf14,
    read_wmm,
)

SHA256 = {
    # Of WMM.COF, header "2025.0 WMM-2025 11/13/2024", as found in the public repository boxpet/pygeomag
    # @2b8ac57f08bc100ee1f103dbca4e1a8de65ff5e8 pygeomag/wmm/WMM_2025.COF.
    WMM2025_FILE: "dfa8597825af4e0b87ff4198a5b4fb661b3c49f4cd090cd0164e0259b075582f",
    # Of src/ppigrf/IGRF14.shc in the source distribution of ppigrf 2.1.0.
    IGRF14_FILE: "717f6dce821a8f2bfcc6a77f79cc227ba91f61aeb458d5433e8c72450d48f8e0",
}


def file_bytes(name: str) -> bytes:
    return resources.files("threenorths_service.navmath").joinpath("data", name).read_bytes()


def file_lines(name: str) -> list[str]:
    return file_bytes(name).decode("ascii").splitlines()


@pytest.mark.parametrize("name", SHA256)
def test_the_shipped_file_is_the_published_one(name):
    assert hashlib.sha256(file_bytes(name)).hexdigest() == SHA256[name]


def test_the_shipped_wmm_is_the_one_that_another_library_ships():
    theirs = resources.files("pygeomag").joinpath("wmm", "WMM_2025.COF").read_bytes()
    assert theirs == file_bytes(WMM2025_FILE)


def test_wmm2025_has_its_90_rows():
    model = load_models()["WMM2025"]
    (stretch,) = model.stretches
    assert (model.name, stretch.epoch, model.first_year, model.last_year) == (
        "WMM2025",
        2025.0,
        2025.0,
        2030.0,
    )
    assert (model.first_date, model.last_date) == (datetime.date(2025, 1, 1), datetime.date(2029, 12, 31))
    assert np.count_nonzero(stretch.main) == 90
    # The first two rows and the last, as printed in the file; the coefficient h is kept with its sign turned.
    assert (stretch.main[1, 0], stretch.change[1, 0]) == (-29351.8, 12.0)
    assert (stretch.main[1, 1], stretch.change[1, 1]) == (-1410.8 - 4545.4j, 9.7 + 21.5j)
    assert (stretch.main[12, 12], stretch.change[12, 12]) == (-0.7 - 0.2j, -0.1 + 0.1j)


def test_igrf14_holds_from_1900_to_the_end_of_2029_in_stretches_of_five_years():
    model = load_models()["IGRF-14"]
    assert (model.name, model.first_year, model.last_year) == ("IGRF-14", 1900.0, 2030.0)
    assert (model.first_date, model.last_date) == (datetime.date(1900, 1, 1), datetime.date(2029, 12, 31))
    assert [stretch.first_year for stretch in model.stretches] == [
        float(year) for year in range(1900, 2030, 5)
    ]
    assert all(stretch.epoch == stretch.first_year for stretch in model.stretches)


def test_igrf14_has_degree_10_up_to_1995_and_13_from_2000():
    # "Main-field models are to degree and order 10 (ie 120 coefficients) for 1900.0-1995.0 and to 13 (ie 195
    # coefficients) for 2000.0 onwards. The predictive secular-variation model is to degree and order 8": igrf13.f,
    # W. Brown and S. Macmillan, British Geological Survey. From 1995 to 2000 the higher degrees come in from nothing.
    stretches = load_models()["IGRF-14"].stretches
    degrees = {stretch.first_year: stretch.main.shape[0] - 1 for stretch in stretches}
    assert {degrees[year] for year in range(1900, 1995, 5)} == {10}
    assert {degrees[year] for year in range(1995, 2030, 5)} == {13}
    in_1995 = stretches[19]
    assert not in_1995.main[11:].any()
    assert in_1995.change[11:].any()
    assert not stretches[-1].change[9:].any()


def test_igrf14_coefficients_are_those_printed_in_its_file():
    stretches = load_models()["IGRF-14"].stretches
    # Rows "1 0", "1 1" and "1 -1" at 1900 and 1905.
    assert stretches[0].main[1, 0] == -31543
    assert stretches[0].main[1, 1] == -2298 - 5922j
    assert stretches[0].change[1, 0] == pytest.approx((-31464 + 31543) / 5)
    assert stretches[0].change[1, 1] == pytest.approx(-(5909 - 5922) * 1j / 5)
    # The last row, "13 -13", at 2025: -0.5 and no change.
    assert (stretches[-1].main[13, 13], stretches[-1].change[13, 13]) == (-0.4 + 0.5j, 0)
    # The forecast change of the first coefficient: 12.6 nT a year.
    assert stretches[-1].change[1, 0].real == pytest.approx(12.6)


def test_one_stretch_of_igrf14_ends_where_the_next_begins():
    for earlier, later in pairwise(load_models()["IGRF-14"].stretches):
        end = earlier.main + 5 * earlier.change
        size = end.shape[0]
        # The change is rounded at 1e-16 of 30,000 nT.
        assert np.abs(end - later.main[:size, :size]).max() < 1e-11
        assert not later.main[size:].any()


def test_the_models_are_read_once_and_cannot_be_added_to():
    assert load_models() is load_models()
    assert list(load_models()) == ["IGRF-14", "WMM2025"]
    with pytest.raises(TypeError):
        load_models()["another"] = load_models()["WMM2025"]


@pytest.mark.parametrize(
    "damage",
    [
        pytest.param(lambda lines: lines[:60], id="cut short"),
        pytest.param(lambda lines: lines[:91], id="closing lines lost"),
        pytest.param(lambda lines: [*lines[:40], *lines[41:]], id="a row lost"),
        pytest.param(lambda lines: [*lines[:40], *lines[39:]], id="a row doubled"),
        pytest.param(lambda lines: [lines[0], lines[2], lines[1], *lines[3:]], id="rows exchanged"),
        pytest.param(lambda lines: [*lines[:40], lines[40][:30], *lines[41:]], id="a number lost"),
        pytest.param(lambda lines: [*lines[:40], lines[40] + " 0.0", *lines[41:]], id="a number too many"),
        pytest.param(lambda lines: [*lines[:40], lines[40].replace(".", ","), *lines[41:]], id="commas"),
        pytest.param(lambda lines: lines[1:], id="no header"),
    ],
)
def test_a_damaged_wmm_file_is_refused(damage):
    with pytest.raises(ValueError):
        read_wmm("\n".join(damage(file_lines(WMM2025_FILE))))


@pytest.mark.parametrize(
    "damage",
    [
        pytest.param(lambda lines: lines[:150], id="cut short"),
        pytest.param(lambda lines: lines[:3], id="no rows"),
        pytest.param(lambda lines: [*lines[:40], *lines[41:]], id="a row lost"),
        pytest.param(lambda lines: [*lines[:40], *lines[39:]], id="a row doubled"),
        pytest.param(lambda lines: [*lines[:5], lines[6], lines[5], *lines[7:]], id="rows exchanged"),
        pytest.param(lambda lines: [*lines[:40], lines[40][:60], *lines[41:]], id="numbers lost"),
        pytest.param(lambda lines: [*lines[:40], lines[40] + " 0.0", *lines[41:]], id="a number too many"),
        pytest.param(
            lambda lines: [*lines[:4], lines[4].replace("1905.0", "1906.0"), *lines[5:]], id="a year"
        ),
        pytest.param(
            lambda lines: [*lines[:4], lines[4].replace("2030.0", ""), *lines[5:]], id="a year lost"
        ),
        pytest.param(lambda lines: lines[:4] + lines[5:], id="no years"),
    ],
)
def test_a_damaged_igrf_file_is_refused(damage):
    with pytest.raises(ValueError):
        read_igrf14("\n".join(damage(file_lines(IGRF14_FILE))))
