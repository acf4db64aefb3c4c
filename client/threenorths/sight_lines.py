"""Sight lines: whether one place sees another over a profile of the ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Unpack

from .answers import Caution
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .places import PositionInput
from .to_json import given, pairs_json, position_json

__all__ = ["HiddenStretch", "SightLine", "SightLineOperations"]


@dataclass(frozen=True, slots=True)
class HiddenStretch:
    """A stretch of the line, by the distances of its ends from the observer. [metre]"""

    from_m: float
    to_m: float


@dataclass(frozen=True, slots=True)
class SightLine:
    """Whether the target is seen, and what that rests on. [metre]

    ``verdict`` is ``visible``, ``not_visible`` or ``too_close_to_tell``; ``visible`` is what the heights say as they
    stand. ``margin_sd`` is the least clearance in its own standard deviations, ``None`` where nothing is uncertain. The
    obstruction is where the ground comes nearest to the line, ``clearance_m`` how far the line passes over it. Raised to a
    ``least_`` height that end would just be seen by the heights as they stand, to a ``sure_`` height the verdict would
    be ``visible``: ``None`` where it takes over 1000 m. ``dead_ground`` is not seen itself; in ``target_hidden`` a target
    of the given height is not.
    """

    verdict: str
    visible: bool
    margin_sd: float | None
    clearance_m: float
    clearance_sd_m: float
    obstruction_distance_m: float
    obstruction_height_m: float
    least_target_height_m: float
    sure_target_height_m: float | None
    least_observer_height_m: float
    sure_observer_height_m: float | None
    dead_ground: tuple[HiddenStretch, ...]
    target_hidden: tuple[HiddenStretch, ...]
    height_sd_m: float
    radius_m: float
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class SightLineOperations(Operations):
    """``client.sight_lines``"""

    def check(
        self,
        profile: Sequence[tuple[float, float]],
        *,
        contour_interval_m: float | None = None,
        height_sd_m: float | None = None,
        observer_height_m: float | None = None,
        target_height_m: float | None = None,
        refraction_k: float | None = None,
        refraction_k_sd: float | None = None,
        height_correlation_m: float | None = None,
        radius_m: float | None = None,
        position: PositionInput | None = None,
        azimuth_deg: float | None = None,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> SightLine:
        """Whether the last point of a profile is seen from its first.

        ``profile`` has pairs of distance and height of the ground in metres, from distance 0. How well the heights are
        known is said by the ``contour_interval_m`` that they were read from, or by ``height_sd_m``, 0 to take them as true.
        The earth's radius is a mean unless it is given, or follows from a ``position`` and the true ``azimuth_deg``.

        Raises `NoAnswerError`: ``members_missing``, ``members_conflict``, ``out_of_range``, or any that
        `PositionOperations.read` has for the position; `ArgumentError` where the profile has no pairs.
        """
        members = given(
            profile=pairs_json(profile, "profile", ("distance_m", "height_m")),
            contour_interval_m=contour_interval_m,
            height_sd_m=height_sd_m,
            observer_height_m=observer_height_m,
            target_height_m=target_height_m,
            refraction_k=refraction_k,
            refraction_k_sd=refraction_k_sd,
            height_correlation_m=height_correlation_m,
            radius_m=radius_m,
            position=None if position is None else position_json(position, "position"),
            azimuth_deg=azimuth_deg,
            working=working,
            **place_members(places),
        )
        return self._ask(SightLine, "sight-lines", members)
