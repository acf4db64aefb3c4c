"""Local attractions: iron that turns the needle at a station, found from forward and back bearings along a line."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.cautions import caution
from ..navmath.compasses.compass_check import SD_RANGE_DEG
from ..navmath.compasses.local_attraction import AttractionBasis, LocalAttraction, local_attraction
from ..navmath.errors import AnglesUnreadableError, OutOfRangeError, TooFewReadingsError
from ..navmath.sights.sight import DEFAULT_SD_DEG
from .answer_schemas import CautionedAnswerSchema
from .fields import Azimuth, Bearing, Flag, List, Number, Rounded
from .north_angles import bearing_in_degrees
from .operation import AnswerSchema, Example, Operation, RequestSchema
from .request_schemas import OperationRequestSchema, unit_member

__all__ = ["OPERATION"]

#: More legs than a compass is carried over in a day; it bounds the work of one request.
MOST_LEGS = 200


class ReadLegSchema(RequestSchema):
    """A leg's bearings, one read at either end."""

    forward = Bearing("Read at the leg's start toward its end, in `unit`.", required=True)
    back = Bearing("Read at the leg's end toward its start, in `unit`.", required=True)


class LocalAttractionRequestSchema(OperationRequestSchema):
    """A line or traverse of legs, each from its station to the next, all read from one north."""

    legs = List(
        fields.Nested(ReadLegSchema), "The legs in order.", minimum=1, maximum=MOST_LEGS, required=True
    )
    closed = Flag(
        "Whether the last leg ends where the first began; then there are three legs or more.",
        load_default=False,
    )
    unit = unit_member()
    sd_deg = Number(
        f"Standard deviation of every reading. Left out: {DEFAULT_SD_DEG:g}, for a hand-held sighting compass. [degree]",
        minimum=SD_RANGE_DEG[0],
        maximum=SD_RANGE_DEG[1],
    )


class StationSchema(AnswerSchema):
    """A station."""

    attraction_deg = Rounded(
        "Read there less the correct bearing: subtract it from what was read. [degree]", 4, required=True
    )
    attraction_sd_deg = Rounded(
        "Its standard deviation; 0 where it is taken for none. [degree]", 4, required=True
    )
    free = fields.Boolean(
        required=True, metadata={"description": "Whether the station is taken for free of attraction."}
    )
    affected = fields.Boolean(
        required=True, metadata={"description": "Whether attraction is found: over two standard deviations."}
    )
    angle_deg = Azimuth(
        "Clockwise from the station before to the one after, which no attraction changes; null at the ends of an open line. "
        "[degree]",
        required=True,
        allow_none=True,
    )


class CorrectedLegSchema(AnswerSchema):
    """A leg."""

    difference_deg = Rounded("Forward less back bearing less 180, signed. [degree]", 4, required=True)
    agrees = fields.Boolean(
        required=True, metadata={"description": "Whether the readings explain that difference."}
    )
    corrected_deg = Azimuth(
        "Forward bearing freed of attraction, from both ends. [degree]", places=4, required=True
    )
    residual_deg = Rounded("By what the two corrected bearings still fail 180. [degree]", 4, required=True)


class LocalAttractionAnswerSchema(CautionedAnswerSchema):
    """What is found at each station, and the bearings freed of it."""

    stations = fields.List(
        fields.Nested(StationSchema),
        required=True,
        metadata={"description": "The stations in order: of an open line one more than legs."},
    )
    legs = fields.List(
        fields.Nested(CorrectedLegSchema), required=True, metadata={"description": "The legs in order."}
    )
    misclosure_deg = Rounded(
        "Sum of the differences round a closed traverse, which is that of its angles; null of an open one. [degree]",
        4,
        required=True,
        allow_none=True,
    )
    basis = fields.String(
        required=True,
        metadata={
            "description": "What the corrections are carried from: stations that agree; the largest of groups that disagree; "
            "or, where no leg agrees, the leg that fails by least.",
            "enum": [basis.value for basis in AttractionBasis],
        },
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a local attraction request."""
    unit = request["unit"]
    forward, back = (
        [
            bearing_in_degrees(leg[way], unit, f"legs/{index}/{way}")
            for index, leg in enumerate(request["legs"])
        ]
        for way in ("forward", "back")
    )
    found = local_attraction(forward, back, request.get("sd_deg", DEFAULT_SD_DEG), request["closed"])
    taken = []
    if "sd_deg" not in request:
        message = f"No standard deviation was given: {DEFAULT_SD_DEG:g} degrees was taken for each reading."
        taken.append(caution("default_sd", message))
    stations = _rows(found, ("attraction_deg", "attraction_sd_deg", "free", "affected", "angle_deg"))
    for station, has_angle in zip(stations, found.has_angle, strict=True):
        station["angle_deg"] = station["angle_deg"] if has_angle else None
    answer: dict[str, Any] = {
        "stations": stations,
        "legs": _rows(found, ("difference_deg", "agrees", "corrected_deg", "residual_deg")),
        "misclosure_deg": found.misclosure_deg,
        "basis": found.basis.value,
        "cautions": [*found.cautions, *taken],
    }
    if request["working"]:
        answer["working"] = _working(forward, back, found)
    return answer


def _rows(found: LocalAttraction, names: tuple[str, ...]) -> list[dict[str, Any]]:
    columns = [getattr(found, name).tolist() for name in names]
    return [dict(zip(names, row, strict=True)) for row in zip(*columns, strict=True)]


_BASES = {
    AttractionBasis.FREE_STATIONS: "the ends of legs that agree are taken for free of attraction: stations",
    AttractionBasis.LARGEST_GROUP: "of the groups that agree the largest is taken for free of attraction: stations",
}


def _working(forward: list[float], back: list[float], found: LocalAttraction) -> list[str]:
    steps = [
        f"leg {number}: {there:.2f} - {here:.2f} -+ 180 = {difference:+.2f} degrees, which the readings "
        f"{'explain' if agrees else 'do not explain'}"
        for number, (there, here, difference, agrees) in enumerate(
            zip(forward, back, found.difference_deg, found.agrees, strict=True), start=1
        )
    ]
    if found.basis is AttractionBasis.LEAST_DIFFERENCE:
        steps.append("no leg agrees: half of the least difference is given to either end of its leg")
    else:
        free = ", ".join(str(index + 1) for index, is_free in enumerate(found.free) if is_free)
        steps.append(f"{_BASES[found.basis]} {free}")
    steps.append("carried on: attraction at a leg's end = attraction at its start - difference")
    steps += [
        f"station {number}: attraction {attraction:+.2f} degrees, to be subtracted from what was read there"
        for number, (attraction, affected) in enumerate(
            zip(found.attraction_deg, found.affected, strict=True), start=1
        )
        if affected
    ]
    if found.misclosure_deg is not None:
        steps.append(f"round the traverse the differences add up to {found.misclosure_deg:+.2f} degrees")
    return steps


OPERATION = Operation(
    name="local-attractions",
    summary="Iron at a station, found from forward and back bearings",
    description=(
        "Finds local attraction, iron at a station that turns the needle there, from bearings read at both ends of each leg "
        "along a line or traverse. A compass reads every direction at a station wrong by the same amount, so that the "
        "bearings of a leg fail to differ by 180 degrees by the attraction at one end less that at the other. The ends of "
        "legs that do not fail are taken for free of it, and the bearings are carried on from there, by least squares.\n\n"
        "What all stations have in common does not show: an error of the compass itself, or iron that turns it alike at both "
        "ends of a leg."
    ),
    request=LocalAttractionRequestSchema(),
    answer=LocalAttractionAnswerSchema(),
    run=run,
    errors=(AnglesUnreadableError, OutOfRangeError, TooFewReadingsError),
    examples=(
        Example(
            "along_a_line",
            "Four invented stations, the third beside a steel fence",
            {
                "legs": [
                    {"forward": 96, "back": 276},
                    {"forward": 131, "back": 305.5},
                    {"forward": 82.5, "back": 268},
                ],
                "sd_deg": 0.5,
                "working": True,
            },
        ),
        Example(
            "closed_traverse",
            "An invented triangle, read in degrees and minutes",
            {
                "legs": [
                    {"forward": "40 15", "back": "220 15"},
                    {"forward": "160 30", "back": "337 45"},
                    {"forward": "277 20", "back": "100 05"},
                ],
                "closed": True,
                "sd_deg": 0.25,
            },
        ),
    ),
)
