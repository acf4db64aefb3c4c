"""Reading latitude and longitude from the tokens of a text: every way they can be read, and why others cannot.

pair   = half [separator] half ["/"]
half   = [label] [sign] parts [label]
label  = an axis word ("lat"), a hemisphere ("N", "north"), or both
parts  = one to three numbers, see `sexagesimal.parts_at`
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from ..datums.frame import Frame
from ..errors import NavigationError, OutOfRangeError, UnreadablePositionError
from .position_reading import (
    FAR_OFF,
    INCOMPLETE,
    WRONG_VALUE,
    Outcome,
    PositionReading,
    Refusal,
    metres_per_degree,
)
from .sexagesimal import SexagesimalAngle, angle_from_numbers, has_misplaced_decimals, part_of_sixty, parts_at
from .text_tokens import ANGLE_WORDS, AXES, HEMISPHERES, Axis, Token, Tokens, may_be_dash, may_be_sign

__all__ = ["latitude_longitude_outcomes"]

#: Angles written run together (DDMM, DDMMSS; DDDMM, DDDMMSS): by the digits before the point, where they are cut.
#: ISO 6709:1983, 2.1.2 for the latitude; 2.2 for the longitude, and Annex H of the later editions: from memory.
_RUN_TOGETHER: dict[Axis, dict[int, tuple[int, ...]]] = {
    "latitude": {4: (2,), 6: (2, 4)},
    "longitude": {5: (3,), 7: (3, 5)},
}


class _Label(NamedTuple):
    axis_word: Axis | None = None
    hemisphere: tuple[Axis, int] | None = None

    @property
    def axis(self) -> Axis | None:
        return self.axis_word or (self.hemisphere[0] if self.hemisphere else None)


class _Half(NamedTuple):
    label: _Label
    sign: str
    numbers: tuple[str, ...]
    marked: tuple[bool, ...]


class _Coordinate(NamedTuple):
    angle: SexagesimalAngle
    signs: tuple[int, ...]
    label: _Label


_UNLABELLED = _Label()


def latitude_longitude_outcomes(tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    """Every reading of all the tokens as a latitude and a longitude, and a refusal for each that comes to nothing.

    Halves without letters or axis words are latitude first, as in ISO 6709, and are written alike, with as many
    numbers and the same marks. Either both halves name their hemisphere or neither does. A latitude is at most 90
    degrees. A longitude with a letter is at most 180; one without is in [-180, 360). A minus beside a letter has two
    readings, as has a dash that may be a sign; between signed numbers with a stroke behind them, as in ISO 6709, it is one.
    """
    end = len(tokens)
    has_stroke = tokens[-1].text == "/"
    if any(token.kind == "word" and token.text not in ANGLE_WORDS for token in tokens):
        return
    for first, at in _halves_at(tokens, 0):
        if at == end and first.label != _UNLABELLED and not _spelling_fault(first.numbers):
            yield _half_missing(first)
        for start in _starts_after(tokens, at, dashed=not (has_stroke and first.sign)):
            for second, stop in _halves_at(tokens, start):
                if stop == end or (stop == end - 1 and tokens[stop].text == "/"):
                    seam_shows = start > at or tokens[at].kind != "number" or _is_label(tokens[at - 1])
                    yield from _pair_outcomes(first, second, seam_shows, frame)


def _halves_at(tokens: Tokens, start: int) -> Iterator[tuple[_Half, int]]:
    for before, after_label in _labels_at(tokens, start, before=True):
        sign, number_at = _sign_at(tokens, after_label)
        for parts, parts_end in parts_at(tokens, number_at):
            for after, stop in _labels_at(tokens, parts_end, before=False):
                label = _joined(before, after)
                if label is not None:
                    yield _Half(label, sign, *parts), stop


def _labels_at(tokens: Tokens, at: int, *, before: bool) -> list[tuple[_Label, int]]:
    """No label, and every label that begins here; one before its number may have a colon."""
    label: _Label | None = _UNLABELLED
    found: list[tuple[_Label, int]] = []
    while label is not None:
        found.append((label, at))
        if at >= len(tokens) or not _is_label(tokens[at]):
            break
        word = tokens[at].text
        label = _joined(label, _Label(AXES.get(word), HEMISPHERES.get(word)))
        at += 1
        if before and at < len(tokens) and tokens[at].kind == "colon":
            at += 1
    return found


def _is_label(token: Token) -> bool:
    return token.text in AXES or token.text in HEMISPHERES


def _joined(one: _Label, other: _Label) -> _Label | None:
    """Two labels of one number together; ``None`` where they say a thing twice or contradict each other."""
    if one is _UNLABELLED or other is _UNLABELLED:
        return other if one is _UNLABELLED else one
    if (one.axis_word and other.axis_word) or (one.hemisphere and other.hemisphere):
        return None
    if one.axis and other.axis and one.axis != other.axis:
        return None
    return _Label(one.axis_word or other.axis_word, one.hemisphere or other.hemisphere)


def _sign_at(tokens: Tokens, at: int) -> tuple[str, int]:
    if may_be_sign(tokens, at):
        return ("-" if tokens[at].kind == "minus" else "+"), at + 1
    return "", at


def _starts_after(tokens: Tokens, at: int, *, dashed: bool) -> Iterator[int]:
    """Where the second half may begin, behind a dash too if ``dashed``."""
    if at < len(tokens):
        if tokens[at].kind == "separator":
            yield at + 1
        else:
            yield at
            if dashed and may_be_dash(tokens, at):
                yield at + 1


def _half_missing(half: _Half) -> Refusal:
    missing = "longitude" if half.label.axis == "latitude" else "latitude"
    return Refusal(WRONG_VALUE, UnreadablePositionError, f"the {missing} is missing")


def _pair_outcomes(first: _Half, second: _Half, seam_shows: bool, frame: Frame) -> Iterator[Outcome]:
    """The readings of two halves, or the one reason why there is none.

    ``seam_shows`` says whether a letter, a sign or a separator stands between the halves.
    """
    axis, other_axis = first.label.axis, second.label.axis
    if axis is not None and axis == other_axis:
        yield _incomplete(f"there are two {axis}s")
        return
    backward = axis == "longitude" or other_axis == "latitude"
    lat_half, lon_half = _spread(second, first) if backward else _spread(first, second)
    fault = (
        _spelling_fault(lat_half.numbers)
        or _spelling_fault(lon_half.numbers)
        or _label_fault(first, second, seam_shows)
        or _sixty_fault(lat_half.numbers)
        or _sixty_fault(lon_half.numbers)
    )
    if fault is not None:
        yield fault
        return
    lat, lon = _coordinate(lat_half), _coordinate(lon_half)
    fault = _range_fault(lat, lon, frame)
    if fault is not None:
        yield fault
        return
    for north in lat.signs:
        for east in lon.signs:
            yield _outcome(lat.angle, north, lon.angle, east, frame)


def _label_fault(first: _Half, second: _Half, seam_shows: bool) -> Refusal | None:
    if (first.label.hemisphere is None) != (second.label.hemisphere is None):
        return _incomplete("only one of latitude and longitude has its hemisphere: N or S, E or W")
    if not seam_shows and second.numbers[0][0] == "." and "." not in first.numbers[-1]:
        return _incomplete(
            f"{second.numbers[0]} may be a number of its own, or the decimals of the one before it"
        )
    unlabelled = first.label.axis is None and second.label.axis is None
    if (unlabelled or not seam_shows) and first.marked != second.marked:
        count = len(first.numbers) + len(second.numbers)
        return _incomplete(
            f"which of the {count} numbers are the latitude's cannot be told without a letter to each half"
        )
    return None


def _incomplete(message: str) -> Refusal:
    return Refusal(INCOMPLETE, UnreadablePositionError, message)


def _spread(lat: _Half, lon: _Half) -> tuple[_Half, _Half]:
    """The halves with numbers that are run together (``473030N 0083012E``) taken apart.

    A letter or a written sign on both is what shows such a number to be one, and no coordinate of a grid.
    """
    if not ((lat.label.hemisphere and lon.label.hemisphere) or (lat.sign and lon.sign)):
        return lat, lon
    return _taken_apart(lat, "latitude"), _taken_apart(lon, "longitude")


def _taken_apart(half: _Half, axis: Axis) -> _Half:
    digits = len(half.numbers[0].partition(".")[0])
    cuts = _RUN_TOGETHER[axis].get(digits)
    if cuts is None or len(half.numbers) > 1:
        return half
    text = half.numbers[0]
    return half._replace(numbers=tuple(text[start:stop] for start, stop in pairwise((0, *cuts, len(text)))))


def _spelling_fault(numbers: tuple[str, ...]) -> Refusal | None:
    if has_misplaced_decimals(numbers):
        return _incomplete("only the last part of an angle may have decimals")
    for number, most in zip(numbers, (3, 2, 2), strict=False):
        if len(number) > most and len(number.partition(".")[0]) > most:
            message = f"{number} has the wrong number of digits for an angle, and coordinates of a grid need their zone"
            return Refusal(FAR_OFF, UnreadablePositionError, message)
    return None


def _sixty_fault(numbers: tuple[str, ...]) -> Refusal | None:
    sixty = part_of_sixty(numbers)
    if sixty is not None:
        return Refusal(WRONG_VALUE, OutOfRangeError, f"the {sixty} are 60 or more", f"{sixty} below 60")
    return None


def _coordinate(half: _Half) -> _Coordinate:
    return _Coordinate(angle_from_numbers(half.numbers), _signs(half), half.label)


def _signs(half: _Half) -> tuple[int, ...]:
    """The signs the half can be read with: both where a written sign stands against the letter or doubles it."""
    if half.label.hemisphere is None:
        return (-1,) if half.sign == "-" else (1,)
    by_letter = half.label.hemisphere[1]
    unopposed = half.sign == "" or (half.sign == "+" and by_letter == 1)
    return (by_letter,) if unopposed else (by_letter, -by_letter)


def _range_fault(lat: _Coordinate, lon: _Coordinate, frame: Frame) -> Refusal | None:
    if lat.angle.exceeds(90):
        message = "the latitude is over 90 degrees"
        return Refusal(WRONG_VALUE, OutOfRangeError, message, "-90 to 90 degrees", _swapped(lat, lon, frame))
    if not _is_longitude(lon):
        allowed = "0 to 180 degrees with a letter, else -180 to below 360 degrees"
        return Refusal(WRONG_VALUE, OutOfRangeError, "the longitude is out of range", allowed)
    return None


def _is_longitude(coordinate: _Coordinate) -> bool:
    if coordinate.label.hemisphere or -1 in coordinate.signs:
        return not coordinate.angle.exceeds(180)
    return not coordinate.angle.reaches(360)


def _swapped(lat: _Coordinate, lon: _Coordinate, frame: Frame) -> tuple[PositionReading, ...]:
    """The reading with longitude first, where no label forbids it and the numbers allow it."""
    labelled = lat.label.axis or lon.label.axis
    if labelled or lon.angle.exceeds(90) or not _is_longitude(lat):
        return ()
    swapped = _outcome(lon.angle, lon.signs[0], lat.angle, lat.signs[0], frame)
    return (swapped,) if isinstance(swapped, PositionReading) else ()


def _outcome(
    lat: SexagesimalAngle, north: int, lon: SexagesimalAngle, east: int, frame: Frame
) -> PositionReading | Refusal:
    try:
        return _reading(lat, north, lon, east, frame)
    except NavigationError as error:
        return Refusal(WRONG_VALUE, type(error), str(error), error.allowed)


def _reading(
    lat: SexagesimalAngle, north: int, lon: SexagesimalAngle, east: int, frame: Frame
) -> PositionReading:
    if lon.exceeds(180):
        lon, east = lon.less(360), -1
    lat_deg, lon_deg = north * lat.degrees + 0.0, east * lon.degrees + 0.0
    north_word = "north" if north == 1 or lat.count == 0 else "south"
    east_word = "east" if east == 1 or lon.count == 0 else "west"
    metres_north, metres_east = metres_per_degree(lat_deg)
    lat_deg, lon_deg, shift = frame.on_wgs84(lat_deg, -180.0 if lon_deg >= 180.0 else lon_deg)
    return PositionReading(
        form="latitude_longitude",
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        read_as=f"latitude {lat.written(' ')} {north_word}, longitude {lon.written(' ')} {east_word}",
        resolution_north_m=metres_north * lat.last_digit_deg,
        resolution_east_m=metres_east * lon.last_digit_deg,
        shift=shift,
    )
