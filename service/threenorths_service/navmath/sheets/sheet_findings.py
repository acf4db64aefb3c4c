"""Findings: what a check of a map sheet can find wrong with it. The one list of their codes and meanings."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

__all__ = ["FINDINGS", "Finding", "finding"]

#: What each finding means, for the documentation. A finding's message puts the numbers in.
FINDINGS = MappingProxyType(
    {
        "corners_out_of_order": "A corner does not lie where its name says: two were exchanged, or a sign is wrong.",
        "corner_unusable": "A corner is no place: its latitude or its longitude is out of range.",
        "corner_outside_grid": "The sheet lies outside what its grid reaches: a corner or the grid is wrong.",
        "outside_datum_area": "No shift from the sheet's datum was determined there: the datum or a corner is wrong.",
        "datum_shift_unknown": "No shift from the sheet's datum to WGS 84 is known: nothing can be placed on the sheet.",
        "grid_on_other_datum": "The sheet's grid stands on another datum than the sheet: one of the two is wrong.",
        "sides_unequal": "Opposite sides or the diagonals differ by more than the meridians explain: a corner is wrong.",
        "too_large_on_paper": "At this scale the sheet would be over 2 m long: the scale or a corner is wrong.",
        "too_small_on_paper": "At this scale the sheet would be under 5 cm long: the scale or a corner is wrong.",
        "other_grid_zone": "The sheet's middle lies in another grid zone than that of its grid.",
        "other_hemisphere": "The sheet's middle lies in the other hemisphere than that of its grid.",
        "square_not_touched": "The sheet names a 100 km square that it does not reach: the square or a corner is wrong.",
        "convergence_disagrees": "The printed convergence is not that of the grid at the sheet's middle.",
        "angles_contradict": "The printed declination less the printed convergence is not the grid-magnetic angle printed.",
        "angle_disagrees": "The printed angle differs from the model for its year by more than can be explained.",
        "angle_not_compared": "The printed angle has no year, or one that the model does not reach: it was not compared.",
        "sign_slip": "A printed angle fits with the other sign: east was taken for west.",
        "angle_stale": "The printed angle is by now off by more than a hand-held compass is: use the angle of today.",
        "annual_change_disagrees": "Carried to today by the sheet's annual change, the printed angle misses the model.",
    }
)


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding: a code of `FINDINGS`, a sentence with the numbers put in, and the member of the sheet it is about."""

    code: str
    message: str
    member: str | None = None


def finding(code: str, message: str, member: str | None = None) -> Finding:
    """A finding of the list; an unlisted code is a ``KeyError``."""
    FINDINGS[code]
    return Finding(code, message, member)
