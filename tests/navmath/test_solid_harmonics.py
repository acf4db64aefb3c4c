from __future__ import annotations

import numpy as np
import pytest

from threenorths_service.navmath.magnetism.solid_harmonics import SolidHarmonics, gradient_matrix

# Places on and off the sphere, on every axis among them.
PLACES = np.array(
    [
        [1.0, 0.0, 0.0],
        [0.0, -1.0, 0.0],
        [0.0, 0.0, 1.0],
        [0.0, 0.0, -1.0],
        [0.3, -0.8, 0.5],
        [-0.6, 0.7, -0.9],
        [1.1, 0.2, 0.4],
    ]
).T


def single_coefficient(n: int, m: int, value: complex, degree: int = 12) -> np.ndarray:
    coefficients = np.zeros((degree + 1, degree + 1), dtype=np.complex128)
    coefficients[n, m] = value
    return coefficients


def gradient(coefficients: np.ndarray, places: np.ndarray) -> np.ndarray:
    return gradient_matrix(coefficients) @ SolidHarmonics(coefficients.shape[0], places.shape[1]).at(*places)


def closed_form(n: int, m: int, g: float, h: float, places: np.ndarray) -> np.ndarray:
    """Series of one Schmidt term, by the Cartesian forms of the low degrees."""
    x, y, z = places
    r = np.sqrt(x * x + y * y + z * z)
    numerator = {
        (1, 0): g * z,
        (1, 1): g * x + h * y,
        (2, 0): g * (3 * z * z - r * r) / 2,
        (2, 1): np.sqrt(3) * z * (g * x + h * y),
        (2, 2): np.sqrt(3) / 2 * (g * (x * x - y * y) + h * 2 * x * y),
        (3, 0): g * (5 * z**3 - 3 * z * r * r) / 2,
        (3, 3): np.sqrt(5 / 8) * (g * (x**3 - 3 * x * y * y) + h * (3 * x * x * y - y**3)),
    }[n, m]
    return numerator / r ** (2 * n + 1)


def test_harmonics_of_low_degree_are_their_closed_forms():
    x, y, z = PLACES
    r = np.sqrt(x * x + y * y + z * z)
    harmonics = SolidHarmonics(2, x.size).at(x, y, z)
    expected = [
        [1 / r, 0 * r],
        [z / r**3, 0 * r],
        [x / r**3, y / r**3],
        [(z * z - r * r / 3) / r**5, 0 * r],
        [z * x / r**5, z * y / r**5],
        [(x * x - y * y) / r**5, 2 * x * y / r**5],
    ]
    assert harmonics == pytest.approx(np.array(expected).reshape(12, -1), abs=1e-14)


@pytest.mark.parametrize(("n", "m"), [(1, 0), (1, 1), (2, 0), (2, 1), (2, 2), (3, 0), (3, 3)])
def test_gradients_are_the_slopes_of_the_closed_forms(n, m):
    # Schmidt semi-normalised functions of low degree: S. Chapman and J. Bartels, "Geomagnetism," 1940 (from memory).
    g, h = 2.0, 0.0 if m == 0 else -3.0
    step = 1e-5
    slopes = []
    for axis in np.eye(3):
        ahead, behind = PLACES + step * axis[:, None], PLACES - step * axis[:, None]
        slopes.append((closed_form(n, m, g, h, ahead) - closed_form(n, m, g, h, behind)) / (2 * step))
    # A central difference errs by a sixth of the third derivative times the step squared: under 1e3 * 1e-10.
    assert gradient(single_coefficient(n, m, complex(g, -h)), PLACES) == pytest.approx(
        np.array(slopes), abs=1e-7
    )


@pytest.mark.parametrize(("n", "m"), [(n, m) for n in (4, 9, 12) for m in (0, 1, n - 1, n)])
def test_gradients_have_neither_divergence_nor_curl(n, m):
    coefficients = single_coefficient(n, m, 1.0 if m == 0 else 1.0 - 0.5j)
    step = 1e-5
    derivative = np.array(
        [
            (
                gradient(coefficients, PLACES + step * axis[:, None])
                - gradient(coefficients, PLACES - step * axis[:, None])
            )
            / (2 * step)
            for axis in np.eye(3)
        ]
    )
    size = np.abs(derivative).max()
    assert np.abs(np.trace(derivative)).max() < 1e-6 * size
    assert np.abs(derivative - derivative.transpose(1, 0, 2)).max() < 1e-6 * size


def test_on_the_axis_all_is_finite_and_right():
    # On the axis a dipole along it has the field 2 g / r**3, and its gradient's other parts vanish.
    dipole = gradient(single_coefficient(1, 0, 1.0), np.array([[0.0], [0.0], [2.0]]))
    assert dipole[:, 0] == pytest.approx([0.0, 0.0, -2 / 2.0**3], abs=1e-15)
