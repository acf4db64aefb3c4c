"""Positions: read in any written form, given in every form."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from .answers import Caution
from .caller import Operations
from .places import Position, PositionInput
from .to_json import given, position_json

__all__ = ["PositionOperations", "PositionRead", "Take"]

#: What of a grid reference's square is taken for the position.
Take = Literal["centre", "corner"]


@dataclass(frozen=True, slots=True)
class PositionRead(Position):
    """A position in every form, and how it was read.

    ``form`` is ``mgrs``, ``utm``, ``ups`` or ``latitude_longitude``; ``read_as`` what was understood, in words that can
    be read in one way only; ``resolution_m`` how finely it was given, ``None`` for an object.
    """

    form: str
    read_as: str
    resolution_m: float | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class PositionOperations(Operations):
    """``client.positions``"""

    def read(
        self,
        position: PositionInput,
        digits: int | None = None,
        take: Take | None = None,
        *,
        working: bool | None = None,
    ) -> PositionRead:
        """Read a position and give it in every form.

        ``digits``, 0 to 5, is how finely the grid reference is written: 5 names a square of 1 m, 0 one of 100 km.
        ``take`` says what of a grid reference's square is the position, by the service's default its centre.

        Raises `NoAnswerError`, with code ``ambiguous_position`` and all ``readings`` for a text that can be read in
        more than one way, ``unreadable_position``, ``square_not_in_zone``, ``outside_grid`` or ``out_of_range``.
        """
        members = given(
            position=position_json(position, "position"), digits=digits, take=take, working=working
        )
        return self._ask(PositionRead, "positions", members)
