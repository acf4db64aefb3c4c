import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import LinesDoNotMeetError, OutOfRangeError, WeakBaseError
from threenorths_service.navmath.estimates.estimate import (
    EstimateStatus,
    checked,
    estimate_error,
    first_order_sd,
    known,
    paced_length_m,
)

positive = st.floats(0.1, 1e4)


@given(positive, positive, st.floats(0, 10), st.floats(0, 10))
def test_the_spread_of_a_product_is_the_textbook_s(x, y, x_sd, y_sd):
    # JCGM 100:2008, eq. 10: for x y the partial derivatives are y and x.
    found = first_order_sd(lambda a, b: a * b, (x, y), (x_sd, y_sd))
    assert found == pytest.approx(np.hypot(y * x_sd, x * y_sd), rel=1e-6, abs=1e-9 * x * y)


def test_what_is_sure_adds_nothing():
    assert first_order_sd(np.sqrt, (0.0,), (0.0,)) == 0.0


def test_spreads_go_through_as_rows():
    found = first_order_sd(lambda a, b: a + b, ([1.0, 2.0], 5.0), (3.0, [4.0, 0.0]))
    np.testing.assert_allclose(found, [5.0, 3.0], rtol=1e-9)


def test_the_paces_of_the_handbook_make_a_hundred_metres():
    # Army task 071-329-1006, row pace-level of published/handbook_examples.csv: 116 paces in 100 m.
    assert paced_length_m(58, 116) == 50.0


def test_values_in_range_pass_as_they_are():
    np.testing.assert_array_equal(checked("top_deg", [-5, 0, 5], -5, 5), [-5, 0, 5])
    assert isinstance(checked("top_deg", -5, -5, 5), np.float64)


@pytest.mark.parametrize("value", [np.nan, np.inf, -0.1, 10.1])
def test_the_first_value_out_of_range_is_named(value):
    with pytest.raises(OutOfRangeError) as caught:
        checked("base_m", [5.0, value, np.nan], 0.0, 10.0)
    assert caught.value.member == "base_m"
    assert caught.value.value == pytest.approx(value, nan_ok=True)


@pytest.mark.parametrize(
    ("status", "error"),
    [
        (EstimateStatus.LINES_DO_NOT_MEET, LinesDoNotMeetError),
        (EstimateStatus.WEAK_BASE, WeakBaseError),
        (EstimateStatus.NO_HEIGHT, OutOfRangeError),
        (EstimateStatus.SET_BACK_TOO_FAR, OutOfRangeError),
    ],
)
def test_each_status_has_its_error(status, error):
    assert type(estimate_error(status)) is error


def test_a_good_status_is_no_error():
    with pytest.raises(ValueError, match="no error"):
        estimate_error(EstimateStatus.OK)


def test_what_is_not_known_is_not_a_number():
    assert known(3.0, True) == 3.0
    assert np.isnan(known([1.0, 2.0], [True, False])[1])
