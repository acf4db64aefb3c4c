from __future__ import annotations

import math

import numpy as np
import pytest

from threenorths_service.operations.fields import Azimuth, Rounded


@pytest.mark.parametrize(
    ("value", "circle", "expected"), [(359.9999999, 360, 0), (6399.99999, 6400, 0), (359.99, 360, 359.99)]
)
def test_rounding_never_makes_an_azimuth_the_full_circle(value, circle, expected):
    field = Azimuth("An azimuth. [degree]", circle=circle, places=4)
    assert field.serialize("azimuth", {"azimuth": value}) == expected


def test_rounding_leaves_no_negative_nought():
    rounded = Rounded("A number.", 3).serialize("number", {"number": -1e-9})
    assert rounded == 0
    assert math.copysign(1, rounded) == 1


def test_a_numpy_scalar_becomes_a_plain_float():
    assert type(Rounded("A number.", 3).serialize("number", {"number": np.float64(1.23456)})) is float
