"""What operations that sight a body in the sky share: which body, which part of it, when, and what to beware of."""

from __future__ import annotations

from typing import Any

from ..navmath.cautions import Caution, caution
from ..navmath.errors import MembersConflictError
from ..navmath.skies.sky_bearing import (
    BODIES,
    HIGHEST_SIGHTED_DEG,
    MOON_FROM_SUN_DEG,
    SIGHTED_PARTS,
    WATCH_SD_S,
    SkyBearing,
    SkyStatus,
)
from .fields import Choice, Number

__all__ = ["SKY_YEARS", "body_member", "check_part", "part_member", "sky_cautions", "watch_sd_member"]

#: The years that the sky is known for; a magnetic direction ends with the magnetic model, with 2029.
SKY_YEARS = "from 1900 to 2049"

#: A change in a minute from which the watch matters: a tenth of what a hand compass can be read to, at best half a degree
#: (common practice, no source). [degree]
NOTICED_CHANGE_DEG = 0.05

_NAMES = {"sun": "The sun", "moon": "The moon", "polaris": "Polaris"}


def body_member(description: str, **options: Any) -> Choice:
    """The body that is sighted."""
    return Choice(description, BODIES, **options)


def part_member(**options: Any) -> Choice:
    """The part of a body that is sighted."""
    return Choice(
        "What of the body is sighted: its middle, the edge of its disk on the left or right hand, or the shadow that it "
        "casts, which falls the opposite way. Take the shadow of a plumb line for the sun. Polaris has its middle only.",
        SIGHTED_PARTS,
        **options,
    )


def watch_sd_member() -> Number:
    """How good the watch is."""
    return Number(
        f"Standard deviation of the watch that a moment was read by. Left out: {WATCH_SD_S:g}, for one that was set to the "
        "second. [s]",
        minimum=0,
        maximum=3600,
    )


def check_part(body: str, part: str, member: str) -> None:
    """Raise `MembersConflictError`, naming ``member``, for an edge or a shadow of a star."""
    if body == "polaris" and part != "centre":
        raise MembersConflictError(
            "a star has no edge and casts no shadow", member=member, value=part, allowed="centre, of Polaris"
        )


def sky_cautions(body: str, sky: SkyBearing) -> list[Caution]:
    """What to beware of when one body is sighted."""
    status = SkyStatus(int(sky.status))
    looks_sunward = body == "sun" or status is SkyStatus.TOO_NEAR_SUN
    found = [caution("never_look_at_the_sun")] if looks_sunward else []
    if status is not SkyStatus.IN_SIGHT:
        found.append(caution("body_not_in_sight", _why_not(body, status, float(sky.altitude_deg))))
    change = float(sky.change_deg_per_min)
    if abs(change) >= NOTICED_CHANGE_DEG:
        message = f"The bearing is as good as the watch: in a minute it changes by {change:+.2f} degrees."
        found.append(caution("sky_by_the_watch", message))
    return found


def _why_not(body: str, status: SkyStatus, altitude_deg: float) -> str:
    name = _NAMES[body]
    return {
        SkyStatus.BELOW_HORIZON: f"{name} is below the horizon, at {altitude_deg:.1f} degrees.",
        SkyStatus.TOO_HIGH: f"{name} stands {altitude_deg:.0f} degrees high: above {HIGHEST_SIGHTED_DEG:.0f} a sight that "
        "leans by one degree is off by four or more.",
        SkyStatus.LOST_IN_DAYLIGHT: f"{name} is above the horizon, but it is too light to see a star.",
        SkyStatus.TOO_NEAR_SUN: f"{name} is within {MOON_FROM_SUN_DEG:.0f} degrees of the sun: do not look for it.",
    }[status]
