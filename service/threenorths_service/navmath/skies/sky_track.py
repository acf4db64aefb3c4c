"""The sun or the moon over places through a night: positions at a few moments, and between them a polynomial.

A body's way among the stars is so smooth that a polynomial through positions six hours apart is within 0.0001 degree of the
theory, at a fortieth of its cost; the turning of the earth, which is not smooth in that sense, is computed at every moment.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..rows import IntArray
from .sky_body import geocentric_vectors, to_intermediate
from .sky_horizon import Horizontal, Observers, horizontal
from .sky_time import terrestrial_days

__all__ = ["Track", "track_of"]

_NODE_SPACING_DAYS = 0.25
_FEWEST_NODES = 5


@dataclass(frozen=True, slots=True)
class Track:
    """A body over places from moments on: ``start`` has n rows, ``node_days`` (k,) are since then, the same for all.

    ``node_vectors``, shape (n, k, 3), are those of `sky_body.to_intermediate`. [metre]
    """

    start: Observers
    node_days: FloatArray
    node_vectors: FloatArray

    def at(self, row: IntArray, elapsed_days: FloatArray) -> Horizontal:
        """Where the body stands for the rows named, so many days after the start of each; both of shape (m,)."""
        weights = _lagrange_weights(self.node_days, elapsed_days)
        vectors = np.einsum("mk,mkc->mc", weights, self.node_vectors[row])
        return self._seen(vectors, row, elapsed_days)

    def at_all(self, elapsed_days: FloatArray) -> Horizontal:
        """Where the body stands for every row at each of the times since the start: arrays of shape (n * m,), by row."""
        rows = len(self.start.lat_deg)
        weights = _lagrange_weights(self.node_days, elapsed_days)
        vectors = np.einsum("mk,nkc->nmc", weights, self.node_vectors).reshape(-1, 3)
        row = np.repeat(np.arange(rows), len(elapsed_days))
        return self._seen(vectors, row, np.tile(elapsed_days, rows))

    def _seen(self, vectors: FloatArray, row: IntArray, elapsed_days: FloatArray) -> Horizontal:
        observers = Observers(
            self.start.universal_days[row] + elapsed_days,
            self.start.lat_deg[row],
            self.start.lon_deg[row],
            self.start.height_m[row],
        )
        return horizontal(vectors, observers)


def track_of(body: str, start: Observers, span_days: float) -> Track:
    """The body, "sun" or "moon", over the places for ``span_days`` from the moment of each on."""
    nodes = max(_FEWEST_NODES, int(np.ceil(span_days / _NODE_SPACING_DAYS)) + 1)
    node_days = np.linspace(0.0, span_days, nodes)
    universal = (start.universal_days[:, None] + node_days).reshape(-1)
    terrestrial = terrestrial_days(universal)
    vectors = to_intermediate(geocentric_vectors(body, terrestrial), terrestrial)
    return Track(start, node_days, vectors.reshape(-1, nodes, 3))


def _lagrange_weights(nodes: FloatArray, at: FloatArray) -> FloatArray:
    """The weight of each node in the polynomial's value at each time, shape (m, k), by J. L. Lagrange's formula."""
    weights = np.ones((len(at), len(nodes)))
    for index, node in enumerate(nodes):
        others = np.delete(nodes, index)
        weights[:, index] = np.prod((at[:, None] - others) / (node - others), axis=1)
    return weights
