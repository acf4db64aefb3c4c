"""Positions in columns."""

from __future__ import annotations

import numpy as np
import pyarrow as pa

from .caution_columns import said_column
from .columnar import Columnar, Plain
from .described import DescribedPlaces
from .place_columns import FINEST_DIGITS, place_members, places_of
from .rows import Rows

__all__ = ["POSITIONS"]

#: By `PlaceColumns.form`.
FORMS = pa.array(["mgrs", "latitude_longitude", "utm"])
#: What no position on WGS 84 has that was read without a sheet and a place near by.
ABSENT = (
    *(f"shift.{name}" for name in ("datum", "datum_epsg", "lat_deg", "lon_deg", "operation", "accuracy_m")),
    "shift.ballpark",
    *(
        f"local.{name}"
        for name in ("datum", "datum_epsg", "lat_deg", "lon_deg", "grid", "zone", "hemisphere")
    ),
    *(f"local.{name}" for name in ("epsg", "easting_m", "northing_m", "reference", "convergence_deg")),
    *(f"local.{name}" for name in ("point_scale_factor", "operation", "accuracy_m")),
    *(f"expected.{name}" for name in ("fits", "near_distance_m", "near_true_azimuth_deg", "outside_sheet_m")),
)


def answer(rows: Rows) -> Plain:
    """The positions of the rows."""
    places = places_of(rows, "position")
    wanted = rows.numbers("digits")
    digits = np.where(np.isnan(wanted), places.digits, wanted)
    # More digits than were read is a caution, and the operation's to say.
    places.plain &= (digits >= 0) & (digits <= places.digits)
    digits = np.where(places.plain, digits, FINEST_DIGITS).astype(np.int64)
    return Plain(
        places.plain,
        {
            **DescribedPlaces(places, digits).columns(),
            "form": lambda: FORMS.take(pa.array(places.form)),
            "resolution_m": lambda: places.resolution_m,
            "alternatives": lambda: "[]",
            "cautions": lambda: said_column(rows.count, places.cautions()),
            **dict.fromkeys(ABSENT, lambda: None),
        },
    )


POSITIONS = Columnar(
    members=place_members("position") | {"digits"},
    usual=("lat_deg", "lon_deg", "mgrs", "resolution_m", "cautions"),
    answer=answer,
)
