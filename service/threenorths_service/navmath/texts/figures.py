"""The figures of a grid reference, in two halves of as many figures: the easting first, then the northing."""

from __future__ import annotations

from collections.abc import Sequence

from ..references.mgrs_status import MOST_DIGITS

__all__ = ["halves"]


def halves(groups: Sequence[str]) -> tuple[str, str] | None:
    """Easting and northing, from one group of figures or from an even number of groups of as many; else ``None``.

    Groups of one figure each are figures that were read out one by one. There are 2 to 10 figures in all.
    """
    figures = "".join(groups)
    alike = len(groups) == 1 or (len(groups) % 2 == 0 and len({len(group) for group in groups}) == 1)
    if not alike or not figures.isdigit() or len(figures) % 2 or len(figures) > 2 * MOST_DIGITS:
        return None
    return figures[: len(figures) // 2], figures[len(figures) // 2 :]
