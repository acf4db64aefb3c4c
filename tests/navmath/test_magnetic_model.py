from __future__ import annotations

import datetime
import hashlib
from importlib import resources

import numpy as np
import pytest

from threenorths_service.navmath.magnetic_model import COEFFICIENT_FILE, load_model, read_model

# Of WMM.COF, header "2025.0 WMM-2025 11/13/2024", as found in the public repository boxpet/pygeomag
# @2b8ac57f08bc100ee1f103dbca4e1a8de65ff5e8 pygeomag/wmm/WMM_2025.COF.
SHA256 = "dfa8597825af4e0b87ff4198a5b4fb661b3c49f4cd090cd0164e0259b075582f"


@pytest.fixture
def coefficient_file() -> bytes:
    return resources.files("threenorths_service.navmath").joinpath("data", COEFFICIENT_FILE).read_bytes()


@pytest.fixture
def lines(coefficient_file) -> list[str]:
    return coefficient_file.decode("ascii").splitlines()


def test_the_shipped_file_is_the_published_one(coefficient_file):
    assert hashlib.sha256(coefficient_file).hexdigest() == SHA256


def test_the_shipped_file_is_the_one_that_another_library_ships(coefficient_file):
    assert resources.files("pygeomag").joinpath("wmm", "WMM_2025.COF").read_bytes() == coefficient_file


def test_the_model_is_wmm2025_with_its_90_rows():
    model = load_model()
    assert (model.name, model.epoch) == ("WMM2025", 2025.0)
    assert (model.first_date, model.last_date) == (datetime.date(2025, 1, 1), datetime.date(2029, 12, 31))
    assert np.count_nonzero(model.main) == 90
    # The first two rows and the last, as printed in the file; the coefficient h is kept with its sign turned.
    assert (model.main[1, 0], model.change[1, 0]) == (-29351.8, 12.0)
    assert (model.main[1, 1], model.change[1, 1]) == (-1410.8 - 4545.4j, 9.7 + 21.5j)
    assert (model.main[12, 12], model.change[12, 12]) == (-0.7 - 0.2j, -0.1 + 0.1j)


def test_the_model_is_read_once():
    assert load_model() is load_model()


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
def test_a_damaged_file_is_refused(lines, damage):
    with pytest.raises(ValueError):
        read_model("\n".join(damage(lines)))
