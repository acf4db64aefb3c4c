"""Sky bearings: where the sun, the moon or Polaris stands, to check a compass by with no map."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Literal, Unpack

from .answers import Caution, MagneticModel
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .places import PositionInput, ReadPlace
from .to_json import MomentInput, given, moment_json, position_json

__all__ = ["SkyBearing", "SkyBearingOperations", "SkyBody", "SkyPart"]

#: A body in the sky.
SkyBody = Literal["sun", "moon", "polaris"]

#: What of it is sighted: its middle, the edge on the left or right hand, or the shadow that it casts.
SkyPart = Literal["centre", "left_limb", "right_limb", "shadow"]


@dataclass(frozen=True, slots=True)
class SkyBearing:
    """Where a body stands; the azimuths are of the part that is sighted. [degree], [degree/minute]

    **Never look at the sun, and never sight it through a lens or a mirror: it blinds.** ``status`` is ``"in_sight"``, or
    says why no bearing can be taken. ``greatest_error_deg`` is the theory's by a watch that is right; the standard deviations
    have the watch in them, and of the magnetic azimuth the declination.
    """

    body: str
    part: str
    moment: datetime.datetime
    status: str
    true_azimuth_deg: float
    grid_azimuth_deg: float
    magnetic_azimuth_deg: float
    true_azimuth_sd_deg: float
    magnetic_azimuth_sd_deg: float
    greatest_error_deg: float
    change_deg_per_min: float
    altitude_deg: float
    semidiameter_deg: float
    limb_offset_deg: float
    declination_deg: float
    declination_sd_deg: float
    convergence_deg: float
    position: ReadPlace
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class SkyBearingOperations(Operations):
    """``client.sky_bearings``"""

    def at(
        self,
        body: SkyBody,
        position: PositionInput,
        moment: MomentInput,
        part: SkyPart | None = None,
        *,
        height_m: float | None = None,
        watch_sd_s: float | None = None,
        model: MagneticModel | None = None,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> SkyBearing:
        """The bearing of a body, or of the shadow that it casts, at a place and moment.

        **Never look at the sun, and never sight it through a lens or a mirror: it blinds.** Take the ``"shadow"`` of a plumb
        line. [metre], [second]

        Raises `NoAnswerError`: ``date_outside_model``, ``members_conflict``, ``out_of_range``, or any that
        `PositionOperations.read` has for the position.
        """
        members = given(
            body=body,
            position=position_json(position, "position"),
            moment=moment_json(moment, "moment"),
            part=part,
            height_m=height_m,
            watch_sd_s=watch_sd_s,
            model=model,
            working=working,
            **place_members(places),
        )
        return self._ask(SkyBearing, "sky-bearings", members)
