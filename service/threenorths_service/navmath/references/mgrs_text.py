"""The texts of MGRS references taken apart: all rows at once, without looking at where the squares lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..grids.zones import ALPHABET, BANDS, EDGES, LETTERS_PER_ZONE
from ..rows import BoolArray, IntArray
from .mgrs_status import LONGEST_TEXT, MOST_DIGITS, MgrsStatus

__all__ = ["MgrsParts", "split_joined", "split_texts"]

# What a byte of text stands for: 0 to 9 a digit, 10 to 35 a letter of either case, or one of these.
_FIRST_LETTER = 10
_END_OF_TEXT = 253
_SPACE = 254
_OTHER = 255

#: What stands between texts that are joined.
_SEPARATOR = "\0"
_SPACES = b" \t\n\v\f\r\xa0"


def _classes() -> bytes:
    classes = bytearray([_OTHER]) * 256
    for digit in range(10):
        classes[ord("0") + digit] = digit
    for place, letter in enumerate(ALPHABET):
        classes[ord(letter)] = classes[ord(letter.lower())] = _FIRST_LETTER + place
    for space in _SPACES:
        classes[space] = _SPACE
    classes[ord(_SEPARATOR)] = _END_OF_TEXT
    return bytes(classes)


_CLASSES = _classes()
_EXISTS = ~np.isnan(EDGES.west_deg)
# By the number that a byte less `_FIRST_LETTER` makes.
_IS_BAND = np.isin(np.arange(256), [ALPHABET.index(letter) for letter in BANDS])
_IS_UPS = np.isin(np.arange(256), [ALPHABET.index(letter) for letter in "ABYZ"])

# What a text that cannot be split stands as: 31N EA 00000 00000, a square like any other.
_STAND_IN = (31 * LETTERS_PER_ZONE + ALPHABET.index("N"), ALPHABET.index("E"), ALPHABET.index("A"))


@dataclass(frozen=True, slots=True)
class MgrsParts:
    """What stands in each text, shape (N,); where ``status`` is not OK, the rest is a square that stands in for it.

    ``column`` and ``row`` are the places of the square's letters in the alphabet, ``digits`` the number a side, and
    ``easting`` and ``northing`` the numbers that they make.
    """

    status: NDArray[np.uint8]
    designation: NDArray[np.intp]
    column: NDArray[np.intp]
    row: NDArray[np.intp]
    digits: IntArray
    easting: IntArray
    northing: IntArray


@dataclass(frozen=True, slots=True)
class _Characters:
    """All texts in one run of character classes, without their spaces, each with an end mark after it.

    ``after_space`` says of each character whether a space stood before it; ``None`` where no text has any space.
    ``too_long`` is by the text as it came.
    """

    classes: NDArray[np.uint8]
    start: NDArray[np.intp]
    length: NDArray[np.intp]
    after_space: BoolArray | None
    too_long: BoolArray


def _joined(texts: Sequence[str]) -> bytes:
    joined = _SEPARATOR.join(texts)
    if joined.count(_SEPARATOR) != len(texts) - 1:
        joined = _SEPARATOR.join(text.replace(_SEPARATOR, "?") for text in texts)
    # One character becomes one byte; what is not Latin-1 becomes a question mark, which no reference has.
    return joined.encode("latin-1", "replace")


def _characters(joined: bytes, count: int) -> _Characters:
    coded = joined.translate(_CLASSES)
    # The end marks behind the last text let the longest reference be looked for at the start of any text.
    padding = bytes([_END_OF_TEXT]) * LONGEST_TEXT
    classes = np.frombuffer(coded + padding, dtype=np.uint8)
    start, length = _extents(classes, count)
    too_long = length > LONGEST_TEXT
    after_space = None
    if _SPACE in coded:
        kept = classes != _SPACE
        after_space = np.concatenate(([False], ~kept[:-1]))[kept]
        classes = classes[kept]
        start, length = _extents(classes, count)
    return _Characters(classes, start, length, after_space, too_long)


def _extents(classes: NDArray[np.uint8], count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    end = np.flatnonzero(classes == _END_OF_TEXT)[:count]
    start = np.concatenate(([0], end + 1))[:count]
    return start, end - start


@dataclass(frozen=True, slots=True)
class _Fields:
    """The fields of each text. A letter is its place in the alphabet; 26 or more is none."""

    numbered: BoolArray
    two_digits: BoolArray
    zone: NDArray[np.intp]
    band: NDArray[np.uint8]
    column: NDArray[np.uint8]
    row: NDArray[np.uint8]
    digits_at: NDArray[np.intp]
    digit_count: NDArray[np.intp]


def _fields(characters: _Characters) -> _Fields:
    classes, start = characters.classes, characters.start
    first, second = classes[start], classes[start + 1]
    numbered = first < _FIRST_LETTER
    two_digits = numbered & (second < _FIRST_LETTER)
    zone = np.where(two_digits, first * np.uint8(10) + second, np.where(numbered, first, 0)).astype(np.intp)
    letters_at = start + numbered + two_digits
    # These numbers have no sign: a digit, which would be under 0, comes out far above 26.
    band, column, row = (classes[letters_at + place] - np.uint8(_FIRST_LETTER) for place in range(3))
    digits_at = letters_at + 3
    digit_count = characters.length - (digits_at - start)
    return _Fields(numbered, two_digits, zone, band, column, row, digits_at, digit_count)


def split_texts(texts: Sequence[str]) -> MgrsParts:
    """Zone, letters and digits of each text, with a status for each that cannot be split."""
    return split_joined(_joined(texts), len(texts))


def split_joined(joined: bytes, count: int) -> MgrsParts:
    """The same of ``count`` texts in one run of bytes, with a zero byte between each two; no text holds a zero byte.

    What is not ASCII is no reference, in whatever coding it is.
    """
    characters = _characters(joined, count)
    fields = _fields(characters)
    easting, northing, only_digits = _numbers(characters.classes, fields.digits_at, fields.digit_count)
    designation = np.minimum(fields.zone, 60) * LETTERS_PER_ZONE + np.minimum(
        fields.band, LETTERS_PER_ZONE - 1
    )
    status = _statuses(characters, fields, designation, only_digits)
    column, row = fields.column.astype(np.intp), fields.row.astype(np.intp)
    digits = fields.digit_count // 2
    wrong = np.flatnonzero(status)
    if wrong.size:
        designation[wrong], column[wrong], row[wrong] = _STAND_IN
        digits[wrong], easting[wrong], northing[wrong] = MOST_DIGITS, 0, 0
    return MgrsParts(status, designation, column, row, digits, easting, northing)


def _numbers(
    classes: NDArray[np.uint8], at: NDArray[np.intp], count: NDArray[np.intp]
) -> tuple[IntArray, IntArray, BoolArray]:
    """The two numbers that the digits of each text make, and whether there are digits only.

    The texts are taken in groups of equal length, of which there are ten and one for all that are longer.
    """
    easting, northing = np.zeros((2, len(at)), dtype=np.int64)
    only_digits = np.ones(len(at), dtype=np.bool_)
    shown = np.clip(count, 0, 2 * MOST_DIGITS + 1)
    for figures in np.flatnonzero(np.bincount(shown)).tolist():
        rows = np.flatnonzero(shown == figures)
        half = figures // 2
        easting[rows], clean = _number(classes, at[rows], half)
        northing[rows], also_clean = _number(classes, at[rows] + half, figures - half)
        only_digits[rows] = clean & also_clean
    return easting, northing, only_digits


def _number(classes: NDArray[np.uint8], at: NDArray[np.intp], figures: int) -> tuple[IntArray, BoolArray]:
    number = np.zeros(len(at), dtype=np.int64)
    highest = np.zeros(len(at), dtype=np.uint8)
    for place in range(figures):
        digit = classes[at + place]
        np.maximum(highest, digit, out=highest)
        number = number * 10 + digit
    return number, highest < _FIRST_LETTER


def _statuses(
    characters: _Characters, fields: _Fields, designation: NDArray[np.intp], only_digits: BoolArray
) -> NDArray[np.uint8]:
    """The first fault of each text, in the order of `MgrsStatus`; what the letters of a square say comes later."""
    band, column, row = (letter < LETTERS_PER_ZONE for letter in (fields.band, fields.column, fields.row))
    count = fields.digit_count
    unsplit = characters.too_long | ~band | ~only_digits | ((count >= -1) & ~column) | ((count >= 0) & ~row)
    unequal = np.zeros_like(unsplit)
    if characters.after_space is not None:
        unsplit |= fields.two_digits & characters.after_space[characters.start + 1]
        unequal = _unequal_halves(characters.after_space, fields.digits_at, count)
    zone_is_number = (fields.zone >= 1) & (fields.zone <= 60)
    faults = (
        (MgrsStatus.NOT_MGRS, unsplit),
        (MgrsStatus.INCOMPLETE, count < 0),
        (MgrsStatus.ZONE_NUMBER, fields.numbered & ~zone_is_number),
        (MgrsStatus.BAND_LETTER, fields.numbered & ~_IS_BAND[fields.band]),
        (MgrsStatus.ZONE_MISSING, ~fields.numbered & ~_IS_UPS[fields.band]),
        (MgrsStatus.NO_SUCH_ZONE, ~_EXISTS[designation]),
        (MgrsStatus.UNEQUAL_HALVES, unequal),
        (MgrsStatus.ODD_DIGITS, count % 2 == 1),
        (MgrsStatus.TOO_MANY_DIGITS, count > 2 * MOST_DIGITS),
    )
    status = np.zeros(len(count), dtype=np.uint8)
    for fault, rows in reversed(faults):
        status[rows] = fault
    return status


def _unequal_halves(after_space: BoolArray, at: NDArray[np.intp], count: NDArray[np.intp]) -> BoolArray:
    """Whether spaces part the digits, but none of them in the middle.

    Without this check "654 4712" and its like would be read with a figure of the northing in the easting.
    """
    parted = np.zeros(len(at), dtype=np.bool_)
    for place in range(1, 2 * MOST_DIGITS):
        parted |= after_space[at + place] & (place < count)
    in_the_middle: BoolArray = (count % 2 == 0) & after_space[at + count // 2]
    parted &= ~in_the_middle
    return parted
