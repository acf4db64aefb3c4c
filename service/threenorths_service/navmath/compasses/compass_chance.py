"""How likely chance alone explains what readings do: the tails of three laws, in closed form."""

from __future__ import annotations

import math

__all__ = ["largest_variance_factor", "normal_chance", "student_chance"]

#: The 99 per cent point of the normal law.
_ONE_IN_A_HUNDRED = 2.3263


def normal_chance(standardised: float) -> float:
    """The chance of a value that many standard deviations or more from the mean, either way."""
    return math.erfc(abs(standardised) / math.sqrt(2.0))


def student_chance(t: float, freedom: int) -> float:
    """The chance of a value beyond +-t in Student's law of so many degrees of freedom, one or more.

    M. Abramowitz and I. Stegun, "Handbook of Mathematical Functions", 26.7.3 and 26.7.4 (from memory).
    """
    angle = math.atan(abs(t) / math.sqrt(freedom))
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = freedom % 2
    term, total = (cosine if odd else 1.0), 0.0
    for step in range(1 + odd, freedom, 2):
        total += term
        term *= cosine**2 * step / (step + 1)
    inside = 2.0 / math.pi * (angle + sine * total) if odd else sine * total
    return max(0.0, 1.0 - inside)


def largest_variance_factor(freedom: int) -> float:
    """Beyond this the residuals are larger than their standard deviations explain in 99 cases of a hundred.

    The 99 per cent point of chi-square over its degrees of freedom, by the approximation of E. B. Wilson and M. M. Hilferty,
    "The Distribution of Chi-Square", Proceedings of the National Academy of Sciences 17(12), 684-688, 1931,
    doi:10.1073/pnas.17.12.684.
    """
    spread = 2.0 / (9.0 * freedom)
    return float((1.0 - spread + _ONE_IN_A_HUNDRED * math.sqrt(spread)) ** 3)
