"""Angles in degrees, minutes and seconds, held exactly: as a whole count of their last written digit.

``47° 30.5'`` is 28505 tenths of a minute, of which 600 make a degree. Splitting, carrying and range checks are
then sums of whole numbers, and the one division that gives degrees is correctly rounded.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from ..errors import OutOfRangeError
from .text_tokens import DEGREE_WORDS, MINUTE_WORDS, SECOND_WORDS, Tokens, may_be_dash

__all__ = [
    "MAX_DECIMALS",
    "SexagesimalAngle",
    "WrittenParts",
    "angle_from_numbers",
    "has_misplaced_decimals",
    "part_of_sixty",
    "parts_at",
    "rounded_angle",
]

#: The mark after degrees, minutes and seconds: the kind of token, and the words for it.
_MARKS = (("degree", DEGREE_WORDS), ("minute", MINUTE_WORDS), ("second", SECOND_WORDS))
_SIGNS_WRITTEN = ("°", "'", '"')

#: Degrees, minutes and seconds of a degree.
_PER_DEGREE = (1, 60, 3600)

#: Decimals that an angle is written with at most: a double holds no more of a number of degrees.
MAX_DECIMALS = 12


@dataclass(frozen=True, slots=True)
class SexagesimalAngle:
    """An angle of no sign, as ``count`` units of the last digit of its last part."""

    count: int
    #: Parts it is written in: 1 degrees, 2 and minutes, 3 and seconds.
    parts: int
    #: Decimals of the last part.
    decimals: int

    @property
    def per_degree(self) -> int:
        """How many units make a degree."""
        power: int = 10**self.decimals
        return _PER_DEGREE[self.parts - 1] * power

    @property
    def degrees(self) -> float:
        """The angle. [degree]"""
        return self.count / self.per_degree

    @property
    def last_digit_deg(self) -> float:
        """The size of one unit of the last digit. [degree]"""
        return 1 / self.per_degree

    def exceeds(self, degrees: int) -> bool:
        """Whether the angle is more than a whole number of degrees, decided exactly."""
        return self.count > degrees * self.per_degree

    def reaches(self, degrees: int) -> bool:
        """Whether the angle is a whole number of degrees or more, decided exactly."""
        return self.count >= degrees * self.per_degree

    def less(self, degrees: int) -> SexagesimalAngle:
        """The size of the difference from a whole number of degrees."""
        return replace(self, count=abs(self.count - degrees * self.per_degree))

    def written(self, gap: str = "") -> str:
        """Such as ``47°30'15.0"``, with ``gap`` between the parts. Minutes and seconds are below 60 by their making."""
        units, decimals = divmod(self.count, 10**self.decimals)
        text = f".{decimals:0{self.decimals}d}" if self.decimals else ""
        text += _SIGNS_WRITTEN[self.parts - 1]
        for sign in reversed(_SIGNS_WRITTEN[: self.parts - 1]):
            units, number = divmod(units, 60)
            text = f"{sign}{gap}{number:02d}{text}"
        return f"{units}{text}"


def rounded_angle(angle_deg: float, parts: int, decimals: int) -> SexagesimalAngle:
    """The size of an angle, rounded to the nearest unit of its last digit, halves up.

    The sum is exact: a float is a ratio of whole numbers.

    Raises
    ------
    OutOfRangeError
        ``angle_deg`` is not finite, or ``decimals`` is not in 0 to `MAX_DECIMALS`.
    """
    if not math.isfinite(angle_deg):
        raise OutOfRangeError(
            "the angle is not a finite number", member="angle_deg", allowed="a finite number"
        )
    if not 0 <= decimals <= MAX_DECIMALS:
        raise OutOfRangeError(
            f"{decimals} decimals are asked for",
            member="places",
            value=decimals,
            allowed=f"0 to {MAX_DECIMALS}",
        )
    numerator, denominator = abs(float(angle_deg)).as_integer_ratio()
    unit = SexagesimalAngle(0, parts, decimals)
    count = (2 * numerator * unit.per_degree + denominator) // (2 * denominator)
    return SexagesimalAngle(count, parts, decimals)


class WrittenParts(NamedTuple):
    """Degrees, or degrees and minutes, or degrees, minutes and seconds, as they were spelled."""

    numbers: tuple[str, ...]
    #: Of each number, whether its mark stands after it.
    marked: tuple[bool, ...]


def parts_at(tokens: Tokens, start: int) -> Iterator[tuple[WrittenParts, int]]:
    """Every way to read one, two or three numbers from ``start`` as the parts of an angle, with where each ends.

    The parts are set off by their marks (``47° 30'``, ``47d30m``), by white space, or all by colons or all by tight
    dashes (``47-30-15``). A point behind a mark begins the decimals of that part (``47°.5``, ``30'.5``), and elsewhere a
    number that begins with a point is no minutes and no seconds. What the numbers say is not looked at.
    """
    numbers: list[str] = []
    marked: list[bool] = []
    joints: set[str] = set()
    word_marked = False
    at = start
    end = len(tokens)
    for mark, mark_words in _MARKS:
        if at >= end or tokens[at].kind != "number" or (numbers and tokens[at].text[0] == "."):
            return
        numbers.append(tokens[at].text)
        at += 1
        marked.append(False)
        if at < end:
            kind, text, _spaced = tokens[at]
            # A lone S after `47 30 15` is the south; after `47d30m15` it is the mark that is due.
            word_marked = text in mark_words and (word_marked or text != "S")
            if word_marked or kind == mark:
                at += 1
                marked[-1] = True
                if _begins_with_point(tokens, at):
                    if "." not in numbers[-1]:
                        decimal = numbers[-1] + tokens[at].text
                        yield WrittenParts((*numbers[:-1], decimal), tuple(marked)), at + 1
                    if not tokens[at].spaced:
                        return
        yield WrittenParts(tuple(numbers), tuple(marked)), at
        if at >= end:
            return
        joint, at = _joint(tokens, at)
        joints.add(joint)
        if len(joints) > 1:
            return


def _begins_with_point(tokens: Tokens, at: int) -> bool:
    return at < len(tokens) and tokens[at].kind == "number" and tokens[at].text[0] == "."


def _joint(tokens: Tokens, at: int) -> tuple[str, int]:
    """What stands between one part and the next, and where the next begins."""
    if at + 1 < len(tokens):
        if tokens[at].text == ":":
            return "colon", at + 1
        if may_be_dash(tokens, at) and not tokens[at].spaced and not tokens[at + 1].spaced:
            return "dash", at + 1
    return "", at


def has_misplaced_decimals(numbers: tuple[str, ...]) -> bool:
    """Whether a number before the last one has decimals."""
    return len(numbers) > 1 and "." in "".join(numbers[:-1])


def part_of_sixty(numbers: tuple[str, ...]) -> str | None:
    """``"minutes"`` or ``"seconds"``, whichever is 60 or more; ``None`` if neither is."""
    for number, name in zip(numbers[1:], ("minutes", "seconds"), strict=False):
        if int(number.partition(".")[0] or "0") >= 60:
            return name
    return None


def angle_from_numbers(numbers: tuple[str, ...]) -> SexagesimalAngle:
    """The angle that spelled degrees, minutes and seconds name; they have neither of the faults above."""
    whole, _, decimals = numbers[-1].partition(".")
    units = 0
    for number in (*numbers[:-1], whole):
        units = units * 60 + int(number or "0")
    scale = 10 ** len(decimals)
    return SexagesimalAngle(units * scale + int(decimals or "0"), len(numbers), len(decimals))
