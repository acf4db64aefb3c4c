"""Client of the threenorths service: navigation mathematics for map and compass.

>>> from threenorths import Client
>>> with Client("http://127.0.0.1:8080") as client:  # doctest: +SKIP
...     place = client.positions.read("33V VE 123 678")
...     norths = client.norths.at(place, date="today")

Members of answers are named as in the JSON of the service, except that ``from`` is ``from_``. Every number's name ends
in its unit; directions are clockwise from the named north, in [0, 360); east and north are positive. Read an answer's
``cautions``: they say what it cannot know well. Check every answer against the map and the ground.
"""

from importlib.metadata import version

from .angle_sources import AnglesFrom
from .answers import AnglesUsed, Azimuth, Caution, MagneticModel, North, Unit
from .batch_files import BatchFile
from .batch_sources import ArrowStream, BatchSource
from .batches import Batch
from .bearings import Bearing
from .checks import CheckedReport, CheckSlip
from .client import Client
from .compass_checks import CheckedReading, CompassCheck, CompassError, Deviation, KnownReading
from .compass_settings import CompassSetting, Setting, Turn
from .errors import (
    ApiError,
    ArgumentError,
    DamagedStreamError,
    FileError,
    InvalidRequestError,
    MemberError,
    NoAnswerError,
    NotFoundError,
    Reading,
    ResponseError,
    ServiceError,
    ThreeNorthsError,
    TimedOutError,
    TransportError,
)
from .fixes import (
    AngleBetween,
    BearingFrom,
    BearingTo,
    DistanceTo,
    FixedPlace,
    Fixes,
    LineStoodOn,
    Observation,
)
from .gradients import Gradient, GradientMethod, SteepestPlace
from .heights import Height, HeightMethod
from .lines import Line
from .local_attractions import CorrectedLeg, LocalAttraction, Station
from .map_distances import MapDistance
from .mil_relations import ByRuleOfThumb, MilRelation, MilUnit
from .norths import Norths
from .place_options import PlaceOptions
from .places import (
    Corner,
    Hemisphere,
    LatLon,
    Position,
    PositionInput,
    Projected,
    ReadPlace,
    Ups,
    UpsCoordinates,
    Utm,
    UtmCoordinates,
    Written,
)
from .positions import Alternative, ExpectedPlace, LocalPosition, PositionRead, Shift, Take
from .rays import Ray
from .reckonings import Leg, Reckoning
from .search_areas import LineInput, SearchArea, SearchAreas, Side
from .sheet_given import Sheet, SheetCorners, SheetGrid
from .sheets import SheetChecked
from .sight_lines import HiddenStretch, SightLine
from .sights import Covariance, Ellipse, Fix, SightFrom, SightTo
from .sky_bearings import SkyBearing, SkyBody, SkyPart
from .to_json import DateInput, MomentInput
from .travel_times import TravelTime
from .twilights import LightStep, SkyEvent, Twilights
from .widths import WalkedAngle, Width, WidthMethod

__all__ = [
    "Alternative",
    "AngleBetween",
    "AnglesFrom",
    "AnglesUsed",
    "ApiError",
    "ArgumentError",
    "ArrowStream",
    "Azimuth",
    "Batch",
    "BatchFile",
    "BatchSource",
    "Bearing",
    "BearingFrom",
    "BearingTo",
    "ByRuleOfThumb",
    "Caution",
    "CheckSlip",
    "CheckedReading",
    "CheckedReport",
    "Client",
    "CompassCheck",
    "CompassError",
    "CompassSetting",
    "Corner",
    "CorrectedLeg",
    "Covariance",
    "DamagedStreamError",
    "DateInput",
    "Deviation",
    "DistanceTo",
    "Ellipse",
    "ExpectedPlace",
    "FileError",
    "Fix",
    "FixedPlace",
    "Fixes",
    "Gradient",
    "GradientMethod",
    "Height",
    "HeightMethod",
    "Hemisphere",
    "HiddenStretch",
    "InvalidRequestError",
    "KnownReading",
    "LatLon",
    "Leg",
    "LightStep",
    "Line",
    "LineInput",
    "LineStoodOn",
    "LocalAttraction",
    "LocalPosition",
    "MagneticModel",
    "MapDistance",
    "MemberError",
    "MilRelation",
    "MilUnit",
    "MomentInput",
    "NoAnswerError",
    "North",
    "Norths",
    "NotFoundError",
    "Observation",
    "PlaceOptions",
    "Position",
    "PositionInput",
    "PositionRead",
    "Projected",
    "Ray",
    "ReadPlace",
    "Reading",
    "Reckoning",
    "ResponseError",
    "SearchArea",
    "SearchAreas",
    "ServiceError",
    "Setting",
    "Sheet",
    "SheetChecked",
    "SheetCorners",
    "SheetGrid",
    "Shift",
    "Side",
    "SightFrom",
    "SightLine",
    "SightTo",
    "SkyBearing",
    "SkyBody",
    "SkyEvent",
    "SkyPart",
    "Station",
    "SteepestPlace",
    "Take",
    "ThreeNorthsError",
    "TimedOutError",
    "TransportError",
    "TravelTime",
    "Turn",
    "Twilights",
    "Unit",
    "Ups",
    "UpsCoordinates",
    "Utm",
    "UtmCoordinates",
    "WalkedAngle",
    "Width",
    "WidthMethod",
    "Written",
    "__version__",
]

__version__: str = version("threenorths")
