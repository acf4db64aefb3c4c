"""What a check is given: a reported position or bearing, and what was expected of it."""

from __future__ import annotations

from typing import Any

from ..navmath.directions.bearing import NORTHS
from ..navmath.errors import MembersConflictError, MembersMissingError
from .fields import Bearing, Choice, Number, WholeNumber
from .request_schemas import AnglesRequestSchema, Position, north_member, unit_member
from .shapes_given import GivenRing

__all__ = ["CheckRequestSchema", "is_of_bearing"]

#: What a position, and what a bearing, can be held against.
OF_POSITION = ("expected", "area", "digits", "resolution_m")
OF_BEARING = ("expected_bearing", "expected_from", "expected_to")


class CheckRequestSchema(AnglesRequestSchema):
    """A report, and what was expected of it. Of a position: any of a place, an area, a sheet and a precision."""

    reported = Position(
        "The position reported, in any form. One that cannot be read is answered as `unreadable`."
    )
    expected = Position(
        "The place that it should be; needs `tolerance_m`. A reported reference that leaves out its zone or square is looked "
        "for near it, unless `near` is given."
    )
    tolerance_m = Number("How far from the place expected is still right. [m]", minimum=0, maximum=1_000_000)
    area = GivenRing(
        "An area that the position must be in; its edges are straight in longitude and latitude."
    )
    digits = WholeNumber(
        "Precision demanded: digits a side of a grid reference at least, 5 being 1 m. A position in another form must be "
        "written as finely as such a square.",
        minimum=0,
        maximum=5,
    )
    resolution_m = Number(
        "Precision demanded: how finely the position must be written, the side of its square or a unit of its last digit at "
        "most. [m]",
        above=0,
        maximum=1_000_000,
    )
    reported_bearing = Bearing(
        "In place of a position, the bearing reported: a number in `unit`, or a text in degrees or quadrant notation."
    )
    expected_bearing = Bearing(
        "The bearing that it should be, in `expected_unit` from `expected_north`; needs `tolerance_deg`."
    )
    expected_from = Position("In its place, where the bearing was taken; needs `expected_to`.")
    expected_to = Position("What the bearing was taken to.")
    tolerance_deg = Number(
        "How far from the bearing expected is still right. [degree]", minimum=0, maximum=180
    )
    north = north_member()
    unit = unit_member()
    expected_north = Choice("The north that `expected_bearing` is from. Left out: `north`.", NORTHS)
    expected_unit = Choice(
        "Division of the circle that `expected_bearing` is in. Left out: `unit`.",
        tuple(unit_member().choices),
    )
    position = Position(
        "Of a bearing: place whose convergence and modelled declination are used; needs `date`. Left out: `expected_from`, "
        "where a `date` is given and no angle."
    )


def is_of_bearing(request: dict[str, Any]) -> bool:
    """Whether a loaded request is of a bearing, and not of a position.

    Raises
    ------
    MembersMissingError
        There is no report, or nothing to hold it against.
    MembersConflictError
        There are both, or what a report of the other kind is held against.
    """
    kinds = [name for name in ("reported", "reported_bearing") if name in request]
    if not kinds:
        raise MembersMissingError(
            "nothing was reported", member="reported", allowed="reported, or reported_bearing"
        )
    if len(kinds) > 1:
        raise MembersConflictError(
            "a position and a bearing are two reports",
            member="reported_bearing",
            value=request["reported_bearing"],
            allowed="one of them in a request",
        )
    of_bearing = kinds == ["reported_bearing"]
    for name in OF_POSITION if of_bearing else OF_BEARING:
        if name in request:
            kind = "bearing" if of_bearing else "position"
            raise MembersConflictError(
                f"a {kind} is not held against it", member=name, allowed=f"{kinds[0]} without it"
            )
    if of_bearing:
        _check_bearing_members(request)
    else:
        _check_position_members(request)
    return of_bearing


def _check_position_members(request: dict[str, Any]) -> None:
    if "expected" in request and "tolerance_m" not in request:
        raise MembersMissingError(
            "how far from the place expected is still right is not known",
            member="tolerance_m",
            allowed="a tolerance in metres, such as 50",
        )
    sheet = request.get("sheet", {})
    if not any(name in request for name in OF_POSITION) and not ("corners" in sheet or "squares" in sheet):
        raise MembersMissingError(
            "nothing was expected of the position",
            member="expected",
            allowed="expected with tolerance_m, area, a sheet with corners or squares, digits, or resolution_m",
        )


def _check_bearing_members(request: dict[str, Any]) -> None:
    for name, what in (
        ("north", "the north that the bearing is from"),
        ("tolerance_deg", "how far from the bearing expected is still right"),
    ):
        if name not in request:
            raise MembersMissingError(f"{what} is not known", member=name, allowed=f"{name} beside a bearing")
    by_places = "expected_from" in request or "expected_to" in request
    if by_places and "expected_bearing" in request:
        raise MembersConflictError(
            "the bearing expected is said twice",
            member="expected_bearing",
            value=request["expected_bearing"],
            allowed="expected_bearing, or expected_from with expected_to",
        )
    if not by_places and "expected_bearing" not in request:
        raise MembersMissingError(
            "nothing was expected of the bearing",
            member="expected_bearing",
            allowed="expected_bearing, or expected_from with expected_to",
        )
    for name in ("expected_from", "expected_to"):
        if by_places and name not in request:
            raise MembersMissingError(
                "a bearing is from one place to another", member=name, allowed="both places"
            )
