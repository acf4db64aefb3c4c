"""The name of a datum at an end of a text: it is no part of a position, and is named beside it."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from ..datums.datum_names import USUAL_NAMES, read_table

__all__ = ["NamedDatum", "datum_in_text"]

#: Words of the longest name that is looked for: "South American 1969".
_MOST_WORDS = 4
#: Shorter names are easily the letters of a square.
_FEWEST_CHARACTERS = 4


class NamedDatum(NamedTuple):
    """The words that name a datum, and what the text is without them."""

    name: str
    rest: str


def datum_in_text(text: str) -> NamedDatum | None:
    """The datum that the words at the start or the end of ``text`` name, but for WGS 84, which is read there."""
    words = text.split()
    for count in range(min(_MOST_WORDS, len(words) - 1), 0, -1):
        for named, rest in ((words[-count:], words[:-count]), (words[:count], words[count:])):
            if _key(" ".join(named)) in _names():
                return NamedDatum(" ".join(named).strip("()[],;:."), " ".join(rest))
    return None


@cache
def _names() -> frozenset[str]:
    """Every name of a datum of the table, and every usual one, by its letters and figures."""
    names = {*USUAL_NAMES}
    for row in read_table("datums.csv"):
        names |= {row["name"], *row["other_names"].split("|")}
    keys = {_key(name) for name in names}
    return frozenset(key for key in keys if len(key) >= _FEWEST_CHARACTERS and not key.isdigit()) - {
        _key("WGS 84")
    }


def _key(name: str) -> str:
    return "".join(character for character in name.casefold() if character.isalnum())
