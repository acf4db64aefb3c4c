"""What can be wrong with an MGRS reference, and the error that says so."""

from __future__ import annotations

import re
from enum import IntEnum

from ..errors import NavigationError, OutOfRangeError, SquareNotInZoneError, UnreadablePositionError
from .mgrs_letters import Lettering

__all__ = ["LONGEST_TEXT", "MOST_DIGITS", "MgrsStatus", "mgrs_error"]

#: The longest text that is looked at. A reference has 15 characters, and some spaces.
LONGEST_TEXT = 40
#: Five digits a side name a square of 1 m.
MOST_DIGITS = 5


class MgrsStatus(IntEnum):
    """How the reading of one reference went: 0 is good, the others say what is wrong first."""

    OK = 0
    NOT_MGRS = 1
    INCOMPLETE = 2
    ZONE_NUMBER = 3
    BAND_LETTER = 4
    ZONE_MISSING = 5
    NO_SUCH_ZONE = 6
    UNEQUAL_HALVES = 7
    ODD_DIGITS = 8
    TOO_MANY_DIGITS = 9
    SQUARE_LETTER = 10
    SQUARE_NOT_IN_ZONE = 11


_WELL_FORMED = "a grid reference such as 32TMT6543212345, 32T MT 654 123 or ZAH1234512345"

_UNREADABLE = {
    MgrsStatus.NOT_MGRS: (
        "the text is not made up as a grid reference is: zone number, band letter, two square letters, figures"
    ),
    MgrsStatus.INCOMPLETE: "the grid zone {zone}{band} is named, but not its 100 km square by two letters",
    MgrsStatus.BAND_LETTER: "{band} is not a band letter of a numbered grid zone: those are C to X without I and O",
    MgrsStatus.ZONE_MISSING: "the zone number is missing before {band}: only A, B, Y and Z, near the poles, have none",
    MgrsStatus.ODD_DIGITS: "{count} figures cannot be halved: easting and northing have the same number of figures",
    MgrsStatus.UNEQUAL_HALVES: "{halves}: easting and northing have the same number of figures",
    MgrsStatus.TOO_MANY_DIGITS: "{count} figures are too many: a square of 1 m has 5 for its easting and 5 for its northing",
    MgrsStatus.SQUARE_LETTER: "no square is named with the letter I or O, as {square} is",
}

_PARTS = re.compile(
    r"(?P<zone>[0-9]{0,2})\s*(?P<band>[A-Z])\s*(?P<column>[A-Z]?)\s*(?P<row>[A-Z]?)\s*(?P<figures>[0-9\s]*)"
)


def mgrs_error(status: int, text: str, lettering: Lettering = "AA") -> NavigationError:
    """The named error for the status that `read_mgrs` gave to ``text``; a ``ValueError`` for `MgrsStatus.OK`."""
    status = MgrsStatus(status)
    if status is MgrsStatus.OK:
        raise ValueError("there is no error to tell of")
    value = text.strip()[:LONGEST_TEXT]
    words = _words(value.upper())
    if status is MgrsStatus.ZONE_NUMBER:
        zone = int(words["zone"])
        return OutOfRangeError(f"there is no grid zone {zone}", value=zone, allowed="1 to 60")
    if status is MgrsStatus.NO_SUCH_ZONE:
        return SquareNotInZoneError(
            f"there is no grid zone {words['zone']}{words['band']}: Svalbard has 31X, 33X, 35X and 37X",
            value=value,
        )
    if status is MgrsStatus.SQUARE_NOT_IN_ZONE:
        square = words["square"] + words["figures"]
        # Whoever reads a letter of the one lettering in the other must learn of it: no second look would show it.
        old = " in the lettering AL, which old datums have" if lettering == "AL" else ""
        return SquareNotInZoneError(
            f"the grid zone {words['zone']}{words['band']} holds no square {square}{old}", value=value
        )
    return UnreadablePositionError(_UNREADABLE[status].format(**words), value=value, allowed=_WELL_FORMED)


def _words(text: str) -> dict[str, str]:
    """What the messages say of a text: its parts as far as it has them."""
    match = _PARTS.match(text)
    if match is None:
        return {}
    groups = match["figures"].split()
    halves = "the spaces do not part the figures in the middle"
    if len(groups) == 2:
        halves = f"the easting has {len(groups[0])} figures and the northing {len(groups[1])}"
    figures = "".join(groups)
    return {
        "zone": match["zone"],
        "band": match["band"],
        "square": match["column"] + match["row"],
        "figures": figures and " " + figures,
        "count": str(len(figures)),
        "halves": halves,
    }
