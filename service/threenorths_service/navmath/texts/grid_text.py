"""Reading UTM and UPS coordinates from the tokens of a text.

    text        = [form] zone pair | [form] pair zone
    form        = "UTM" | "UPS"
    zone        = ["zone"] number [hemisphere | "band" letter | letter]       in UTM
                | ["zone"] letter | hemisphere, behind the word UPS           in UPS
    pair        = coordinate coordinate
    coordinate  = [axis] number ["m"] [axis]

A comma, a colon or a dash may stand between any two of these. A pair without its zone names a place only near another, as
does one with a zone number alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ..datums.frame import Frame
from ..errors import NavigationError, OutsideGridError, UnreadablePositionError
from ..grids.grid_limits import EASTING_FROM_M, EASTING_UNDER_M, check_ups, check_utm
from ..grids.projections import UPS_FALSE_ORIGIN_M
from ..grids.zones import band_of
from .position_reading import INCOMPLETE, WRONG_VALUE, Outcome, PartialReference, PositionReading, Refusal
from .text_tokens import METRE_WORDS, Tokens, may_be_dash, past_joint

__all__ = ["GRID_FORM_WORDS", "GRID_WORDS", "grid_outcomes"]

_EASTING_WORDS = frozenset({"E", "EAST", "EASTING"})
_NORTHING_WORDS = frozenset({"N", "NORTH", "NORTHING"})
_HEMISPHERE_WORDS = {"N": False, "NORTH": False, "S": True, "SOUTH": True}
_UTM_BANDS = frozenset("CDEFGHJKLMNPQRSTUVWX")
_UPS_BANDS = frozenset("ABYZ")
GRID_FORM_WORDS = frozenset({"UTM", "UPS"})

#: The words of this grammar, so that a text's other words can be told to be none.
GRID_WORDS = GRID_FORM_WORDS | _EASTING_WORDS | _NORTHING_WORDS | METRE_WORDS | {"ZONE", "BAND"}

#: Shorter numbers than an easting's are looked at only after the word UTM or UPS.
_EASTING_DIGITS = 6
#: A northing, and an easting of UPS, have one more.
_NORTHING_DIGITS = 7
#: From the pole to no nearer than 79 30 S, where the UPS grid ends, and no letters are further: 1200 km. [metre]
_UPS_REACH_M = 1_200_000.0

_NO_ZONE = "these coordinates of a grid need their zone, such as 32T"


class _Zone(NamedTuple):
    """A zone as it was written: of UTM by its number, of UPS without one; the band letter gives the hemisphere too."""

    number: int | None
    south: bool | None = None
    band: str | None = None


class _Pair(NamedTuple):
    easting: str
    northing: str
    #: Whether only one of them has its letter.
    half_lettered: bool


def grid_outcomes(tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    """Every reading of all the tokens as UTM or UPS coordinates, and a refusal for each that comes to nothing.

    Either both coordinates have their letter or neither does, and then the easting comes first. N or S after a zone
    number is the band of that letter or the hemisphere, and both are tried; a band letter holds only where it is the
    band of the place.
    """
    form = tokens[0].text if tokens[0].text in GRID_FORM_WORDS else ""
    if not form and not any(
        _digits(token.text) >= _EASTING_DIGITS for token in tokens if token.kind == "number"
    ):
        return
    start = past_joint(tokens, 1) if form else 0
    for zone, at in (*_zones_at(tokens, start, form), *_polar_hemisphere_at(tokens, start, form)):
        for pair, stop in _pairs_at(tokens, past_joint(tokens, at)):
            if stop == len(tokens):
                yield _outcome(zone, pair, frame)
    for pair, at in _pairs_at(tokens, start):
        if at == len(tokens) and form != "UPS" and _is_whole(pair):
            yield _without_zone(pair, _NO_ZONE)
        for zone, stop in _zones_at(tokens, past_joint(tokens, at), form):
            if stop == len(tokens):
                yield _outcome(zone, pair, frame)


def _digits(number: str) -> int:
    return len(number.partition(".")[0])


def _is_whole(pair: _Pair) -> bool:
    """Whether the two can be an easting and a northing, and both have their letters or neither.

    An easting with a nought before it is rather a longitude, as in ``473000N 0083000E``.
    """
    digits = [_digits(pair.easting), _digits(pair.northing)]
    if (
        pair.half_lettered
        or pair.easting[0] == "0"
        or min(digits) < _EASTING_DIGITS
        or max(digits) > _NORTHING_DIGITS
    ):
        return False
    easting_m, northing_m = float(pair.easting), float(pair.northing)
    on_utm = EASTING_FROM_M <= easting_m < EASTING_UNDER_M
    return on_utm or all(abs(value - UPS_FALSE_ORIGIN_M) <= _UPS_REACH_M for value in (easting_m, northing_m))


def _zones_at(tokens: Tokens, start: int, form: str) -> Iterator[tuple[_Zone, int]]:
    at = start
    if at < len(tokens) and tokens[at].text == "ZONE":
        at = past_joint(tokens, at + 1)
    if at >= len(tokens):
        return
    token = tokens[at]
    if form != "UPS" and token.kind == "number" and len(token.text) <= 2 and token.text.isdigit():
        yield _Zone(int(token.text)), at + 1
        yield from _utm_letters_at(tokens, past_joint(tokens, at + 1), int(token.text))
    if form != "UTM" and token.text in _UPS_BANDS:
        yield _Zone(None, token.text in "AB", token.text), at + 1


def _polar_hemisphere_at(tokens: Tokens, at: int, form: str) -> Iterator[tuple[_Zone, int]]:
    """The hemisphere in place of a UPS letter: only behind the word UPS, since elsewhere it could be a northing's N."""
    if form == "UPS" and at < len(tokens) and tokens[at].text in _HEMISPHERE_WORDS:
        yield _Zone(None, _HEMISPHERE_WORDS[tokens[at].text]), at + 1


def _utm_letters_at(tokens: Tokens, at: int, number: int) -> Iterator[tuple[_Zone, int]]:
    """The hemisphere or the band letter after a zone number."""
    if at >= len(tokens):
        return
    if tokens[at].text in _HEMISPHERE_WORDS:
        yield _Zone(number, south=_HEMISPHERE_WORDS[tokens[at].text]), at + 1
    if tokens[at].text == "BAND":
        at = past_joint(tokens, at + 1)
    if at < len(tokens) and tokens[at].text in _UTM_BANDS:
        yield _Zone(number, tokens[at].text < "N", tokens[at].text), at + 1


def _pairs_at(tokens: Tokens, start: int) -> Iterator[tuple[_Pair, int]]:
    for axis, number, at in _coordinates_at(tokens, start):
        for other_axis, other_number, stop in _coordinates_at(tokens, past_joint(tokens, at)):
            if axis is not None and axis == other_axis:
                continue
            numbers = (number, other_number)
            if axis == "northing":
                numbers = (other_number, number)
            yield _Pair(*numbers, half_lettered=(axis is None) != (other_axis is None)), stop


def _coordinates_at(tokens: Tokens, start: int) -> Iterator[tuple[str | None, str, int]]:
    """Every coordinate that begins here: its axis if a word says so, its number, and where it ends."""
    before = _axis_at(tokens, start)
    at = start if before is None else past_joint(tokens, start + 1)
    if at >= len(tokens) or tokens[at].kind != "number":
        return
    number = tokens[at].text
    at += 1
    yield before, number, at
    if may_be_dash(tokens, at):
        at += 1
    if at < len(tokens) and tokens[at].text in METRE_WORDS:
        at += 1
        yield before, number, at
    after = _axis_at(tokens, at)
    if after is not None and before is None:
        yield after, number, at + 1


def _axis_at(tokens: Tokens, at: int) -> str | None:
    if at < len(tokens) and tokens[at].text in _EASTING_WORDS:
        return "easting"
    if at < len(tokens) and tokens[at].text in _NORTHING_WORDS:
        return "northing"
    return None


def _outcome(zone: _Zone, pair: _Pair, frame: Frame) -> Outcome:
    """The place, or why there is none."""
    if pair.half_lettered:
        message = "only one of the easting and the northing has its letter"
        return Refusal(INCOMPLETE, UnreadablePositionError, message)
    if zone.south is None:
        message = f"zone {zone.number} has no band letter, and no north or south"
        return _without_zone(pair, message, zone.number)
    try:
        return _reading(zone, zone.south, pair, frame)
    except NavigationError as error:
        return Refusal(WRONG_VALUE, type(error), str(error), error.allowed)


def _without_zone(pair: _Pair, message: str, number: int | None = None) -> Outcome:
    """The coordinates as those of a place that can be told only near another."""
    refusal = Refusal(INCOMPLETE, UnreadablePositionError, message)
    if number is not None and not 1 <= number <= 60:
        return refusal
    return PartialReference(number, None, "", pair.easting, pair.northing, whole=True, refusal=refusal)


def _reading(zone: _Zone, south: bool, pair: _Pair, frame: Frame) -> PositionReading:
    easting_m, northing_m = float(pair.easting), float(pair.northing)
    if zone.number is None:
        check_ups(south, easting_m, northing_m)
    else:
        check_utm(zone.number, south, easting_m, northing_m)
    lat_deg, lon_deg, shift = frame.from_grid(zone.number or 0, south, easting_m, northing_m)
    on_datum = (lat_deg, lon_deg) if shift is None else (shift.lat_deg, shift.lon_deg)
    band = _ups_band(south, easting_m) if zone.number is None else _utm_band(*on_datum)
    if zone.band not in (None, band):
        message = f"the coordinates lie in band {band}, not in band {zone.band}"
        raise OutsideGridError(message, allowed=f"band {band}")
    name = "UPS" if zone.number is None else f"UTM {zone.number}"
    hemisphere = "south" if south else "north"
    return PositionReading(
        form="ups" if zone.number is None else "utm",
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        # The hemisphere as a word: in `18S` the letter could be that or the band.
        read_as=f"{name} {hemisphere} {_plain(pair.easting)} m E {_plain(pair.northing)} m N",
        resolution_north_m=_last_digit(pair.northing),
        resolution_east_m=_last_digit(pair.easting),
        zone=zone.number or 0,
        south=south,
        band=band,
        easting_m=easting_m,
        northing_m=northing_m,
        shift=shift,
    )


def _ups_band(south: bool, easting_m: float) -> str:
    return ("AB" if south else "YZ")[easting_m >= UPS_FALSE_ORIGIN_M]


def _utm_band(lat_deg: float, lon_deg: float) -> str:
    """The band of a place on the UTM grid, which reaches half a degree further than its bands."""
    if lat_deg >= 84.0:
        return "X"
    return "C" if lat_deg < -80.0 else str(band_of(lat_deg, lon_deg))


def _plain(number: str) -> str:
    """The number as it was spelled, without leading zeros."""
    whole, _, decimals = number.partition(".")
    return (whole.lstrip("0") or "0") + (f".{decimals}" if decimals else "")


def _last_digit(number: str) -> float:
    return float(10.0 ** -len(number.partition(".")[2]))
