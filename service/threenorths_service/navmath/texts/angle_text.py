"""Directions as text: reading degrees, sexagesimal and quadrant notation, and writing them.

Quadrant notation counts from north or south toward east or west: ``S 30 E`` is 150 degrees (common practice of land
surveying, no source).
"""

from __future__ import annotations

from ..errors import AnglesUnreadableError, OutOfRangeError
from .sexagesimal import (
    SexagesimalAngle,
    angle_from_numbers,
    has_misplaced_decimals,
    part_of_sixty,
    parts_at,
    rounded_angle,
)
from .text_tokens import HEMISPHERES, MAX_TEXT_CHARACTERS, Tokens, may_be_sign, tokenize

__all__ = ["read_angle", "write_dms", "write_quadrant"]

_FORMS = "a number, degrees minutes and seconds such as 45 30 15, or a quadrant such as N 45 E"


def read_angle(text: str) -> float:
    """The direction a text names: a number, degrees minutes and seconds, or a quadrant. [degree], in [0, 360).

    Parts are set off by their marks, white space, colons or dashes: ``45.5``, ``45 30 15``, ``45°30'15"``,
    ``45d30m15s``, ``45-30-15``. Only the last part may have decimals. A quadrant has N or S before and E or W
    after: ``S45°30'W``. A full circle reads as 0.

    Raises
    ------
    AnglesUnreadableError
        The text is in none of these forms.
    OutOfRangeError
        Minutes or seconds are 60 or more, the direction is over 360 degrees or negative, or the quadrant's angle is
        over 90.
    """
    if len(text) > MAX_TEXT_CHARACTERS:
        raise AnglesUnreadableError(
            f"the text is longer than {MAX_TEXT_CHARACTERS} characters",
            value=text[:MAX_TEXT_CHARACTERS],
            allowed=_FORMS,
        )
    tokens = tokenize(text)
    quadrant = _quadrant_ends(tokens)
    if quadrant is not None:
        from_south, to_west = quadrant
        angle_deg = _parts_between(tokens, 1, len(tokens) - 1, text, most=90)
        return _azimuth(angle_deg, from_south, to_west)
    signed = may_be_sign(tokens, 0)
    angle_deg = _parts_between(tokens, int(signed), len(tokens), text, most=360)
    if signed and tokens[0].kind == "minus" and angle_deg > 0.0:
        raise OutOfRangeError("a direction is not negative", value=text, allowed="0 to 360 degrees")
    return 0.0 if angle_deg == 360.0 else angle_deg


def _quadrant_ends(tokens: Tokens) -> tuple[bool, bool] | None:
    """Whether the quadrant counts from south and whether to west; ``None`` if the text is no quadrant."""
    if len(tokens) < 3:
        return None
    origin, turn = HEMISPHERES.get(tokens[0].text), HEMISPHERES.get(tokens[-1].text)
    if origin is None or turn is None or origin[0] != "latitude" or turn[0] != "longitude":
        return None
    return origin[1] < 0, turn[1] < 0


def _azimuth(quadrant_angle_deg: float, from_south: bool, to_west: bool) -> float:
    azimuth_deg = 180.0 - quadrant_angle_deg if from_south else quadrant_angle_deg
    return (360.0 - azimuth_deg) % 360.0 if to_west else azimuth_deg


def _parts_between(tokens: Tokens, start: int, end: int, text: str, most: int) -> float:
    """The angle that all of ``tokens[start:end]`` spell, from 0 to ``most``. [degree]"""
    parts = next((parts for parts, stop in parts_at(tokens, start) if stop == end), None)
    if parts is None or has_misplaced_decimals(parts.numbers):
        raise AnglesUnreadableError("the text is no direction", value=text, allowed=_FORMS)
    sixty = part_of_sixty(parts.numbers)
    if sixty is not None:
        raise OutOfRangeError(
            f"the {sixty} are 60 or more", value=text, allowed=f"{sixty} from 0 to below 60"
        )
    angle = angle_from_numbers(parts.numbers)
    if angle.exceeds(most):
        raise OutOfRangeError(f"the angle is over {most} degrees", value=text, allowed=f"0 to {most} degrees")
    return angle.degrees


def write_dms(azimuth_deg: float, second_places: int = 0) -> str:
    """A direction as ``45°30'15"``, the seconds with ``second_places`` decimals; never 60 and never 360."""
    return _rounded_azimuth(azimuth_deg, 3, second_places).written()


def write_quadrant(azimuth_deg: float, places: int = 0) -> str:
    """A direction as ``S 30.5° E``, in degrees with ``places`` decimals; due east and west are written from north.

    It is rounded first and then put into its quadrant, so the angle is never over 90.
    """
    azimuth = _rounded_azimuth(azimuth_deg, 1, places)
    to_west = azimuth.exceeds(180)
    from_north = azimuth.less(360) if to_west else azimuth
    from_south = from_north.exceeds(90)
    quadrant = from_north.less(180) if from_south else from_north
    return f"{'S' if from_south else 'N'} {quadrant.written()} {'W' if to_west else 'E'}"


def _rounded_azimuth(azimuth_deg: float, parts: int, places: int) -> SexagesimalAngle:
    """The rounded direction; one that rounds to the full circle is 0."""
    angle = rounded_angle(azimuth_deg % 360.0, parts, places)
    short_of_circle = angle.less(360)
    return angle if short_of_circle.count else short_of_circle
