"""Local attraction: iron at a station that turns the needle there, found from forward and back bearings along a line.

A compass that stands at a station reads every direction there wrong by the same amount. So the two bearings of a leg, one
from each end, fail to differ by 180 degrees by the attraction at one end less that at the other. Plane surveying takes the
ends of a leg that does not fail for free of attraction, and carries the bearings on from there.

What all stations have in common does not show: an error of the compass itself, or a magnetic field that is off all about.
On legs of a kilometre the meridians of the two ends draw together by a hundredth of a degree; that is left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_azimuth, normalise_signed
from ..cautions import Caution, caution
from ..errors import TooFewReadingsError
from ..estimates.estimate import checked
from ..rows import BoolArray, IntArray
from .compass_check import ANGLE_RANGE_DEG, SD_RANGE_DEG

__all__ = ["AttractionBasis", "LocalAttraction", "local_attraction"]

#: A leg's bearings agree when they fail 180 degrees by no more than so many standard deviations of that: 95 per cent.
AGREE_SD = 2.0


class AttractionBasis(Enum):
    """What the corrections are carried from: stations that agree; of several groups of those the largest, though they differ
    from each other; or, where no leg agrees, the leg that fails by least, half to either end.
    """

    FREE_STATIONS = "free_stations"
    LARGEST_GROUP = "largest_group"
    LEAST_DIFFERENCE = "least_difference"


@dataclass(frozen=True, slots=True)
class LocalAttraction:
    """What is found along a traverse of n stations and m legs, each from its station to the next. [degree]

    Of stations, shape (n,): ``attraction_deg``, what was read there less the correct bearing, in (-180, 180], to be
    subtracted; ``attraction_sd_deg``; ``free``, whether it is taken for free of attraction, and ``affected``, whether
    attraction is found there: over two standard deviations. ``angle_deg``, clockwise
    from the station before to the one after, which no attraction changes, NaN at the ends of an open traverse
    (``has_angle`` tells).

    Of legs, shape (m,): ``difference_deg``, forward less back bearing less 180; ``agrees``; ``corrected_deg``, the forward
    bearing from both ends, and ``residual_deg``, by which the two corrected bearings still fail 180.

    ``misclosure_deg`` is the sum of the differences round a closed traverse, which is also that of its angles; ``None`` of
    an open one.
    """

    attraction_deg: FloatArray
    attraction_sd_deg: FloatArray
    free: BoolArray
    affected: BoolArray
    angle_deg: FloatArray
    has_angle: BoolArray
    difference_deg: FloatArray
    agrees: BoolArray
    corrected_deg: FloatArray
    residual_deg: FloatArray
    misclosure_deg: float | None
    basis: AttractionBasis
    cautions: tuple[Caution, ...]


def local_attraction(
    forward_deg: ArrayLike, back_deg: ArrayLike, sd_deg: float, closed: bool = False
) -> LocalAttraction:
    """The attraction at each station, and the bearings freed of it.

    Parameters
    ----------
    forward_deg, back_deg : array_like, shape (m,)
        Of each leg, read at its start toward its end, and at its end toward its start, from one north. [degree]
    sd_deg : float
        Standard deviation of every reading, 0.001 to 45. [degree]
    closed : bool
        Whether the last leg ends where the first began. A closed traverse has three legs or more.

    Raises
    ------
    TooFewReadingsError
        There are fewer legs than one, or than three of a closed traverse.
    OutOfRangeError
        A value is out of its range.
    """
    forward, back = np.broadcast_arrays(
        normalise_azimuth(np.atleast_1d(checked("forward_deg", forward_deg, *ANGLE_RANGE_DEG))),
        normalise_azimuth(np.atleast_1d(checked("back_deg", back_deg, *ANGLE_RANGE_DEG))),
    )
    sd = float(checked("sd_deg", sd_deg, *SD_RANGE_DEG))
    fewest = 3 if closed else 1
    if len(forward) < fewest:
        raise TooFewReadingsError(
            f"the traverse has {len(forward)} legs", member="legs", allowed=f"{fewest} legs or more"
        )
    start = np.arange(len(forward))
    stations = len(forward) + (0 if closed else 1)
    end = (start + 1) % stations
    difference = normalise_signed(forward - back - 180.0)
    agrees = np.abs(difference) <= AGREE_SD * np.sqrt(2.0) * sd
    attraction, attraction_sd, free, basis = _carried(end, difference, agrees, sd, stations)
    residual = normalise_signed(difference - attraction[start] + attraction[end])
    misclosure = float(normalise_signed(np.sum(difference))) if closed else None
    angle, has_angle = _angles(forward, back, closed)
    return LocalAttraction(
        attraction_deg=normalise_signed(attraction),
        attraction_sd_deg=attraction_sd,
        free=free,
        affected=~free & (np.abs(attraction) > AGREE_SD * attraction_sd),
        angle_deg=angle,
        has_angle=has_angle,
        difference_deg=difference,
        agrees=agrees,
        corrected_deg=normalise_azimuth(forward - attraction[start] - residual / 2.0),
        residual_deg=residual,
        misclosure_deg=misclosure,
        basis=basis,
        cautions=_cautions(basis, difference, misclosure, sd),
    )


def _carried(
    end: IntArray, difference: FloatArray, agrees: BoolArray, sd: float, stations: int
) -> tuple[FloatArray, FloatArray, BoolArray, AttractionBasis]:
    """Attraction, its standard deviation, which stations are free, and the basis."""
    group = _groups(end, agrees, stations)
    if not np.any(agrees):
        attraction, attraction_sd = _from_least_difference(end, difference, sd, stations)
        return attraction, attraction_sd, np.zeros(stations, dtype=np.bool_), AttractionBasis.LEAST_DIFFERENCE
    free = group == np.argmax(np.bincount(group[group >= 0]))
    none = np.zeros(stations)
    attraction, attraction_sd = _adjusted(end, difference, sd, free, none)
    for other in np.unique(group[(group >= 0) & ~free]):
        members = group == other
        if np.all(np.abs(attraction[members]) <= AGREE_SD * attraction_sd[members]):
            free = free | members
    basis = AttractionBasis.FREE_STATIONS
    if np.any((group >= 0) & ~free):
        basis = AttractionBasis.LARGEST_GROUP
    return *_adjusted(end, difference, sd, free, none), free, basis


def _groups(end: IntArray, agrees: BoolArray, stations: int) -> IntArray:
    """The group of each station, shape (n,): those joined by legs that agree, counted from 0 on; -1 in none."""
    group = np.full(stations, -1)
    count = 0
    for leg in np.flatnonzero(agrees):
        if group[leg] < 0:
            group[leg] = count
            count += 1
        if group[end[leg]] >= 0:
            # The last leg of a ring may come back to the first group.
            group[group == group[leg]] = group[end[leg]]
        group[end[leg]] = group[leg]
    return group


def _from_least_difference(
    end: IntArray, difference: FloatArray, sd: float, stations: int
) -> tuple[FloatArray, FloatArray]:
    """Half of the least difference to either end of its leg.

    What all have in common stays unknown: the standard deviations hold as much for it as the attractions spread.
    """
    leg = int(np.argmin(np.abs(difference)))
    taken = np.zeros(stations)
    taken[leg], taken[end[leg]] = difference[leg] / 2.0, -difference[leg] / 2.0
    given = np.zeros(stations, dtype=np.bool_)
    given[[leg, end[leg]]] = True
    attraction, attraction_sd = _adjusted(end, difference, sd, given, taken)
    return attraction, np.hypot(attraction_sd, np.sqrt(np.mean(attraction**2)))


def _adjusted(
    end: IntArray, difference: FloatArray, sd: float, given: BoolArray, taken: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Attractions by least squares from the legs' differences, those of the ``given`` stations kept as ``taken``.

    Along an open traverse that is the carrying on from leg to leg; round a closed one the misclosure is shared out.
    """
    attraction, variance = taken.copy(), np.zeros(len(taken))
    unknown = np.flatnonzero(~given)
    if len(unknown):
        legs = np.arange(len(difference))
        design = np.zeros((len(legs), len(taken)))
        design[legs, legs] = 1.0
        design[legs, end] = -1.0
        used = ~(given[legs] & given[end])
        normal_inverse = np.linalg.inv(design[used][:, unknown].T @ design[used][:, unknown])
        right = design[used][:, unknown].T @ (difference - design @ taken)[used]
        attraction[unknown] = normal_inverse @ right
        variance[unknown] = 2.0 * sd**2 * np.diag(normal_inverse)
    return attraction, np.sqrt(variance)


def _angles(forward: FloatArray, back: FloatArray, closed: bool) -> tuple[FloatArray, BoolArray]:
    stations = len(forward) + (0 if closed else 1)
    has_angle = np.full(stations, True)
    angle = np.full(stations, np.nan)
    if closed:
        angle = normalise_azimuth(forward - np.roll(back, 1))
    else:
        has_angle[[0, -1]] = False
        angle[1:-1] = normalise_azimuth(forward[1:] - back[:-1])
    return angle, has_angle


def _cautions(
    basis: AttractionBasis, difference: FloatArray, misclosure: float | None, sd: float
) -> tuple[Caution, ...]:
    found = []
    if basis is AttractionBasis.LARGEST_GROUP:
        found.append(caution("free_stations_disagree"))
    if basis is AttractionBasis.LEAST_DIFFERENCE:
        found.append(caution("no_free_station"))
    found += [
        caution(
            "reading_suspect",
            f"The bearings of leg {leg + 1} fail 180 degrees by {difference[leg]:+.0f}: one was read reversed.",
        )
        for leg in np.flatnonzero(np.abs(difference) > 90.0)
    ]
    if misclosure is not None and abs(misclosure) > AGREE_SD * np.sqrt(2.0 * len(difference)) * sd:
        message = f"Round the traverse the differences add up to {misclosure:+.2f} degrees, not 0: suspect a blunder."
        found.append(caution("traverse_misclosed", message))
    return tuple(found)
