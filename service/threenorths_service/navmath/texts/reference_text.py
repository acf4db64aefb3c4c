"""Reading MGRS and USNG references from the tokens of a text.

    text  = ["MGRS" | "USNG"] [zone number] letters {figures}

A comma or a dash may stand between any two of these. What the letters and figures say is left to `mgrs`; a text without
its zone, or with too few letters, is a reference that names a place only near another.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ..datums.datum import DatumShift
from ..datums.frame import Frame
from ..errors import NavigationError, UnreadablePositionError
from ..grids.grid import to_grid
from ..grids.zones import BANDS
from ..references.mgrs import MgrsSquares, read_mgrs_text
from ..references.mgrs_status import MOST_DIGITS
from .figures import halves
from .grid_text import GRID_FORM_WORDS
from .position_reading import (
    INCOMPLETE,
    WRONG_VALUE,
    GridSquare,
    Outcome,
    PartialReference,
    PositionReading,
    Refusal,
)
from .text_tokens import MAX_TEXT_CHARACTERS, Tokens, past_joint, tokenize

__all__ = ["REFERENCE_WORDS", "reference_outcomes"]

#: The words of this grammar, so that a text's other words can be told to be none.
REFERENCE_WORDS = frozenset({"MGRS", "USNG"})

#: The band letter and the two letters of the 100 km square.
_LETTERS = 3
#: The letters of a square, and what stands before figures for "grid reference": it may be either.
_GRID_REFERENCE = "GR"
_ZONE_DIGITS = 2


class _Reference(NamedTuple):
    zone: str
    letters: str
    figures: tuple[str, ...]

    def written(self) -> str:
        """One text of it, with the figures parted as they were."""
        return f"{self.zone}{self.letters} {' '.join(self.figures)}"


def reference_outcomes(tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    """The reading of all the tokens as an MGRS reference, or the reason why there is none; nothing if they are unlike one."""
    reference = _reference(tokens)
    if reference is None:
        if tokens[0].kind == "word":
            yield from _zone_behind_band(tokens, frame)
        return
    if len(reference.letters) > _LETTERS:
        return
    if len(reference.letters) < _LETTERS:
        # With more figures than a reference has, these are rather coordinates of a grid.
        if sum(map(len, reference.figures)) <= 2 * MOST_DIGITS:
            partial = _partial(reference, Refusal(INCOMPLETE, UnreadablePositionError, _missing(reference)))
            if isinstance(partial, PartialReference) and partial[:3] == (None, None, _GRID_REFERENCE):
                yield partial._replace(letters="")
            yield partial
        return
    try:
        yield _reading(reference, read_mgrs_text(reference.written(), ellipsoid=frame.datum.ellipsoid), frame)
    except NavigationError as error:
        nearness = INCOMPLETE if isinstance(error, UnreadablePositionError) else WRONG_VALUE
        refusal = Refusal(nearness, type(error), str(error), error.allowed)
        yield refusal if reference.zone or nearness is not INCOMPLETE else _partial(reference, refusal)


def _reference(tokens: Tokens) -> _Reference | None:
    """The parts of a text that is made up like a reference."""
    if tokens[0].text in GRID_FORM_WORDS:
        return None
    at = past_joint(tokens, 1) if tokens[0].text in REFERENCE_WORDS else 0
    zone, at = _run(tokens, at, "number", most=1)
    letters, at = _run(tokens, at, "word")
    figures, at = _run(tokens, at, "number")
    if at < len(tokens) or not letters or any("." in number for number in (*zone, *figures)):
        return None
    return _Reference("".join(zone), "".join(letters), tuple(figures))


def _zone_behind_band(tokens: Tokens, frame: Frame) -> Iterator[Refusal]:
    """Why ``V33 VK 1234 8012`` is no reference, with the one that it likely is."""
    band, at = _run(tokens, 0, "word", most=1)
    zone, at = _run(tokens, at, "number", most=1)
    letters, at = _run(tokens, at, "word")
    figures, at = _run(tokens, at, "number")
    turned = _Reference("".join(zone), "".join(band + letters), tuple(figures))
    if at < len(tokens) or not (zone and letters) or len(turned.letters) != _LETTERS:
        return
    outcomes = reference_outcomes(tokenize(turned.written()), frame)
    offered = tuple(outcome for outcome in outcomes if isinstance(outcome, PositionReading))
    if offered:
        message = f"the number of the grid zone stands before its letter: {zone[0]}{band[0]}"
        yield Refusal(INCOMPLETE, UnreadablePositionError, message, offered[0].read_as, offered)


def _run(tokens: Tokens, at: int, kind: str, most: int = MAX_TEXT_CHARACTERS) -> tuple[list[str], int]:
    """The texts of the tokens of one kind from ``at`` on, ``most`` of them at most, and where the next part begins."""
    texts: list[str] = []
    while at < len(tokens) and tokens[at].kind == kind and len(texts) < most:
        texts.append(tokens[at].text)
        at = past_joint(tokens, at + 1)
    return texts, at


def _partial(reference: _Reference, refusal: Refusal) -> PartialReference | Refusal:
    """The reference as one that names a place near another, if its letters and figures are whole as far as they go."""
    zone = int(reference.zone or "0")
    band, letters = reference.letters, ""
    if len(band) > 1:
        band, letters = band[:-2], band[-2:]
    found = halves(reference.figures)
    in_order = (not band or band in BANDS) and "I" not in letters
    if found is None or not in_order or zone > 60 or (reference.zone and not zone) or not (letters or zone):
        return refusal
    return PartialReference(zone or None, band or None, letters, *found, whole=False, refusal=refusal)


def _missing(reference: _Reference) -> str:
    zone, letters, figures = reference
    if not zone and figures and _may_be_zone(figures):
        return f"{figures[0]} behind {letters} is no grid zone: that and its letter stand first, as in 33V {letters}"
    if zone and len(letters) == 1:
        return f"the two letters of the 100 km square are missing after {zone}{letters}"
    if zone:
        return f"one of the three letters is missing in {zone}{letters}: the band letter and the two of the square"
    if len(letters) == 2:
        return f"the grid zone, such as 32T, is missing: there is a square {letters} in many zones"
    return (
        f"the grid zone and the two letters of the 100 km square are not all there: {letters} is too little"
    )


def _may_be_zone(figures: tuple[str, ...]) -> bool:
    """Whether the first group is a zone, and the others are easting and northing alone."""
    return (
        1 <= int(figures[0]) <= 60
        and len(figures[0]) <= _ZONE_DIGITS
        and halves(figures[1:]) is not None
        and len(figures[0]) != len(figures[1])
    )


def _reading(reference: _Reference, square: MgrsSquares, frame: Frame) -> PositionReading:
    zone, south, size_m = int(square.zone), bool(square.south), float(square.size_m)
    easting_m, northing_m = _point_m(square, frame)
    lat_deg, lon_deg, shift = _place(square, frame)
    number = f"{zone:02d}" if zone else ""
    return PositionReading(
        form="mgrs",
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        read_as=f"MGRS {number}{reference.letters}{''.join(reference.figures)}",
        resolution_north_m=size_m,
        resolution_east_m=size_m,
        zone=zone,
        south=south,
        band=str(square.band),
        easting_m=easting_m,
        northing_m=northing_m,
        square=GridSquare(
            size_m=size_m,
            digits=int(square.digits),
            zone=zone,
            south=south,
            corner_easting_m=float(square.easting_m),
            corner_northing_m=float(square.northing_m),
            cut=bool(square.cut),
            overlap=bool(square.overlap),
            frame=frame,
        ),
        shift=shift,
    )


def _place(square: MgrsSquares, frame: Frame) -> tuple[float, float, DatumShift | None]:
    """The point that stands for the square on WGS 84."""
    return frame.from_greenwich(float(square.lat_deg), float(square.lon_deg))


def _point_m(square: MgrsSquares, frame: Frame) -> tuple[float, float]:
    """Easting and northing of the point that stands for the square."""
    if square.cut:
        ellipsoid = frame.datum.ellipsoid
        grid = to_grid(square.lat_deg, square.lon_deg, square.zone, square.south, ellipsoid=ellipsoid)
        return float(grid.easting_m), float(grid.northing_m)
    half_m = float(square.size_m) / 2.0
    return float(square.easting_m) + half_m, float(square.northing_m) + half_m
