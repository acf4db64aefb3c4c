"""Random and mutated texts: each is read as something that reads back as itself, or refused by a named error.

`THREENORTHS_FUZZ_STRINGS` in the environment says how many texts to try.
"""

import csv
import os
import random
from pathlib import Path

from threenorths_service.navmath.errors import NavigationError
from threenorths_service.navmath.places.expected import Expected
from threenorths_service.navmath.texts.position_text import read_position_text
from threenorths_service.navmath.texts.written_forms import WRITTEN_FORMS

STRINGS = int(os.environ.get("THREENORTHS_FUZZ_STRINGS", "5000"))
SEED = int(os.environ.get("THREENORTHS_FUZZ_SEED", "1"))

with (Path(__file__).parent / "spellings.csv").open(newline="", encoding="utf-8") as file:
    TEXTS = [row["text"] for row in csv.DictReader(file)]
TEXTS += [example.text for form in WRITTEN_FORMS for example in form.examples]

CHARACTERS = "0123456789 0123456789 .,-+:;/°'\"′″−()NSEWnsewTUMZdmgrABVX⁵⁰"
_WORDS = (
    "north south east west lat lon degrees minutes seconds grid square and by minus point comma one two niner double "
    "November Sierra Echo Whiskey X-ray Tango WGS84 UTM UPS MGRS zone 32T MT 465,000 5'247'000 465 000 47.30.15 ⁵91⁰⁰⁰ᵐE "
    "EPSG 27700 British Irish TQ O"
)
WORDS = _WORDS.split()
NEAR = Expected(47.1, 8.5)
ONE_IN = 10


def mutated(dice, text):
    """The text with one thing put in, left out, replaced, exchanged or joined."""
    at, other = dice.randrange(len(text) + 1), dice.randrange(len(text) + 1)
    kind = dice.choice((0, 0, 1, 1, 2, 2, 3, 3, 4, 5, 6))
    if kind == 0:
        return text[:at] + dice.choice(CHARACTERS) + text[at:]
    if kind == 1:
        return text[:at] + text[at + 1 :]
    if kind == 2:
        characters = "0123456789" if text[at : at + 1].isdigit() else CHARACTERS
        return text[:at] + dice.choice(characters) + text[at + 1 :]
    if kind == 3:
        return text[:at] + text[at + 1 : at + 2] + text[at : at + 1] + text[at + 2 :]
    if kind == 4:
        return text[:at] + f" {dice.choice(WORDS)} " + text[other:]
    if kind == 5:
        return text[:at] + dice.choice(TEXTS)[other:]
    return text[:at] + chr(dice.choice((dice.randrange(0x250), dice.randrange(0xD800)))) + text[at:]


def some_text(dice):
    kind = dice.randrange(8)
    if kind == 0:
        return "".join(chr(dice.randrange(0xD800)) for _ in range(dice.randrange(40)))
    if kind == 1:
        return "".join(dice.choice(CHARACTERS) for _ in range(dice.randrange(40)))
    if kind == 2:
        return dice.choice((" ", ", ", "")).join(dice.choice(WORDS) for _ in range(dice.randrange(1, 9)))
    text = dice.choice(TEXTS)
    for _ in range(dice.choice((1, 1, 2, 3))):
        text = mutated(dice, text)
    return text


def outcome_of(text, expected):
    """The reading, or the readings that a named error lists."""
    try:
        return [read_position_text(text, expected=expected)], True
    except NavigationError as error:
        return error.details.get("readings", []), False


def check(text, expected):
    """Whether the text was read; what was read or is listed reads back as itself."""
    readings, was_read = outcome_of(text, expected)
    if was_read:
        (reading,) = readings
        assert -90.0 <= reading.lat_deg <= 90.0, text
        assert -180.0 <= reading.lon_deg < 180.0, text
        assert read_position_text(reading.read_as, expected=expected) == reading, text
        assert read_position_text(reading.read_as) == reading, text
    else:
        for listed in readings:
            again = read_position_text(listed["read_as"])
            assert (again.read_as, again.lat_deg, again.lon_deg) == (
                listed["read_as"],
                listed["lat_deg"],
                listed["lon_deg"],
            ), text
    return was_read


def test_random_and_mutated_texts_are_read_so_that_they_read_back_or_are_refused():
    dice = random.Random(SEED)
    read = 0
    for index in range(STRINGS):
        read += check(some_text(dice), NEAR if index % ONE_IN == 0 else None)
    # Enough of them are read for the promise to be tried: some one in ten.
    assert read > STRINGS / 20
