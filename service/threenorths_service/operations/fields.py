"""Fields of requests and answers: strict on the way in, rounded on the way out, and described with their units.

marshmallow's own number fields take ``"1.5"`` and ``true`` for numbers; these take what JSON Schema calls a number,
so that the code agrees with the published description. Each complaint says what is allowed.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

__all__ = [
    "LARGEST_SCALE",
    "SCALE_PATTERN",
    "Azimuth",
    "Bearing",
    "Choice",
    "Complaint",
    "DateText",
    "Flag",
    "List",
    "Member",
    "Number",
    "Rounded",
    "Scale",
    "Text",
    "WholeNumber",
]

#: Longest text of a request that is looked at.
TEXT_LIMIT = 200
LARGEST_SCALE = 1_000_000_000.0
#: A written scale; its number may be grouped in threes, so that "1:2.5" is not taken for 1:25.
SCALE_PATTERN = re.compile("1 ?[:/] ?([1-9][0-9]{0,2}(?:[ ,.'\u00a0\u202f][0-9]{3}){0,2}|[1-9][0-9]{0,8})")


class Complaint(str):
    """A message about one member that also carries a stable code and what is allowed."""

    code: str
    allowed: str | None

    def __new__(cls, message: str, *, code: str = "invalid", allowed: str | None = None) -> Complaint:
        """A complaint that reads as ``message``."""
        self = super().__new__(cls, message)
        self.code = code
        self.allowed = allowed
        return self


MISSING = Complaint("This member is required and missing.", code="missing_member")
NULL = Complaint("This member may not be null; leave it out instead.", code="null_member")
UNKNOWN = Complaint("There is no such member.", code="unknown_member")


class Member(fields.Field[Any]):
    """Base of the request fields: one phrase says what is allowed, in the description and in complaints."""

    default_error_messages: Any = {"required": [MISSING], "null": [NULL]}  # noqa: RUF012 - marshmallow reads the class

    def __init__(self, description: str, *, allowed: str, **options: Any) -> None:
        metadata = {"description": description, **options.pop("metadata", {})}
        super().__init__(metadata=metadata, **options)
        self.allowed = allowed

    def refuse(self, message: str, code: str) -> ValidationError:
        """The error to raise about this member."""
        return ValidationError([Complaint(message, code=code, allowed=self.allowed)])


class Number(Member, fields.Float):
    """A finite JSON number within limits; ``above`` and ``below`` are limits that are themselves excluded."""

    def __init__(
        self,
        description: str,
        *,
        minimum: float | None = None,
        maximum: float | None = None,
        above: float | None = None,
        below: float | None = None,
        **options: Any,
    ) -> None:
        limits = {
            "minimum": minimum,
            "maximum": maximum,
            "exclusiveMinimum": above,
            "exclusiveMaximum": below,
        }
        self.limits = {name: limit for name, limit in limits.items() if limit is not None}
        metadata = {**self.limits, **options.pop("metadata", {})}
        super().__init__(
            description, allowed=_range_phrase("a number", self.limits), metadata=metadata, **options
        )

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            raise self.refuse("This is not a number.", "wrong_type")
        if not _within(value, self.limits):
            raise self.refuse("This number is out of range.", "out_of_range")
        return float(value)


class WholeNumber(Member, fields.Integer):
    """A JSON integer within limits; 3.0 counts as one, as JSON Schema has it."""

    def __init__(self, description: str, *, minimum: int, maximum: int, **options: Any) -> None:
        self.limits = {"minimum": minimum, "maximum": maximum}
        metadata = {**self.limits, **options.pop("metadata", {})}
        allowed = _range_phrase("a whole number", self.limits)
        super().__init__(description, allowed=allowed, metadata=metadata, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or value != value // 1:
            raise self.refuse("This is not a whole number.", "wrong_type")
        if not _within(value, self.limits):
            raise self.refuse("This number is out of range.", "out_of_range")
        return int(value)


class Flag(Member, fields.Boolean):
    """``true`` or ``false``, and nothing that merely looks like it."""

    def __init__(self, description: str, **options: Any) -> None:
        super().__init__(description, allowed="true or false", **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise self.refuse("This is neither true nor false.", "wrong_type")
        return value


class Text(Member, fields.String):
    """A text of bounded length."""

    def __init__(self, description: str, *, allowed: str = "a text", **options: Any) -> None:
        metadata = {"minLength": 1, "maxLength": TEXT_LIMIT, **options.pop("metadata", {})}
        super().__init__(description, allowed=allowed, metadata=metadata, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str):
            raise self.refuse("This is not a text.", "wrong_type")
        if not value or len(value) > TEXT_LIMIT:
            raise ValidationError(
                [Complaint("This text is empty or too long.", code="out_of_range", allowed=_LENGTH_PHRASE)]
            )
        return value


_LENGTH_PHRASE = f"1 to {TEXT_LIMIT} characters"


class Choice(Member, fields.String):
    """One of a few words."""

    def __init__(self, description: str, choices: tuple[str, ...], **options: Any) -> None:
        self.choices = choices
        metadata = {"enum": list(choices), **options.pop("metadata", {})}
        super().__init__(description, allowed=", ".join(choices), metadata=metadata, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str) or value not in self.choices:
            raise self.refuse("This is not one of the words allowed.", "not_a_choice")
        return value


class DateText(Member):
    """An ISO 8601 calendar date, or ``today`` for the service's date in UTC; loads as a date."""

    def __init__(self, description: str, **options: Any) -> None:
        super().__init__(description, allowed="a date such as 2026-11-25, or today", **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> datetime.date:
        if value == "today":
            return datetime.datetime.now(datetime.UTC).date()
        # fromisoformat also takes 20261125 and 2026-W48-3, which the description does not promise.
        if (
            not isinstance(value, str)
            or len(value) != 10
            or value[4] != "-"
            or value[7] != "-"
            or not value.isascii()
        ):
            raise self.refuse("This is not a calendar date.", "wrong_type")
        try:
            return datetime.date.fromisoformat(value)
        except ValueError:
            raise self.refuse("There is no such date.", "out_of_range") from None


class Bearing(Member):
    """A direction: a number in the request's unit, or a text in degrees minutes seconds or quadrant notation."""

    def __init__(self, description: str, **options: Any) -> None:
        allowed = "a number from 0 to the full circle of the unit, or a text such as '45 30 15' or 'N 45 E'"
        super().__init__(description, allowed=allowed, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float | str:
        if isinstance(value, bool) or not isinstance(value, (int, float, str)):
            raise self.refuse("This is neither a number nor a text.", "wrong_type")
        if isinstance(value, str):
            if not value or len(value) > TEXT_LIMIT:
                raise self.refuse("This text is empty or too long.", "out_of_range")
            return value
        if not 0.0 <= value <= 6400.0:
            raise self.refuse("This direction is out of range.", "out_of_range")
        return float(value)


class Scale(Member):
    """A representative fraction 1:N, as the number N or as written on the sheet."""

    def __init__(self, description: str, **options: Any) -> None:
        allowed = f"N of the scale 1:N, from 1 to {LARGEST_SCALE:g}, or a text such as '1:50,000'"
        super().__init__(description, allowed=allowed, **options)
        self._number = Number(description, minimum=1, maximum=LARGEST_SCALE)
        self._text = Text(description, allowed=allowed)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float:
        if not isinstance(value, str):
            return float(self._number.deserialize(value))
        written = SCALE_PATTERN.fullmatch(self._text.deserialize(value))
        if written is None:
            raise self.refuse("This is no scale.", "wrong_type")
        return float(self._number.deserialize(int(re.sub("[^0-9]", "", written[1]))))


class List(Member, fields.List[Any]):
    """A list of bounded length."""

    def __init__(
        self, inner: fields.Field[Any], description: str, *, minimum: int, maximum: int, **options: Any
    ) -> None:
        self.minimum, self.maximum = minimum, maximum
        self.allowed = f"a list of {minimum} to {maximum}"
        metadata = {"description": description, "minItems": minimum, "maxItems": maximum}
        fields.List.__init__(self, inner, metadata=metadata, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> list[Any]:
        if not isinstance(value, list):
            raise self.refuse("This is not a list.", "wrong_type")
        if not self.minimum <= len(value) <= self.maximum:
            raise self.refuse(f"This list has {len(value)}.", "out_of_range")
        return fields.List._deserialize(self, value, attr, data, **kwargs)


class Rounded(fields.Float):
    """A number of an answer, rounded to what it can mean. A numpy scalar becomes a plain float."""

    def __init__(self, description: str, places: int, **options: Any) -> None:
        metadata = {"description": description, **options.pop("metadata", {})}
        super().__init__(metadata=metadata, **options)
        self.places = places

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> float | None:
        # Adding nought turns -0.0 into 0.0.
        return None if value is None else round(float(value), self.places) + 0.0


class Azimuth(Rounded):
    """A direction of an answer: rounding never makes it the full circle."""

    def __init__(self, description: str, *, circle: float = 360.0, places: int = 6, **options: Any) -> None:
        metadata = {"minimum": 0, "exclusiveMaximum": circle}
        super().__init__(description, places, metadata=metadata, **options)
        self.circle = circle

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> float | None:
        rounded = super()._serialize(value, attr, obj, **kwargs)
        return 0.0 if rounded == self.circle else rounded


def _within(value: float, limits: Mapping[str, float]) -> bool:
    return (
        limits.get("minimum", -math.inf) <= value <= limits.get("maximum", math.inf)
        and value > limits.get("exclusiveMinimum", -math.inf)
        and value < limits.get("exclusiveMaximum", math.inf)
    )


def _range_phrase(kind: str, limits: Mapping[str, float]) -> str:
    words = {"minimum": "from", "exclusiveMinimum": "above", "maximum": "to", "exclusiveMaximum": "below"}
    order = ("minimum", "exclusiveMinimum", "maximum", "exclusiveMaximum")
    return " ".join([kind, *(f"{words[name]} {limits[name]:g}" for name in order if name in limits)])
